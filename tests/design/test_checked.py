"""Charts that stand already: all rules are run on them, and broken catches are planned anew."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from pic2chart.checks.rules import RULES
from pic2chart.design.checked import (
    catches_broken,
    check_chart,
    checked,
    settle,
    with_catches,
)
from pic2chart.mending import mend
from pic2chart.model.chart import Catch, Chart
from pic2chart.model.chart_file import write_chart
from pic2chart.model.yarn import Yarn

OAT, INK = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c")


def chart_of(*rows: str, catches: tuple[Catch, ...] = ()) -> Chart:
    return Chart(
        np.array([[ord(c) - 65 for c in row] for row in rows], np.uint8),
        (OAT, INK),
        catches=catches,
    )


def errors(chart: Chart) -> set[str]:
    return {f.rule for f in checked(chart).findings if f.level == "error"}


GOOD = chart_of("AABBAABB", "AABBAABB")
STRAY = chart_of("AABBAABB", "AABBAABB", catches=(Catch(0, 0, 0),))
"""Every float is short, and one catch holds the very yarn that is knitted there."""


def test_a_catch_that_holds_nothing_is_an_error_of_the_whole_check() -> None:
    assert not errors(GOOD)
    assert errors(STRAY) == {"unknown-yarn"}


@pytest.mark.faulty_charts
def test_a_file_with_such_a_catch_is_told_of_it(tmp_path: Path) -> None:
    path = tmp_path / "stray.chart.json"
    write_chart(STRAY, path)
    assert {f.rule for f in check_chart(path).findings if f.level == "error"} == {"unknown-yarn"}


def test_a_catch_that_holds_nothing_is_taken_out() -> None:
    assert catches_broken(checked(STRAY).findings)
    settled = settle(STRAY)
    assert settled.chart.catches == ()
    assert not [f for f in settled.findings if f.level == "error"]
    assert mend(STRAY).chart.catches == ()


LONG = chart_of("ABAAAAAAAAAA")


@pytest.mark.parametrize(
    ("chart", "rule"),
    [
        (LONG, "catch-missing"),
        (LONG.with_(catches=with_catches(LONG).catches, stitches=LONG.stitches), ""),
        (STRAY, "unknown-yarn"),
        (
            chart_of(*["ABAAAAAAAAAA"] * 2, catches=(Catch(0, 7, 1), Catch(1, 7, 1))),
            "catch-stacked",
        ),
    ],
)
def test_catches_are_planned_anew_for_each_reason_alone(chart: Chart, rule: str) -> None:
    of_catches = {name for name in RULES if name.startswith("catch-") or name == "unknown-yarn"}
    found = [f for f in checked(chart).findings if f.rule in of_catches - {"catch-beside-change"}]
    assert {f.rule for f in found} == ({rule} if rule else set())
    assert catches_broken(found) is bool(rule)
    assert not errors(settle(chart).chart)
    if not rule:
        assert settle(chart).chart is chart
