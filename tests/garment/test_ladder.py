"""Ladders: stitches of the carried yarn behind wide grounds, in the chart, its words and all its sheets."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pic2chart.core.messages import Message
from pic2chart.core.settings import Settings
from pic2chart.design.checked import caught
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.ladder import FEWEST_ROUNDS, laddered
from pic2chart.garment.making import make_garment
from pic2chart.garment.piece import Garment
from pic2chart.model.chart import Chart, Rules, for_hand
from pic2chart.model.chart_file import chart_from_text, chart_to_text
from pic2chart.model.construction import Construction, Ladder
from pic2chart.model.measure import Measures, catch_array, catch_holds
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.chart.chart_sheet import chart_sheet
from pic2chart.sheets.fabric.back import fabric_back
from pic2chart.sheets.sheet_settings import PLAIN
from pic2chart.sheets.strands.strand_sheet import strand_sheets
from pic2chart.stranding.strands import plan_strands
from pic2chart.yarns.amounts import AmountOptions, amounts_of
from tests.helpers.garment_knitter import knit
from tests.helpers.places import SAMPLES
from tests.helpers.words_knitter import words_are_the_chart

YARNS = (Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"))


def chart_of(rows: list[str], worked: str, limit: int) -> Chart:
    stitches = np.array([[".#".index(sign) for sign in row] for row in rows], np.uint8)
    return Chart(stitches, YARNS, worked=worked, rules=Rules(float_limit=limit))  # type: ignore[arg-type]


@settings(max_examples=15)
@given(
    st.lists(st.sampled_from(["#" + "." * 29, "." * 29 + "#", "." * 14 + "##" + "." * 14, "." * 30,
                              "#" * 16 + "." * 14, "#." * 15]), min_size=1, max_size=5),
    st.integers(1, 6), st.integers(2, 6), st.integers(6, 20), st.sampled_from(["round", "flat"]),
    st.sampled_from(["right", "left"]),
)  # fmt: skip
def test_ladders_hold_what_floats_and_nothing_else_changes(
    parts: list[str], high: int, limit: int, over: int, worked: str, hand: str
) -> None:
    chart = chart_of([row for row in parts for _ in range(high)], worked, limit)
    stood = laddered(chart, over)
    assert np.array_equal(stood.stitches, chart.stitches)
    assert catch_holds(stood.stitches, catch_array(stood.rungs)).all()
    for ladder in stood.construction.ladders:
        assert ladder.rounds >= FEWEST_ROUNDS
        assert 0 <= ladder.round < ladder.past < stood.round_count
        assert ladder.stitch < stood.stitch_count - 1
    places = [(c.round, c.stitch) for c in stood.rungs]
    assert len(set(places)) == len(places)
    done = caught(stood)[0]
    assert Measures.of(done).stretches.longest <= limit
    turned = for_hand(done, hand)  # type: ignore[arg-type]
    words_are_the_chart(turned)
    assert chart_from_text(chart_to_text(turned)).construction == turned.construction
    assert for_hand(for_hand(done, "left"), "right").construction == done.construction


def test_a_wide_ground_needs_no_catch() -> None:
    rows = ["." * 40] + ["#" + "." * 39] * 12 + ["." * 40] * 2
    chart = chart_of(rows, "round", 5)
    stood = laddered(chart, 20)
    assert len(caught(chart)[0].catches) >= 12 * (39 // 6)
    assert caught(stood)[0].catches == ()
    assert {(ladder.round, ladder.past) for ladder in stood.construction.ladders} == {(1, 13)}
    assert len(stood.rungs) == 12 * (39 // 6)


def test_none_stands_where_floats_are_short_or_few_rounds_high() -> None:
    assert laddered(chart_of(["#" + "." * 19] * 9, "round", 5), 20).construction.ladders == ()
    low = ["." * 40] + ["#" + "." * 39] * (FEWEST_ROUNDS - 1) + ["." * 40]
    assert laddered(chart_of(low, "round", 5), 20).construction.ladders == ()


def test_a_ladder_outside_the_chart_holds_nothing() -> None:
    chart = chart_of(["#" + "." * 39] * 6, "round", 5)
    beyond = (Ladder(2, 60, 1, 4), Ladder(40, 3, 1, 4), Ladder(2, 3, 1, 900))
    odd = chart.with_(construction=Construction(ladders=beyond))
    assert [(c.round, c.stitch) for c in odd.rungs] == [(r, 3) for r in range(2, 6)]
    for draw in (chart_sheet, fabric_back):
        draw(odd)


def made(kind: str, **asked: Any) -> Garment:
    left = asked.pop("left_handed", False)
    chosen = Settings(yarn=("oat=#ece2d0", "ink=#26304c"), gauge="20x24", left_handed=left)
    return make_garment(kind, SAMPLES / "boat.png", chosen, GARMENTS[kind].options(**asked))


@pytest.fixture(scope="module")
def boats() -> tuple[Garment, Garment]:
    """The boat with catches all over its sky, and with ladders."""
    return made("panel", width=24.0), made("panel", width=24.0, ladder=20)


def ways(remark: Message) -> dict[str, dict[str, Any]]:
    """What each way out says, by its code."""
    return {way.code: dict(way.parameters) for way in dict(remark.parameters)["ways"]}  # type: ignore[union-attr]


def test_it_is_offered_with_what_it_costs_and_saves(boats: tuple[Garment, Garment]) -> None:
    plain, stood = boats
    (remark,) = (r for r in plain.told if r.code == "wide-ground")
    told = dict(remark.parameters)
    offer = ways(remark)["ladder-offered"]
    charts = [garment.pieces[0].chart for garment in boats]
    assert offer["rungs"] == len(charts[1].rungs) > 0
    assert offer["saved"] == len(charts[0].catches) - len(charts[1].catches) > 100
    assert told["longest"] == Measures.of(charts[0]).floats.longest
    assert "Intarsia" in str(remark)
    assert "ladder=20" in str(remark)
    assert not any(r.code == "wide-ground" for r in stood.told)


def test_the_narrower_panel_has_hardly_an_absurd_float(boats: tuple[Garment, Garment]) -> None:
    (remark,) = (r for r in boats[0].told if r.code == "wide-ground")
    narrow = ways(remark)["narrower-panel"]
    garment = made("panel", width=narrow["width"])
    chart = garment.pieces[0].chart
    assert chart.stitch_count == narrow["across"]
    assert len(Measures.of(chart).floats.over(narrow["over"])) <= 2  # type: ignore[arg-type]


def test_intarsia_is_refused_with_the_reason_of_the_way_of_working() -> None:
    (remark,) = (r for r in made("cowl", height=14.0).told if r.code == "wide-ground")
    assert "does not go round" in str(remark)
    assert "flat panel" in str(remark)


def test_chart_words_back_strands_and_amounts_show_them(boats: tuple[Garment, Garment]) -> None:
    garment = boats[1]
    chart = garment.pieces[0].chart
    assert Measures.of(chart).stretches.longest <= chart.rules.float_limit
    assert not [f for f in garment.findings if f.level == "error"]
    section = next(s for s in garment.pattern.sections if s.heading == "Ladders")
    counts = [line.count(",") for line in section.lines if line.startswith("Panel, ")]
    assert sum(counts) == len(chart.construction.ladders)  # 'Panel, rows' and between its places
    knit([(s.heading, s.lines) for s in garment.pattern.sections])
    words_are_the_chart(chart)
    bare = chart.with_(construction=Construction(plain_parts=chart.construction.plain_parts))
    metres = [sum(y.metres for y in amounts_of(c, AmountOptions()).yarns) for c in (bare, chart)]
    assert metres[1] - metres[0] == pytest.approx(
        len(chart.rungs) * chart.gauge.loop_length() / 100
    )
    for draw in (chart_sheet, fabric_back):
        names = [[mark.name for mark in draw(c).marks] for c in (bare, chart)]
        assert not any(name.startswith("ladder") for name in names[0])
        assert any(name.startswith("ladder yarn-") for name in names[1])
    labels = [getattr(mark, "text", "") for mark in chart_sheet(chart).marks]
    assert "ladder behind stitch" in labels
    r = chart.construction.ladders[0].round
    sheet = strand_sheets(chart, plan_strands(chart), [r], "a4", PLAIN)[0]
    assert any(mark.name.startswith("ladder yarn-") for mark in sheet.marks)
    assert any("ladder stitch of" in getattr(mark, "text", "") for mark in sheet.marks)


@pytest.mark.parametrize(("kind", "left"), [("mitten", True), ("hat", False), ("cowl", True)])
def test_kinds_in_the_round_have_them(kind: str, left: bool) -> None:
    garment = made(kind, ladder=8, left_handed=left)
    assert not [f for f in garment.findings if f.level == "error"]
    charts = [piece.chart for piece in garment.pieces]
    assert any(chart.rungs for chart in charts)
    for chart in charts:
        assert Measures.of(chart).stretches.longest <= chart.rules.float_limit
        words_are_the_chart(chart)
    knit([(s.heading, s.lines) for s in garment.pattern.sections])
