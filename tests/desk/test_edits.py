"""Changes by hand: what they do to stitches and to what is kept."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pic2chart.core.errors import InputError, Pic2ChartError
from pic2chart.desk.edits import KINDS, edit
from pic2chart.model.chart import Chart
from pic2chart.model.rows import Row
from pic2chart.model.yarn import Yarn

OAT, INK, RUST = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"), Yarn("rust", "#a8502f")


def chart(*page: str, **parts: Any) -> Chart:
    """A chart from lines as they are seen: top line last round, right edge stitch 1."""
    grid = np.array([["AB".find(key) % 256 for key in line] for line in page], np.uint8)
    return Chart(grid[::-1, ::-1], (OAT, INK), **parts)


def page(of: Chart) -> list[str]:
    return ["".join("AB"[i] if i < 2 else "." for i in row) for row in of.stitches[::-1, ::-1]]


PLAIN = chart("AAAAA", "AAABA", "AAAAA")


def test_painted_stitches_change_and_are_kept() -> None:
    done = edit(PLAIN, {"kind": "paint", "yarn": "B", "stitches": [[1, 1], [3, 5]]})
    assert page(done.chart) == ["BAAAA", "AAABA", "AAAAB"]
    assert done.chart.fixed is not None
    assert np.argwhere(done.chart.fixed).tolist() == [[0, 0], [2, 4]]
    assert done.what == "Paint 2 stitches in ink"
    loose = edit(PLAIN, {"kind": "paint", "yarn": "B", "stitches": [[1, 1]], "keep": False})
    assert loose.chart.fixed is not None
    assert not loose.chart.fixed.any()


def test_a_fill_runs_on_across_the_join_in_the_round_only() -> None:
    lines = ("ABABA", "ABABA")
    asked = {"kind": "fill", "yarn": "B", "at": [1, 1]}
    assert page(edit(chart(*lines), asked).chart) == ["BBABB", "BBABB"]
    assert page(edit(chart(*lines, worked="flat"), asked).chart) == ["ABABB", "ABABB"]


@pytest.mark.parametrize("axis", ["left-right", "upside-down"])
def test_mirroring_twice_changes_nothing(axis: str) -> None:
    asked = {"kind": "mirror", "axis": axis, "box": [[1, 2], [3, 5]]}
    twice = edit(edit(PLAIN, asked).chart, asked).chart
    assert np.array_equal(twice.stitches, PLAIN.stitches)


def test_a_part_moves_and_copies_and_runs_over_the_join() -> None:
    box = [[2, 2], [2, 2]]
    assert page(edit(PLAIN, {"kind": "place", "box": box, "to": [3, 5]}).chart)[0] == "BAAAA"
    moved = edit(PLAIN, {"kind": "place", "box": box, "to": [1, 1], "move": True}).chart
    assert page(moved) == ["AAAAA", "AAAAA", "AAAAB"]
    wide = edit(PLAIN, {"kind": "place", "box": [[2, 1], [2, 2]], "to": [2, 5]}).chart
    assert page(wide)[1] == "AAABB"


def test_a_part_put_over_the_top_is_cut_off() -> None:
    some = chart("AAAAA", "AAABA", "AAAAB")
    done = edit(some, {"kind": "place", "box": [[1, 1], [2, 2]], "to": [3, 1]}).chart
    assert page(done) == ["AAAAB", "AAABA", "AAAAB"]


def test_what_a_moved_part_leaves_takes_a_yarn_also_beside_gaps() -> None:
    asked = {"kind": "place", "box": [[1, 1], [1, 1]], "to": [1, 3], "move": True}
    assert page(edit(chart(".BB.A"), asked).chart) == [".BA.B"]


def test_other_yarns_leave_gaps_as_they_are() -> None:
    rust = {"name": "rust", "colour": "#a8502f", "was": "A"}
    done = edit(
        chart(".BA"), {"kind": "yarns", "yarns": [{"name": "ink", "colour": "#26304c"}, rust]}
    )
    assert page(done.chart) == [".AB"]
    assert [yarn.name for yarn in done.chart.yarns] == ["ink", "rust"]


def test_a_part_repeats_as_often_as_asked_or_to_the_edge() -> None:
    box = [[1, 1], [2, 2]]
    some = chart("AAAAA", "AAABA", "AAAAB")
    assert page(edit(some, {"kind": "repeat", "box": box}).chart) == ["BABAB", "ABABA", "BABAB"]
    twice = edit(some, {"kind": "repeat", "box": box, "across": 2, "up": 1}).chart
    assert page(twice) == ["AAAAA", "ABABA", "AABAB"]


def test_rounds_and_columns_are_put_in_and_taken_out_again() -> None:
    more = edit(PLAIN, {"kind": "insert", "what": "round", "at": 2, "count": 2}).chart
    assert page(more) == ["AAAAA", "AAABA", "AAABA", "AAABA", "AAAAA"]
    back = edit(more, {"kind": "delete", "what": "round", "at": 2, "count": 2}).chart
    assert np.array_equal(back.stitches, PLAIN.stitches)
    slim = edit(PLAIN, {"kind": "delete", "what": "stitch", "at": 3, "count": 99}).chart
    assert page(slim) == ["AA", "BA", "AA"]
    for kind in ("insert", "delete"):
        assert not edit(PLAIN, {"kind": kind, "what": "round", "at": 1}).in_place


def test_rows_worked_back_move_with_their_rounds_and_stitches() -> None:
    told = PLAIN.with_(rows=(Row(1, 0, 4, True, True),))
    up = edit(told, {"kind": "insert", "what": "round", "at": 1, "count": 1}).chart
    assert up.rows == (Row(2, 0, 4, True, True),)
    slim = edit(told, {"kind": "delete", "what": "stitch", "at": 1, "count": 1}).chart
    assert slim.rows == (Row(1, 0, 3, True, True),)
    gone = edit(told, {"kind": "delete", "what": "round", "at": 2, "count": 1}).chart
    assert gone.rows == ()


def test_kept_marks_move_with_their_stitches() -> None:
    kept = edit(PLAIN, {"kind": "fix", "stitches": [[2, 2]]}).chart
    for asked in (
        {"kind": "insert", "what": "round", "at": 1, "count": 1},
        {"kind": "place", "box": [[2, 2], [2, 2]], "to": [1, 4], "move": True},
        {"kind": "mirror", "axis": "left-right"},
    ):
        changed = edit(kept, asked).chart
        assert changed.fixed is not None
        assert changed.stitches[changed.fixed].tolist() == [1]


def test_other_yarns_take_over_stitches() -> None:
    asked = [
        {"was": "B", "name": "rust", "colour": "#a8502f"},
        {"was": "A", "name": "oat", "colour": "#ece2d0"},
    ]
    swapped = edit(PLAIN, {"kind": "yarns", "yarns": asked}).chart
    assert [y.name for y in swapped.yarns] == ["rust", "oat"]
    assert np.array_equal(swapped.stitches, 1 - PLAIN.stitches)
    one = edit(PLAIN, {"kind": "yarns", "yarns": asked[1:]}).chart
    assert not one.stitches.any()


def test_the_last_stitch_cannot_be_taken_away() -> None:
    single = chart("A")
    for asked in (
        {"kind": "paint", "yarn": ".", "stitches": [[1, 1]]},
        {"kind": "delete", "what": "round", "at": 1},
    ):
        with pytest.raises(InputError, match="at least one"):
            edit(single, asked)


hostile = st.recursive(
    st.none() | st.booleans() | st.integers(-3, 9) | st.text(max_size=3) | st.floats(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=2)
    ),
    max_leaves=6,
)


@settings(max_examples=300, deadline=None)
@given(
    st.sampled_from(KINDS),
    st.dictionaries(
        st.sampled_from(
            [
                "yarn",
                "stitches",
                "box",
                "at",
                "to",
                "count",
                "what",
                "axis",
                "up",
                "across",
                "yarns",
            ]
        ),
        hostile | st.sampled_from(["A", "round", "stitch", [[1, 1], [2, 3]], [1, 2], [[1, 1]]]),
    ),
)
def test_whatever_is_asked_gives_a_chart_or_one_sentence(kind: str, asked: dict[str, Any]) -> None:
    trouble, done = "", None
    try:
        done = edit(PLAIN, {"kind": kind, **asked})
    except Pic2ChartError as error:
        trouble = str(error)
    assert trouble.endswith(".") if done is None else done.chart.live.any()
