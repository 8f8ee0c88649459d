"""What holds for every test: no deadline by the clock, every chart stands up to the checks, and every
chart written is as the schema of chart files says.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

import hypothesis
import jsonschema
import pytest

from pic2chart import mending, pipeline
from pic2chart.checks.finding import Finding
from pic2chart.checks.rules import check
from pic2chart.core.errors import InputError
from pic2chart.design.checked import Checked, checked
from pic2chart.garment import piece
from pic2chart.model import chart_file
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import read_chart

hypothesis.settings.register_profile("pic2chart", deadline=None)
hypothesis.settings.load_profile("pic2chart")


@pytest.fixture(scope="session", autouse=True)
def strangers() -> Iterator[list[str]]:
    """What the schema has against the text of charts written since the last test that asked."""
    schema = json.loads(files("pic2chart.model").joinpath("chart.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator, document = jsonschema.Draft202012Validator(schema), chart_file.document
    found: list[str] = []

    def heard(parts: Mapping[str, Any], broken: frozenset[str]) -> str:
        text = document(parts, broken)
        found.extend(
            f"{e.json_path}: {e.message[:200]}" for e in validator.iter_errors(json.loads(text))
        )
        return text

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(chart_file, "document", heard)
        yield found


@pytest.fixture(autouse=True)
def charts_follow_the_schema(strangers: list[str]) -> Iterator[None]:
    """No chart that is written in this process departs from the schema."""
    strangers.clear()
    yield
    assert not strangers


@pytest.fixture(autouse=True)
def children_import_as_before(monkeypatch: pytest.MonkeyPatch) -> None:
    """Making a library tells children of this process not to import from the current folder; no
    later test is begun under that.
    """
    monkeypatch.setenv("PYTHONSAFEPATH", "")


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
