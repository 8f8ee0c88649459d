"""The report's figures against charts small enough to count by hand."""

from __future__ import annotations

import json

import numpy as np
import pytest

from pic2chart.checks.finding import Finding
from pic2chart.checks.report import report_of, rounds_with
from pic2chart.core.messages import said
from pic2chart.model.chart import NO_STITCH, Catch, Chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.stranding.carrying import CARRIED

BLACK, WHITE, GREY = Yarn("black", "#000000"), Yarn("white", "#ffffff"), Yarn("grey", "#777777")


def used(*words: str) -> np.ndarray:
    """Rounds as words of the letters of the yarns they use."""
    return np.array([[letter in word for letter in "ABC"] for word in words])


def chart_of(*rounds: str, **parts: object) -> Chart:
    keys = {"A": 0, "B": 1, "C": 2, ".": NO_STITCH}
    stitches = np.array([[keys[key] for key in word] for word in rounds], np.uint8)
    return Chart(stitches, (BLACK, WHITE, GREY), **parts)  # type: ignore[arg-type]


def test_size_comes_from_the_gauge() -> None:
    report = report_of(chart_of("AABBA", "ABBAA", gauge=Gauge(25, 40)), ())
    assert (report.stitches, report.rounds, report.live) == (5, 2, 10)
    assert (report.width_cm, report.height_cm) == (2.0, 0.5)


def test_yarns_are_counted_with_their_lightness() -> None:
    report = report_of(chart_of("AAB.", "AAA."), ())
    assert [(y.key, y.name, y.stitches) for y in report.yarns] == [
        ("A", "black", 5),
        ("B", "white", 1),
        ("C", "grey", 0),
    ]
    assert [y.L for y in report.yarns[:2]] == [0.0, 100.0]  # CIE 15: black and white
    assert report.yarns[0].share == pytest.approx(5 / 6, abs=1e-4)


def test_pairs_that_share_a_round() -> None:
    report = report_of(chart_of("AABB", "AACC", "AAAA", "ABAB"), ())
    assert [(p.first, p.second, p.rounds) for p in report.pairs] == [
        ("black", "grey", 1),
        ("black", "white", 2),
    ]
    assert report.pairs[1].delta_L == 100.0
    assert report.pairs[1].contrast == 21.0  # WCAG 2.2: black on white is 21:1
    # WCAG 2.2 by hand: #777777 has luminance 0.1845, (0.1845 + 0.05) / 0.05 = 4.69
    assert report.pairs[0].contrast == pytest.approx(4.69, abs=0.01)


def test_floats_run_round_the_join_only_in_the_round() -> None:
    word = "BAABAAAA"
    assert report_of(chart_of(word), ()).longest_float == 4
    assert report_of(chart_of("ABAAAAAA"), ()).longest_float == 7
    assert report_of(chart_of("ABAAAAAA", worked="flat"), ()).longest_float == 6


def test_catches_shorten_what_is_uncaught_and_not_the_float() -> None:
    chart = chart_of("BAAAAAAAAA", catches=(Catch(0, 5, 1),))
    report = report_of(chart, ())
    assert (report.longest_float, report.longest_uncaught, report.catches) == (9, 4, 1)


def test_isolated_stitches() -> None:
    assert report_of(chart_of("AAAAA", "AABAA", "AAAAA"), ()).isolated == 1
    assert report_of(chart_of("AAAAA", "AABAA", "AAABA"), ()).isolated == 0


@pytest.mark.parametrize(
    ("words", "count"),
    [
        (["AB", "AB", "AB"], 2),
        (["A", "AB", "A"], 2),
        (["B", *["A"] * CARRIED, "B"], 2),  # B rests and is carried up
        (["B", *["A"] * (CARRIED + 1), "B"], 3),  # B is broken off and joined again
        (["A"], 1),
        ([".", "A"], 1),
    ],
)
def test_two_ends_for_every_time_a_yarn_is_joined(words: list[str], count: int) -> None:
    rows = [(word * 2)[:2] for word in words]
    assert report_of(chart_of(*rows), ()).ends == 2 * count


def test_rounds_with_one_two_and_three_yarns() -> None:
    assert rounds_with(used("A", "AB", "BC", "ABC", "C")) == (2, 2, 1)
    assert rounds_with(used("A", "")) == (1,)


def test_findings_are_counted_by_level_and_all_is_plain_data() -> None:
    found = [Finding("r", level, said("m"), said("d")) for level in ("error", "note", "note")]  # type: ignore[arg-type]
    report = report_of(chart_of("AB", "AA"), found, moved=7, notes=[said("A remark.")])
    assert (report.errors, report.warnings, report.notes) == (1, 0, 2)
    data = json.loads(json.dumps(report.to_dict()))
    assert data["moved"] == 7
    assert data["remarks"] == ["A remark."]
    assert data["rounds_with"] == {"1": 1, "2": 1}
    assert data["ends"] == 4
