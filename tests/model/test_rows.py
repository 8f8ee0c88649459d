"""Which way rows are worked, and short rows in files, words, numbers and checks."""

from __future__ import annotations

import numpy as np
import pytest

from pic2chart.checks.rules import check
from pic2chart.core.errors import InputError
from pic2chart.design.checked import caught
from pic2chart.desk.edits import edit
from pic2chart.mending import mend
from pic2chart.model.chart import NO_STITCH, Chart, Rules, for_hand
from pic2chart.model.chart_file import chart_from_text, chart_to_text
from pic2chart.model.construction import Construction, Opening, Shaping
from pic2chart.model.measure import Measures, floats
from pic2chart.model.rows import Row
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.chart.chart_sheet import chart_sheet
from pic2chart.sheets.fabric.back import strands_of
from pic2chart.sheets.marks.page import Label
from pic2chart.sheets.sheet_settings import SheetLook
from pic2chart.sheets.strands.strand_sheet import strand_sheets
from pic2chart.sheets.words.read import read_words
from pic2chart.sheets.words.spoken import label, speak
from pic2chart.sheets.words.write import words_text
from pic2chart.stranding.steps import steps_of
from pic2chart.stranding.strands import plan_strands

OAT, INK = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c")
BACK = Row(1, 2, 7, backwards=True, wrong_side=True)
ON = Row(2, 3, 7)


def chart_of(*rows: str, **parts: object) -> Chart:
    table = {"A": 0, "B": 1, ".": NO_STITCH}
    stitches = np.array([[table[c] for c in row] for row in rows], np.uint8)
    return Chart(stitches, (OAT, INK), **parts)  # type: ignore[arg-type]


def collar(**parts: object) -> Chart:
    """Two short rows at the back of a neck between whole rounds."""
    rows = ("ABABABABAB", "..AABBAA..", "...AABBB..", "AABBAABBAA")
    return chart_of(*rows, rows=(BACK, ON), rules=Rules(isolated="keep"), **parts)


def test_usual_rows_follow_from_how_the_chart_is_worked() -> None:
    rows = ("AB", "AB", "AB")
    assert [chart_of(*rows).row(r) for r in range(3)] == [Row(r, 0, 1) for r in range(3)]
    flat = chart_of(*rows, worked="flat")
    assert flat.row(1) == Row(1, 0, 1, backwards=True, wrong_side=True)
    assert flat.row(2) == Row(2, 0, 1)
    assert [flat.row(r).direction("right") for r in (0, 1)] == ["right-to-left", "left-to-right"]
    assert [flat.row(r).direction("left") for r in (0, 1)] == ["left-to-right", "right-to-left"]


def test_a_told_row_goes_before_the_usual_one() -> None:
    chart = collar()
    assert [chart.row(r) for r in range(4)] == [Row(0, 0, 9), BACK, ON, Row(3, 0, 9)]
    assert chart.closed.tolist() == [True, False, False, True]
    assert [chart.closes(r) for r in range(4)] == chart.closed.tolist()


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ((Row(4, 0, 9),), "round 5"),
        ((Row(1, 0, 10),), "stitches 1 to 11"),
        ((Row(1, 5, 4),), "does not lie"),
        ((BACK, BACK), "Two rows are told for round 2"),
        ((Row(1, 3, 7),), "Round 2, stitch 3: the row reaches from stitch 4 to 8"),
    ],
)
def test_rows_that_do_not_fit_are_refused(rows: tuple[Row, ...], words: str) -> None:
    with pytest.raises(InputError, match=words):
        collar().with_(rows=rows)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_rows_come_back_from_a_file_and_from_words(hand: str) -> None:
    chart = for_hand(collar(), hand)  # type: ignore[arg-type]
    text = chart_to_text(chart)
    assert chart_from_text(text).rows == chart.rows
    assert chart_to_text(chart_from_text(text)) == text
    told = read_words(words_text(chart))
    assert told.rows == chart.rows
    assert np.array_equal(told.stitches, chart.stitches)


def test_the_other_hand_works_the_mirror_image() -> None:
    left = for_hand(collar(), "left")
    assert left.rows == (Row(1, 2, 7, True, True), Row(2, 2, 6))
    assert [left.row(r).direction("left") for r in (1, 2)] == ["right-to-left", "left-to-right"]
    assert for_hand(left, "right").rows == collar().rows


def test_words_and_steps_go_the_way_of_the_row() -> None:
    chart = collar()
    assert [label(s, chart) for s in speak(chart)] == [
        "Round 1",
        "Round 2 (purl, stitches 8 to 3)",
        "Round 3 (knit, stitches 4 to 8)",
        "Round 4",
    ]
    assert "'Round 2 (purl, stitches 8 to 3)' is a short row" in words_text(chart)
    assert [s.stitches for s in steps_of(chart, 1, (0, 1))] == ["8–7", "6–5", "4–3"]
    assert [s.stitches for s in steps_of(chart, 2, (0, 1))] == ["4–5", "6–8"]


@pytest.mark.parametrize("worked", ["round", "flat"])
def test_the_strands_of_a_short_row_end_at_its_turns(worked: str) -> None:
    chart = collar(worked=worked)
    plan = plan_strands(chart)
    (sheet,) = strand_sheets(chart, plan, (1,), "a4", SheetLook())
    said = " ".join(m.text for m in sheet.marks if isinstance(m, Label))
    assert "Wrong-side row, purled from left to right" in said
    ends = [s for s in strands_of(chart, plan, 1) if not 2 <= s.start <= s.end <= 8]
    assert all(s.start < 0 or s.end > 10 for s in ends)  # out to the edge, not round to the other
    assert any("wrong-side rows" in words for words in plan.holds.values())


def test_marks_beyond_the_chart_stay_harmless_for_the_other_hand() -> None:
    marks = (Shaping(1, 12, "k2tog"), Shaping(2, 11, "hold", 3))
    told = Construction(marks, (Opening(1, 12, 2),))
    left = for_hand(chart_of(*["ABABABABAB"] * 3, construction=told), "left")
    assert left.shaped == ()
    assert {f.rule for f in check(left) if f.level == "error"} == {"shaping-misfit"}
    assert "waste yarn" not in words_text(left)
    assert chart_sheet(left).marks
    assert for_hand(left, "right").construction == told


def test_numbers_and_arrows_stand_where_a_row_starts() -> None:
    sheet = chart_sheet(collar())
    marks = [m for m in sheet.marks if isinstance(m, Label) and m.name == "round-number"]
    assert [m.anchor for m in marks] == ["start", "end", "start", "start"]
    (arrows,) = [len([m for m in sheet.marks if getattr(m, "name", "") == "arrow"])]
    assert arrows == 3
    said = " ".join(m.text for m in sheet.marks if isinstance(m, Label))
    assert "Short rows turn before the end (rounds 2–3)" in said


def test_floats_of_a_short_row_do_not_run_round_the_join() -> None:
    chart = collar()
    rounds = Measures.of(chart).floats.round.tolist()
    apart = chart_of("ABABABABAB", "AABBAABBAA")
    around = floats(apart.stitches, True)
    edge = floats(chart.stitches[1:3], False)
    assert len(rounds) == len(around) + len(edge)


def test_stitches_beside_a_short_row_wait_for_the_next_whole_round() -> None:
    chart = collar(construction=Construction(shapings=()))
    assert misfits(chart) == []
    assert misfits(chart.with_(rows=())) == [2, 3, 4]
    stitches = chart.stitches.copy()
    stitches[2, 7] = NO_STITCH
    fewer = chart.with_(stitches=stitches)
    assert misfits(fewer) == [3, 4]  # four stitches on five, then ten on nine
    shaped = (Shaping(2, 4, "k2tog"), Shaping(3, 4, "increase"))
    assert misfits(fewer.with_(construction=Construction(shaped))) == []


def misfits(chart: Chart) -> list[int | None]:
    return [f.round for f in check(chart) if f.rule == "shaping-misfit"]


def test_short_rows_are_neither_ragged_nor_short_of_a_repeat() -> None:
    chart = chart_of("A" * 12, "....AA......", "A" * 12, rows=(Row(1, 4, 5, True, True),))
    fine = chart.with_(repeat=(4, 3))
    rules = {"ragged-round", "repeat-misfit"}
    assert not [f for f in check(fine) if f.rule in rules]
    assert {f.rule for f in check(fine.with_(rows=()))} >= rules


def test_rows_move_with_rounds_and_squares_put_in_or_taken_out() -> None:
    chart = collar()
    taller = edit(chart, {"kind": "insert", "what": "round", "at": 1, "count": 2}).chart
    assert [row.round for row in taller.rows] == [3, 4]
    without = edit(chart, {"kind": "delete", "what": "round", "at": 2, "count": 1}).chart
    assert without.rows == (Row(1, 3, 7),)
    wider = edit(chart, {"kind": "insert", "what": "stitch", "at": 1, "count": 3}).chart
    assert wider.rows == (Row(1, 5, 10, True, True), Row(2, 6, 10))


def test_catches_of_a_short_row_reach_no_farther_than_it() -> None:
    """A strand that ends where the row turns does not go on at the row's other end."""
    rows = ("AB" * 8, "..AAABABABABAAA.", "AB" * 8)
    told = Rules(isolated="keep", float_limit=3)
    short, _ = caught(chart_of(*rows, rows=(Row(1, 2, 14, True, True),), rules=told))
    closed, _ = caught(chart_of(*rows, rules=told))
    assert short.catches == ()
    assert {c.round for c in closed.catches} == {
        1
    }  # ink floats over six from its last to its first
    for chart in (short, closed):
        assert not [f for f in check(chart) if f.rule in ("catch-missing", "catch-stacked")]


def test_mending_leaves_short_rows_alone_and_says_so() -> None:
    speck = ("AAAAAAAAAA", "..AAABAA..", "ABAAAAAAAA", "AAAAAAAAAA")
    chart = chart_of(*speck, rows=(BACK,))
    mended = mend(chart)
    assert (mended.chart.stitches[1] == chart.stitches[1]).all()
    assert (mended.chart.stitches[2] != chart.stitches[2]).any()
    assert any("short rows" in str(remark) for remark in mended.report.remarks)
