"""The strand plan: hand-worked cases, every rule of the trade it claims, and a brute-force proof."""

from __future__ import annotations

import re
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pic2chart.checks.report import report_of
from pic2chart.core.errors import InputError
from pic2chart.model.chart import Catch, Chart
from pic2chart.model.chart_file import chart_from_text, chart_to_text
from pic2chart.model.yarn import Yarn
from pic2chart.stranding.strands import ground_parts, plan_strands, reason, with_strands

OAT, INK, RUST, MOSS = (
    Yarn("oat", "#ece2d0"),
    Yarn("ink", "#26304c"),
    Yarn("rust", "#a8502f"),
    Yarn("moss", "#5d6b3a"),
)


def chart(*rows: str, yarns: tuple[Yarn, ...] = (OAT, INK, RUST, MOSS), **more: object) -> Chart:
    codes = [[255 if c == "." else ord(c) - 65 for c in row] for row in rows]
    return Chart(np.array(codes, np.uint8), yarns, **more)  # type: ignore[arg-type]


def framed(motif: str, ground: str) -> Chart:
    """A big motif on a narrow ground: the motif has more stitches, the ground has the border."""
    inner = ground + motif * 10 + ground
    return chart(ground * 12, *[inner] * 10, ground * 12)


def test_the_motif_runs_under_even_where_it_is_the_larger_and_the_lighter() -> None:
    plan = plan_strands(framed("A", "B"))
    assert plan.under == (0,)
    assert plan.over == (1,)
    assert "oat draws the motif" in plan.why


@pytest.mark.parametrize(
    ("under", "ground", "light", "words"),
    [
        ((1,), (0.9, 0.1, 0, 0), (90, 20, 45, 50), "ink runs under: … ink draws the motif."),
        ((1, 2), (0.9, 0.1, 0.2, 0), (90, 20, 45, 50), "ink and rust run under: … "
         "ink and rust draw the motif."),
        ((1,), (0.5, 0.5, 0, 0), (90, 20, 45, 50), "ink runs under: … neither is the ground more "
         "than the other, so the darker is taken."),
        ((0,), (0.5, 0.5, 0, 0), (90, 20, 45, 50), "oat runs under: … in this way the yarns change "
         "places least often."),
    ],
)  # fmt: skip
def test_the_reason_is_told_in_one_sentence(
    under: tuple[int, ...], ground: tuple[float, ...], light: tuple[float, ...], words: str
) -> None:
    over = (0,) if 0 not in under else (1,)
    told = reason(chart("AB"), under, over, np.array(ground), np.array(light, float))
    assert told == words.replace("…", "the lower yarn shows larger on the front, and")


def test_between_equals_the_darker_runs_under() -> None:
    plan = plan_strands(chart("ABABABAB", "BABABABA"))
    assert plan.under == (1,)
    assert "darker" in plan.why


def test_a_round_of_one_yarn_has_neither_under_nor_over() -> None:
    plan = plan_strands(framed("B", "A"))
    assert plan.rounds[0].order == (0,)
    assert plan.rounds[0].under is None
    assert plan.rounds[0].over is None
    assert plan.rounds[0].role(0) is None
    assert plan.rounds[3].role(1) == "under"


def test_one_yarn_throughout_needs_no_plan() -> None:
    plan = plan_strands(chart("AAAA", "AAAA"))
    assert plan.under == plan.over == ()
    assert plan.words("right") == ("One yarn in every round: nothing runs behind.",)


def test_a_round_without_stitches_and_one_of_three_yarns() -> None:
    plan = plan_strands(chart("....", "ABCA", "AAAA"))
    assert plan.rounds[0].order == ()
    assert len(plan.rounds[1].order) == 3
    assert sorted(str(plan.rounds[1].role(y)) for y in range(3)) == ["middle", "over", "under"]


def test_a_new_motif_yarn_takes_the_place_of_the_old_one_without_a_swap() -> None:
    plan = plan_strands(chart("AAAAAAAB", "AAAABAAA", "AAAAAAAC", "AAAACAAA"))
    assert set(plan.under) == {1, 2}
    assert plan.over == (0,)
    assert plan.swaps == ()
    assert plan.warnings == ()


def test_three_yarns_that_all_meet_cannot_do_without_a_swap_and_it_is_named() -> None:
    plan = plan_strands(chart("ABABAB", "BCBCBC", "ACACAC"))
    assert len(plan.swaps) >= 1
    swap = plan.swaps[0]
    named = plan.warnings[0]
    assert f"Round {swap.round + 1}" in named
    assert "changes places" in named
    assert {swap.before, swap.now} == {"under", "over"}


def test_hands_hold_the_under_yarn_left_and_the_mirror_image_right() -> None:
    plan = plan_strands(framed("B", "A"))
    assert plan.holds["right", "two-handed"] == "Two hands: ink in the left hand, oat in the right."
    assert plan.holds["left", "two-handed"] == "Two hands: oat in the left hand, ink in the right."
    for hand in ("right", "left"):
        assert plan.holds[hand, "one-handed"].startswith("One hand: bring ink up from beneath oat")


def test_only_catches_that_hold_something_are_counted() -> None:
    catches = (Catch(1, 3, 0), Catch(1, 7, 0), Catch(2, 5, 0), Catch(0, 2, 1), Catch(3, 0, 0))
    plan = plan_strands(framed("B", "A").with_(catches=catches))
    assert [r.catches for r in plan.rounds][:4] == [0, 2, 1, 0]
    assert plan.catches == 3
    told = next(w for w in plan.words("right") if w.startswith("Catches: 3"))
    assert "one at each catch" not in told
    assert "do not twist" in told


def test_the_border_counts_for_the_ground() -> None:
    ground = ground_parts(framed("B", "A"))
    assert ground[0] == pytest.approx((44 / 144 + 1) / 2)
    assert ground.sum() == pytest.approx(1)


def test_the_border_is_8_per_cent_deep() -> None:
    """On 50 × 50 it is 4 deep: a frame of 1 has 196 of its 736 stitches, and of all 2500."""
    square = chart("A" * 50, *["A" + "B" * 48 + "A"] * 48, "A" * 50)
    assert ground_parts(square)[0] == pytest.approx((196 / 2500 + 196 / 736) / 2)


def test_spans_join_rounds_of_the_same_order() -> None:
    plan = plan_strands(framed("B", "A"))
    assert list(plan.spans()) == [(0, 0, (0,)), (1, 10, (1, 0)), (11, 11, (0,))]


def test_the_chart_file_holds_the_plan_and_reads_it_back() -> None:
    made = with_strands(framed("B", "A"))
    text = chart_to_text(made)
    read = chart_from_text(text)
    assert read.strands == made.strands
    assert read.strands["rounds"][1] == {"from": 2, "to": 11, "order": "BA"}
    assert len(read.strands["catches"]) == 12
    assert "strands" not in read.extra
    assert chart_to_text(read) == text
    assert '"strands"' not in chart_to_text(framed("B", "A"))


def test_flat_pieces_are_told_about_wrong_side_rows() -> None:
    flat = plan_strands(framed("B", "A").with_(worked="flat"))
    assert all("wrong-side rows ink stays the lower" in words for words in flat.holds.values())
    circular = plan_strands(framed("B", "A"))
    assert not any("wrong-side" in words for words in circular.holds.values())


def test_names_with_odd_signs_stay_as_they_are() -> None:
    odd = (Yarn("{0} %s", "#ece2d0"), Yarn("{ink}", "#26304c"))
    for worked in ("round", "flat"):
        made = framed("B", "A").with_(yarns=odd, worked=worked)
        assert "{ink} in the left hand, {0} %s in the right" in plan_strands(made).words("right")[1]


def test_a_plan_in_a_file_that_is_no_plan_is_refused() -> None:
    text = chart_to_text(with_strands(framed("B", "A")))
    broken = re.sub(r'"strands": \{.*\}', '"strands": [1]', text)
    assert broken != text
    with pytest.raises(InputError, match="strands"):
        chart_from_text(broken)


def test_the_report_says_it_for_the_knitters_hand() -> None:
    left = framed("B", "A").with_(hand="left")
    assert "Two hands: oat in the left hand, ink in the right." in report_of(left, ()).strands


@st.composite
def pairs_of_rounds(draw: st.DrawFn) -> Chart:
    rows = draw(st.lists(st.sampled_from(["AB", "AC", "AD", "BC", "BD", "CD", "AA"]), min_size=1))
    return chart(*[row * 3 for row in rows])


@given(pairs_of_rounds())
def test_no_steady_plan_swaps_less(made: Chart) -> None:
    """Against every way to give each yarn one place for good, where one exists."""
    plan = plan_strands(made)
    pairs = {tuple(sorted(r.order)) for r in plan.rounds if len(r.order) == 2}
    free = any(
        all(way[a] != way[b] for a, b in pairs) for way in product((0, 1), repeat=len(made.yarns))
    )
    if free:
        assert plan.swaps == ()
    for here in plan.rounds:
        assert set(here.order) == {int(y) for y in np.unique(made.stitches[here.round])}
    by_pair: dict[tuple[int, ...], set[int]] = {}
    for here in plan.rounds:
        if len(here.order) == 2:
            by_pair.setdefault(tuple(sorted(here.order)), set()).add(here.order[0])
    assert all(len(lower) == 1 for lower in by_pair.values())
    if pairs:
        assert plan.under
        assert plan.over
