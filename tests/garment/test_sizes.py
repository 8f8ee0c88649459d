"""Sizes, counts and shaping arithmetic of garments, against published tables and worked sums."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from itertools import pairwise
from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pic2chart.checks.rules import check
from pic2chart.core.errors import SettingError
from pic2chart.garment.chests import CHESTS, Wearer, wearer_of
from pic2chart.garment.kinds.hat.plan import crown_kinds, crown_rate, crown_sides, wedges_for
from pic2chart.garment.kinds.mitten import MittenOptions
from pic2chart.garment.kinds.mitten.plan import plan_mitten
from pic2chart.garment.kinds.mitten.thumb import plan_thumb, thumb_shape
from pic2chart.garment.kinds.yoke import YokeOptions
from pic2chart.garment.kinds.yoke.plan import DEPTH, RISE, STRETCH, plan_below, plan_yoke
from pic2chart.garment.kinds.yoke.short_rows import INNER, plan_short_rows
from pic2chart.garment.shape import (
    Part,
    Shape,
    decreases,
    nearest_counts,
    rounds_for,
    spread,
    taper,
    taper_inwards,
)
from pic2chart.garment.sizes import (
    BABIES,
    FEET,
    HAND_BREADTH,
    HAND_LENGTH,
    HANDS,
    HEADS,
    Body,
    along,
    body_of,
    head_depth,
    in_half_cm,
    shoe_foot,
)
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.construction import Construction
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from tests.helpers.constructed import constructed
from tests.helpers.places import PUBLISHED

GAUGES = st.builds(Gauge, st.floats(18, 36), st.floats(18, 40))


def table(name: str) -> list[dict[str, str]]:
    lines = (PUBLISHED / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def chart_of(shape: Shape) -> Chart:
    """A chart of one yarn in that shape."""
    stitches = np.where(shape.live, 0, NO_STITCH).astype(np.uint8)
    told = Construction(shapings=tuple(shape.shaping))
    return Chart(stitches, (Yarn("oat", "#ece2d0"),), construction=told)


def misfits(shape: Shape) -> list[str]:
    return [f.message for f in check(chart_of(shape)) if f.rule == "shaping-misfit"]


def test_hands_are_the_table_of_en_420() -> None:
    for row in table("hands_en420.csv"):
        body = HANDS[row["size"]]
        assert round(body.girth * 10) == int(row["circumference_mm"])
        assert round(body.length * 10) == int(row["length_mm"])
        assert not body.child
        # the glove number is the circumference in inches, to half a millimetre a number
        assert body.girth * 10 == pytest.approx(25.4 * int(row["size"]), abs=0.6)


def test_childrens_hands_are_the_measured_ones() -> None:
    """Medians from two to seven, each at the middle of its year; breadths times ANSUR II's ratio."""
    for row in table("hands_snyder_1977.csv"):
        age = float(row["age_years"]) + 0.5
        length, breadth = along(HAND_LENGTH, age), along(HAND_BREADTH, age)
        assert length == pytest.approx(float(row["length"]), abs=0.3)
        assert float(row["length_p5"]) < length < float(row["length_p95"])
        assert breadth == pytest.approx(float(row["breadth"]), abs=0.2)
    six = HANDS["4-6y"].length + HANDS["6-8y"].length
    assert 11.2 <= six / 2 <= 14.5  # a published range at six


def test_grown_ups_are_the_measured_ones() -> None:
    rows = {row["what"]: row for row in table("grown_ups_ansur2.csv")}
    for sex, size in (("women", "woman"), ("men", "man")):
        hand, head, foot = HANDS[size], HEADS[size], FEET[size]
        assert hand.girth == float(rows["hand_circumference"][sex])
        assert hand.length == float(rows["hand_length"][sex])
        assert head.girth == float(rows["head_circumference"][sex])
        assert foot.length == float(rows["foot_length"][sex])
        assert foot.girth == pytest.approx(float(rows["ball_circumference"][sex]), abs=0.15)
        for body, what in ((hand, "hand_circ"), (head, "head_circ"), (foot, "foot_length")):
            row = next(row for name, row in rows.items() if name.startswith(what))
            assert body.spread == (float(row[f"{sex}_p5"]), float(row[f"{sex}_p95"]))
    adult = HEADS["adult"].girth
    assert HEADS["woman"].girth < adult < HEADS["man"].girth
    assert HEADS["large"].girth == float(rows["head_circumference"]["men_p95"])


def test_childrens_heads_are_the_medians_of_uk90() -> None:
    ages = {
        "newborn": 0.0,
        "3mo": 0.25,
        "6mo": 0.5,
        "12mo": 1.0,
        "2y": 2.0,
        "child": 4.0,
        "6y": 6.0,
    }
    rows = {float(row["age_years"]): row for row in table("heads_uk90.csv")}
    for size, age in ages.items():
        row, body = rows[age], HEADS[size]
        assert float(row["uk90_girls"]) <= body.girth <= float(row["uk90_boys"])
        if row["who_girls"]:  # the other standard's median is inside the told spread
            assert body.spread is not None
            who = (float(row["who_girls"]) + float(row["who_boys"])) / 2
            assert body.spread[0] < who < body.girth
        assert body.child
    assert 42.2 <= HEADS["6mo"].girth <= 44.5
    assert not any(HEADS[size].child for size in ("adult", "woman", "man", "large"))


def test_depths_of_hats_follow_the_trade() -> None:
    for row in table("head_depths.csv"):
        girth, depth = float(row["round_cm"]), float(row["depth_cm"])
        assert head_depth(girth) == depth
        # depth of a hat is about a third of the round and 1 to 2 cm (common practice)
        assert depth == pytest.approx(girth / 3 + 1.5, abs=2.0)


def test_feet_are_the_measured_ones_and_shoes_agree() -> None:
    for row in table("feet_snyder_1977.csv"):
        assert FEET[f"{row['age_years']}y"].length == float(row["length"])
    assert all(FEET[f"{age}y"].child for age in range(1, 13))
    # one maker's table, seen second-hand: EU 38 is 23.0 cm, 42 is 26.0, 46 is 29.0
    for size, length in ((38, 23.0), (42, 26.0), (46, 29.0)):
        assert FEET[str(size)].length == pytest.approx(length, abs=0.9)
    lengths = [shoe_foot(size) for size in range(20, 47, 2)]
    assert lengths == sorted(lengths)


@pytest.mark.parametrize("table_", [HANDS, HEADS, FEET])
def test_sizes_grow_and_stay_in_proportion(table_: Mapping[str, Body]) -> None:
    children = [body for body in table_.values() if body.child]
    for smaller, larger in pairwise(children):
        assert larger.girth > smaller.girth or larger.name == "20"
        assert larger.length > smaller.length or larger.name == "20"
    ratios = [body.girth / body.length for body in table_.values()]
    assert max(ratios) < 1.5 * min(ratios)


@given(st.floats(2, 40), st.floats(0, 30))
def test_a_height_in_half_cm(cm: float, low: float) -> None:
    assert low <= in_half_cm(cm, low, low + 5) <= low + 5


def test_own_measures_stand_in_the_place_of_a_size() -> None:
    assert body_of(HANDS, "8", None, None, False).name == "8"
    own = body_of(HANDS, "7", 20.0, None, False)
    assert (own.girth, own.length, own.name) == (20.0, 18.2, "")  # nearest girth: size 8
    with pytest.raises(SettingError, match="sizes are"):
        body_of(HANDS, "medium", None, None, False)


@pytest.mark.parametrize(
    ("size", "gauge", "stitches", "slit", "thumb", "top", "tip"),
    [
        # size 6: 15.2 × 1.1 = 16.72 cm × 2.8 = 46.8 → 46; 20 % = 9; (46/2 - 5)/2 = 9 rounds → 2 × 5
        # its thumb of 20 is 7.1 cm round, more than 0.45 × 15.2 = 6.8: two fewer
        ("6", "28x30", 46, 9, 18, 9, 10),
        # size 8: 20.3 × 1.1 = 22.33 cm × 2.8 = 62.5 → 62; 20 % = 12; (31 - 5)/2 = 13 → 10; 9.3 > 9.1
        ("8", "28x30", 62, 12, 24, 13, 10),
        # size 9: 22.9 × 1.1 = 25.19 × 2.8 = 70.5 → 70; 14; its 30 would be 10.7 cm round: 28, 10.0
        ("9", "28x30", 70, 14, 28, 15, 10),
        # size 7: 17.8 × 1.1 = 19.58 × 2.8 = 54.8 → 54; 10; 22 are 7.9 cm, less than 8.0: they stay
        ("7", "28x30", 54, 10, 22, 11, 10),
        # size 10 at 32: 25.4 × 1.1 = 27.94 × 3.2 = 89.4 → 90; 18; (45 - 5)/2 = 20 → 10; 11.9 > 11.4
        ("10", "32x34", 90, 18, 36, 20, 10),
        # 4-6y: 5.7 × 2.4 = 13.7 cm × 1.1 × 2.4 = 36.2 → 36; 7; (18 - 4)/2 = 7 → 8; 6.7 > 6.2
        ("4-6y", "24x26", 36, 7, 14, 7, 8),
        # size 7 at 24: 17.8 × 1.1 = 19.58 × 2.4 = 47.0 → 46 or 48 are equally near; 46.99 → 46
        ("7", "24x26", 46, 9, 18, 9, 10),
    ],
)
def test_mitten_counts_by_hand(
    size: str, gauge: str, stitches: int, slit: int, thumb: int, top: int, tip: int
) -> None:
    plan = plan_mitten(MittenOptions(size=size), Gauge.parse(gauge))
    assert plan.counts.stitches == stitches
    assert plan.slit == slit
    thumb_ = plan_thumb(plan, Gauge.parse(gauge))
    assert (
        2 * thumb_.half == thumb
    )  # twice the opening, and one stitch for each corner unless roomy
    assert thumb_.picked == 2 * (slit + 2)
    assert thumb_shape(plan, thumb_).counts[0] == thumb_.picked
    assert (len(plan.top), plan.last) == (top, tip)
    assert 0.30 <= plan.opening * 10 / Gauge.parse(gauge).rounds / HANDS[size].length <= 0.34


@pytest.mark.parametrize("size", list(HANDS))
def test_cuffs_and_thumbs_are_in_proportion(size: str) -> None:
    gauge = Gauge(30, 32)
    plan = plan_mitten(MittenOptions(size=size), gauge)
    cuff = plan.cuff * gauge.round_height
    assert 0.28 * plan.body.length <= cuff <= 0.40 * plan.body.length
    assert plan.thumbed == (size not in BABIES)
    if plan.thumbed:
        around = 2 * plan_thumb(plan, gauge).half * gauge.stitch_width
        assert 0.36 <= around / plan.body.girth <= 0.46


def test_a_pointed_top_has_edges_of_45_degrees_on_square_stitches() -> None:
    gauge = Gauge(28, 28)
    plan = plan_mitten(MittenOptions(size="8"), gauge)
    run = sum(right for right, _ in plan.top) * gauge.stitch_width
    assert len(plan.top) * gauge.round_height == pytest.approx(run, rel=1e-9)


@pytest.mark.parametrize("rounds", [25, 30, 34, 37.8])
def test_a_crown_loses_what_a_flat_disc_loses(rounds: float) -> None:
    """Geometry: 2π/R stitches a round with R rounds a stitch; so radius × 2π is the circumference."""
    gauge = Gauge(28, rounds)
    rate = crown_rate(gauge)
    assert rate == pytest.approx(2 * pi / (rounds / 28))
    stitches = 168
    wedges = wedges_for(stitches, rate)
    assert wedges is not None
    sides = crown_sides(stitches // wedges, wedges, rate)
    radius = len(sides) * gauge.round_height
    assert 2 * pi * radius == pytest.approx(stitches * gauge.stitch_width, rel=0.06)


def test_the_crown_rates_of_the_trade() -> None:
    """4.65 at 1.35 rounds a stitch, 5.8 at 1.08: about 6 wedges every round for stranded work."""
    assert crown_rate(Gauge(20, 27)) == pytest.approx(4.65, abs=0.01)
    assert crown_rate(Gauge(25, 27)) == pytest.approx(5.8, abs=0.02)
    assert wedges_for(144, crown_rate(Gauge(25, 27))) == 6


@settings(max_examples=60, deadline=None)
@given(GAUGES, st.integers(5, 40), st.sampled_from([6, 7, 8]))
def test_every_centred_crown_adds_up(gauge: Gauge, wedge: int, wedges: int) -> None:
    """Double decreases on the spines lose what a flat disc loses, to one stitch a wedge."""
    rate = crown_rate(gauge)
    kinds = crown_kinds(wedge, wedges, rate)
    shape = taper_inwards(wedge, wedges, kinds)
    whole = Shape(np.ones((1, wedge * wedges), bool)).followed_by(shape)
    assert not misfits(whole)
    assert not misfits(whole.mirrored())
    assert whole.counts[-1] == wedges
    assert (shape.live[:, wedge // 2 :: wedge]).all()  # the spines run on to the top
    lost = (wedge - 1) * wedges
    assert len(kinds) == pytest.approx(max(lost / rate, (wedge - 1) / 2), abs=2.0)


@pytest.mark.parametrize("chest", [84.0, 90.0, 96.0])
def test_a_yoke_keeps_the_percentages(chest: float) -> None:
    shares = {
        row["what"]: (float(row["low"]), float(row["high"]))
        for row in table("yoke_percentages.csv")
    }
    gauge = Gauge(24, 26)
    around = chest + 8
    depth = round(around / 4 * 2.6)
    plan = plan_yoke(gauge, around, depth, 56.0, (12, 4, 4))
    first, second, third = plan.bands
    assert 1 - second / first == pytest.approx(shares["decreased_at_half"][0], abs=0.01)
    assert 1 - third / second == pytest.approx(shares["decreased_at_three_quarters"][0], abs=0.015)
    assert 1 - plan.neck / third == pytest.approx(shares["decreased_at_neck"][0], abs=0.03)
    low, high = shares["neck_of_body"]
    assert low <= plan.neck / plan.body <= high + 0.005
    assert plan.underarm == round(shares["underarm_of_body"][0] * plan.body)
    assert first == plan.body + 2 * plan.sleeve - 4 * plan.underarm
    assert plan.body == pytest.approx(around * 2.4, abs=2)
    assert plan.starts == (0, depth // 2, depth * 3 // 4)
    assert plan.neck * gauge.stitch_width * STRETCH >= 56.0


def test_the_worked_example_of_the_percentage_method() -> None:
    """K = 200 at five stitches to the inch, with repeats of four; the later book's yoke is followed."""
    gauge = Gauge(200 / 10.16, 26)
    (row,) = (row for row in table("yoke_examples.csv") if row["book"] == "1989")
    plan = plan_yoke(gauge, 101.6, 60, 56.0, (4, 4, 4))
    assert plan.body == int(row["body"])
    assert plan.sleeve == int(row["sleeve"])
    assert plan.underarm == int(row["underarm"])
    assert plan.bands[0] == int(row["yoke"])
    for mine, its in zip((*plan.bands[1:], plan.neck), ("first", "second", "neck"), strict=True):
        assert mine == pytest.approx(int(row[its]), abs=4), its


def test_depths_are_those_of_published_yokes() -> None:
    for row in table("yoke_depths.csv"):
        for chest in (float(row["chest_low"]), float(row["chest_high"])):
            depth = along(DEPTH, chest)
            assert float(row["depth_low"]) <= depth <= float(row["depth_high"])
            assert 2.5 <= RISE * depth <= 3.5
    shares = [along(DEPTH, chest) / chest for chest in (50, 70, 90)]
    assert all(0.22 <= share <= 0.30 for share in shares)
    assert 0.17 <= along(DEPTH, 140) / 140 <= 0.21
    assert along(DEPTH, 128) < 27  # a quarter would be 32


def test_necks_wrists_and_arms_do_not_grow_with_the_chest_for_ever() -> None:
    neck_base = {
        sex: float(row[sex]) for row in table("grown_ups_ansur2.csv")
        if row["what"] == "neck_base_circumference" for sex in ("women", "men")
    }  # fmt: skip
    gauge = Gauge(24, 26)
    for size, wearer in CHESTS.items():
        around = wearer.chest + 8
        depth = rounds_for((1 - RISE) * along(DEPTH, around), gauge)
        plan = plan_yoke(gauge, around, depth, wearer.head, (4, 4, 4))
        below = plan_below(plan, YokeOptions(size=size), wearer, gauge)
        w = gauge.stitch_width
        assert plan.neck * w * STRETCH >= wearer.head
        assert plan.neck * w <= neck_base["men"] + 3.5, size
        assert wearer.wrist + 2 <= below.arm.wrist * w <= wearer.wrist + 4.5, size
        assert wearer.upper_arm + 1 <= plan.sleeve * w <= wearer.upper_arm + 8.5, size
        # the ribbing of body, cuffs and neck is the same
        assert plan.body % 4 == below.arm.wrist % 4 == plan.neck % 4 == 0


def test_arms_are_the_published_ones() -> None:
    for row in table("upper_arms_cyc.csv"):
        chest, arm = float(row["chest"]), float(row["upper_arm"])
        assert Wearer(chest).upper_arm == arm
        assert 0.33 * (chest + 8) - arm >= 1.5  # a third of the body goes round it with some ease


def test_chests_have_names() -> None:
    steps = [int(size) for size in CHESTS if size.isdigit()]
    assert steps[0] == 74
    assert steps[-1] == 131
    assert {b - a for a, b in pairwise(steps)} == {4, 5, 6}
    assert wearer_of("6y", None, 96.0, False).child
    assert wearer_of("6y", 60.0, 96.0, False).name == ""
    assert wearer_of(None, None, 96.0, False).chest == 96.0
    with pytest.raises(SettingError, match="sizes are"):
        wearer_of("huge", None, 96.0, False)
    heads = [wearer_of(size, None, 96.0, False).head for size in ("2y", "6y", "14y", "woman-m")]
    assert heads == sorted(heads)


@given(st.integers(40, 200), st.floats(0.5, 6), GAUGES)
def test_short_rows_turn_sooner_each_time_and_end_the_round(
    neck: int, rise: float, gauge: Gauge
) -> None:
    short = plan_short_rows(4 * (neck // 4), rise, gauge)
    turns = short.turns
    for (first, past), (next_first, next_past) in pairwise(turns[:-1]):
        assert first <= next_first < next_past <= past
        assert (first, past) != (next_first, next_past)
    middle = short.neck / 4
    inner = turns[-2]
    assert abs((inner[0] + inner[1]) / 2 - middle) <= 1.5  # in the middle of the back
    assert inner[1] - inner[0] >= short.neck / 2 * INNER - short.step
    assert turns[-1][1] == short.neck
    assert short.rows()[-1].last == short.neck - 1
    assert short.stitches(1).shape == (len(turns) + 1, short.neck)


def test_a_yoke_that_cannot_close_over_the_head_says_what_would() -> None:
    with pytest.raises(SettingError, match="closes from a body of about"):
        plan_yoke(Gauge(24, 26), 50.0, 33, 62.0, (12, 4, 4))


def test_counts_that_close_and_their_neighbours() -> None:
    counts = nearest_counts(55.0, Gauge(28, 30), lambda n: n % 12 == 0, "a multiple of 12")
    assert counts.stitches == 156  # 55 × 2.8 = 154
    assert [c.stitches for c in counts.others] == [132, 144, 168, 180]
    assert counts.others[1].cm == pytest.approx(144 / 2.8)
    with pytest.raises(SettingError, match=r"nearest count that is a multiple of 99 is 198"):
        nearest_counts(55.0, Gauge(28, 30), lambda n: n % 99 == 0, "a multiple of 99")


@given(st.integers(1, 300), st.integers(1, 60))
def test_spreading_loses_nothing(total: int, parts: int) -> None:
    shares = spread(total, parts)
    assert sum(shares) == total
    assert len(shares) == parts
    assert max(shares) - min(shares) <= 1


@given(st.integers(20, 400), st.data())
def test_decreases_are_spread_and_each_has_its_stitch(before: int, data: st.DataObject) -> None:
    after = data.draw(st.integers(-(-before // 2), before - 1))
    places = decreases(before, after)
    assert len(set(places)) == before - after
    assert all(0 <= place < after for place in places)


@settings(max_examples=60, deadline=None)
@given(
    GAUGES,
    st.sampled_from(list(HANDS)),
    st.sampled_from(["slit", "gusset", "none"]),
    st.floats(0, 25),
)
def test_every_mitten_adds_up(gauge: Gauge, size: str, thumb: str, ease: float) -> None:
    try:
        plan = plan_mitten(MittenOptions(size=size, thumb=thumb, ease=ease), gauge)
    except SettingError:
        return
    hand = plan.shape()
    for shape in (hand, hand.mirrored()):
        assert not misfits(shape)
    assert hand.counts[plan.straight - 1] == plan.counts.stitches
    assert hand.counts[-1] == plan.last
    assert 8 <= plan.last <= 12
    assert plan.thumbed == (thumb != "none")
    if plan.thumbed:
        thumb_ = thumb_shape(plan, plan_thumb(plan, gauge))
        assert not misfits(thumb_)
        assert not misfits(thumb_.mirrored())
        assert 6 <= thumb_.counts[-1] <= 8
    if plan.gusset:
        assert len(set(plan.grows)) == len(plan.grows) == plan.gusset // 2
        assert plan.grows[-1] < plan.opening
        assert max(hand.counts) == plan.counts.stitches + plan.gusset - 1
        assert 0.34 <= plan.gusset / plan.counts.stitches <= 0.40
    assert (hand.mirrored().live == hand.live[:, ::-1]).all()
    assert hand.mirrored().mirrored().shaping == hand.shaping


@pytest.mark.parametrize("size", list(HANDS))
@pytest.mark.parametrize("stitches", [16, 20, 24, 28, 32, 36])
@pytest.mark.parametrize("rounds", [0.9, 1.0, 1.08, 1.2, 1.35])
def test_a_gusset_is_full_where_thumbs_are_opened(size: str, stitches: int, rounds: float) -> None:
    """At 30 to 34 % of the hand's length (common practice), a round more or less; later only on small
    broad hands, where it grows in every round."""
    gauge = Gauge(stitches, stitches * rounds)
    try:
        plan = plan_mitten(MittenOptions(size=size, thumb="gusset"), gauge)
    except SettingError:
        return
    at, one = plan.opening * gauge.round_height, gauge.round_height
    assert at >= 0.30 * plan.body.length - one
    every = plan.grows == tuple(range(1, plan.gusset // 2 + 1))
    assert at <= 0.34 * plan.body.length + one or (every and plan.opening == plan.gusset // 2 + 1)
    assert plan.body.child or at <= 0.38 * plan.body.length


@settings(max_examples=60, deadline=None)
@given(GAUGES, st.integers(60, 220))
def test_every_crown_adds_up_and_closes_on_6_to_8(gauge: Gauge, stitches: int) -> None:
    rate = crown_rate(gauge)
    wedges = wedges_for(stitches, rate)
    if wedges is None:
        assert all(stitches % n or rate > 2 * n for n in (6, 7, 8))
        return
    wedge = stitches // wedges
    shape = taper([Part(wedge, right=1)] * wedges, crown_sides(wedge, wedges, rate))
    whole = Shape(np.ones((1, stitches), bool)).followed_by(shape)
    assert not misfits(whole)
    assert whole.counts[-1] == wedges
    assert all(a >= b for a, b in zip(whole.counts, whole.counts[1:], strict=False))


@settings(max_examples=60, deadline=None)
@given(GAUGES, st.floats(60, 150), st.integers(4, 40), st.sampled_from([48.0, 56.0]))
def test_every_yoke_adds_up_and_its_repeats_close(
    gauge: Gauge, around: float, unit: int, head: float
) -> None:
    depth = max(16, round(around / 4 / gauge.round_height))
    try:
        plan = plan_yoke(gauge, around, depth, head, (unit, 4, 4))
    except SettingError:
        return
    assert plan.bands[0] % unit == 0
    assert plan.bands[1] % 4 == plan.bands[2] % 4 == 0
    assert not misfits(plan.shape())
    counts = plan.shape().counts
    assert sorted(set(counts), reverse=True) == [*plan.bands, plan.neck]


def row_chart(rows: list[str], shaping: object, **more: object) -> Chart:
    """A chart from rows of 'A' and '.', first row = round 1, with that list of shaping."""
    stitches = np.array([[0 if c == "A" else NO_STITCH for c in row] for row in rows], np.uint8)
    told = constructed({"shaping": shaping, **more})
    return Chart(stitches, (Yarn("oat", "#ece2d0"),), construction=told)


def told(chart: Chart) -> list[tuple[str, int | None, int | None]]:
    return [(f.level, f.round, f.stitch) for f in check(chart) if f.rule == "shaping-misfit"]


def test_shaping_that_adds_up_is_left_alone() -> None:
    k2tog = {"round": 2, "stitch": 4, "kind": "k2tog"}
    made = {"round": 2, "stitch": 1, "kind": "increase-left"}
    assert told(row_chart(["AAAAA", "AAAA."], [k2tog])) == []
    assert told(row_chart([".AAAA", "AAAAA"], [made])) == []
    assert told(row_chart(["AAAAA", "AAAAA"], [made, k2tog | {"stitch": 5}])) == []
    hold = {"round": 2, "stitch": 2, "kind": "hold", "count": 3}
    cast_on = {"round": 2, "stitch": 3, "kind": "cast-on", "count": 1}
    assert told(row_chart(["AAAAAA", "A.A.AA"], [hold, cast_on])) == []
    assert (
        told(row_chart(["AAAAA", "AAA.."], [k2tog]).with_(construction=Construction())) == []
    )  # no garment


def test_shaping_that_does_not_add_up_is_an_error() -> None:
    k2tog = {"round": 2, "stitch": 4, "kind": "k2tog"}
    assert told(row_chart(["AAAAA", "AAA.."], [])) == [("error", 2, None)]
    assert told(row_chart(["AAAAA", "AAAAA"], [k2tog])) == [("error", 2, None)]
    # the last decrease finds one stitch only: it would have to reach across the join
    assert told(row_chart(["AAAA", "AAAA"], [k2tog])) == [("error", 2, 4)]
    assert told(row_chart(["AAAA.", "AAAA."], [k2tog | {"stitch": 5}])) == [("error", 2, 5)]
    assert told(row_chart(["AAAA", "AAAA"], [k2tog | {"round": 9}])) == [("error", 9, 4)]


@pytest.mark.parametrize(
    "shaping",
    [
        "k2tog",
        [7],
        [{"round": 2}],
        [{"round": True, "stitch": 1, "kind": "ssk"}],
        [{"round": 2, "stitch": 1, "kind": []}],
    ],
)
def test_shaping_that_cannot_be_read_is_a_warning(shaping: object) -> None:
    assert told(row_chart(["AAAA", "AAAA"], shaping)) == [("warning", None, None)]


def test_a_garments_join_is_looked_at() -> None:
    stripes = ["AAAA", "BBBB", "AAAA", "ABAB", "ABBB"]
    stitches = np.array([[ord(c) - 65 for c in row] for row in stripes], np.uint8)
    yarns = (Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"))
    plain = Chart(stitches, yarns)
    assert not [f for f in check(plain) if f.rule == "join-jog"]
    (finding,) = [
        f for f in check(plain.with_(construction=Construction(join=0))) if f.rule == "join-jog"
    ]
    assert (finding.level, finding.round, finding.length) == ("note", 1, 2)
