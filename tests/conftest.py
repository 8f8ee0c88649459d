"""What holds for every test: no deadline by the clock, and every chart stands up to the checks."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest

from pic2chart import mending, pipeline
from pic2chart.checks.finding import Finding
from pic2chart.checks.rules import check
from pic2chart.core.errors import InputError
from pic2chart.design.checked import Checked, checked
from pic2chart.garment import piece
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import read_chart

hypothesis.settings.register_profile("pic2chart", deadline=None)
hypothesis.settings.load_profile("pic2chart")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the tests that open a browser, so that none can be forgotten."""
    for item in items:
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(autouse=True)
def charts_stand(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """No chart that a test makes, mends or leaves in its folder has an error, unless it says so.

    A test that means to have such charts is marked `faulty_charts`.
    """
    seen: list[tuple[str, tuple[Finding, ...]]] = []

    def heard(chart: Chart, *known: Any, **more: Any) -> Checked:
        told = checked(chart, *known, **more)
        seen.append((chart.title, told.findings))
        return told

    for maker in (pipeline, mending, piece):
        monkeypatch.setattr(maker, "checked", heard)
    yield
    if request.node.get_closest_marker("faulty_charts"):
        return
    folder = request.node.funcargs.get("tmp_path")
    if isinstance(folder, Path):
        seen += [(path.name, _findings(path)) for path in sorted(folder.rglob("*.chart.json"))]
    errors = [(name, f) for name, found in seen for f in found if f.level == "error"]
    assert not errors


def _findings(path: Path) -> tuple[Finding, ...]:
    try:
        return check(read_chart(path))
    except InputError:  # meant to be broken
        return ()
