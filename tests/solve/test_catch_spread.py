"""Catches spread: the hard rules kept, few more than the fewest, neither side by side nor in lines."""

from __future__ import annotations

import numpy as np
import pytest

from pic2chart.checks.float_rules import catch_missing, catch_stacked
from pic2chart.core.english.grammar import many
from pic2chart.design.checked import caught
from pic2chart.model.chart import Chart, Rules
from pic2chart.model.construction import CAST_ON, Construction, Shaping
from pic2chart.model.measure import Measures, stretches
from pic2chart.model.rows import Row
from pic2chart.model.yarn import Yarn
from pic2chart.solve.catch_spread import MORE, CatchSpread, spread_catches
from pic2chart.solve.catches import CatchPlan, catch_problem, plan_catches
from tests.helpers.problems import random_chart
from tests.solve.test_catches import chart_of, photograph, stacked_columns

SHOW = np.array([[0.0, 50.0, 30.0], [50.0, 0.0, 20.0], [30.0, 20.0, 0.0]])
YARNS = (Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"), Yarn("rust", "#a8502f"))


def spread(stitches, circular=True, limit=5, stacked=False) -> tuple[CatchPlan, CatchSpread]:
    asked = {"circular": circular, "limit": limit, "stacked": stacked, "show": SHOW}
    problem = catch_problem(stitches, **asked)
    plan = plan_catches(problem)
    return plan, spread_catches(problem, plan)


def held(catches, shape) -> np.ndarray:
    found = np.zeros(shape, bool)
    for c in catches:
        found[c.round, c.stitch] = True
    return found


def side_by_side(catches, shape, circular=True, stacked=False) -> int:
    """Pairs of stitches caught behind in consecutive rounds, at most one column apart, one by one."""
    rounds, width = shape
    at = {(c.round, c.stitch) for c in catches}
    found = 0
    for r, c in at:
        for step in (-1, 0, 1):
            column = (c + step) % width if circular else c + step
            above = (r + 1) % rounds if stacked else r + 1
            found += (above, column) in at
    return found


def lines(catches, shape) -> int:
    """Threes in a line, from round to round or from every second round to the next."""
    here = held(catches, shape)
    found = 0
    for up, most in ((1, 6), (2, 1)):
        for k in range(-most, most + 1):
            two = np.roll(here, -k, 1)[up:-up]
            found += int((here[: -2 * up] & two & np.roll(here, -2 * k, 1)[2 * up :]).sum())
    return found


@pytest.mark.parametrize("seed", range(120))
def test_the_hard_rules_are_kept_and_hardly_a_catch_more(seed):
    rng = np.random.default_rng(seed)
    stitches = random_chart(rng, yarns=2 + seed % 2, ragged=seed % 5 == 0)
    circular, stacked = bool(rng.integers(2)), bool(rng.integers(2))
    limit = int(rng.integers(1, 8))
    plan, found = spread(stitches, circular, limit, stacked)
    assert stretches(stitches, circular, found.catches).longest <= limit
    assert len(plan.catches) <= len(found.catches) <= (1 + MORE) * len(plan.catches)
    rounds = len(stitches)
    if rounds > 1:
        mine = CatchPlan(found.catches, True, 0, 0)
        assert stacked_columns(mine, rounds, stacked) <= plan.stacked_left
        assert found.beside_left == side_by_side(found.catches, stitches.shape, circular, stacked)
    rows = [(c.round, c.stitch, c.yarn) for c in found.catches]
    assert rows == sorted(set(rows))


@pytest.mark.parametrize("name", ["chelsea", "astronaut", "coffee", "rocket"])
def test_pictures_have_few_side_by_side_and_few_in_lines(name):
    """Against the fewest catches as they are planned first."""
    stitches = photograph(name, 90, 80, 2)
    plan, found = spread(stitches)
    shape = stitches.shape
    assert len(found.catches) <= 1.03 * plan.lower_bound
    before, after = (side_by_side(c, shape) for c in (plan.catches, found.catches))
    assert after <= before / 4
    assert found.beside_left == after
    assert lines(found.catches, shape) <= 0.7 * lines(plan.catches, shape)
    assert spread(stitches) == (plan, found)


def test_a_plain_ground_shows_no_columns():
    ground = np.zeros((60, 64), np.uint8)
    ground[:, :20] = 1
    plan, found = spread(ground)
    assert found.beside_left == 0
    assert not found.remarks
    assert lines(found.catches, ground.shape) < 0.5 * lines(plan.catches, ground.shape)


def test_a_round_that_repeats_is_caught_alike_in_every_repeat():
    unit = np.array([[1] + [0] * 11, [0, 1, 1] + [0] * 9, [1, 0] * 6, [1] * 5 + [0] * 7], np.uint8)
    stitches = np.tile(unit, (5, 6))
    _, found = spread(stitches, limit=3, stacked=True)
    here = held(found.catches, stitches.shape)
    assert here.any()
    assert (here == np.roll(here, 12, axis=1)).all()


def test_what_cannot_be_helped_is_said():
    stitches = chart_of("BAAAAB " * 6)
    _, found = spread(stitches, limit=1)
    assert found.beside_left == side_by_side(found.catches, stitches.shape) > 0
    (remark,) = found.remarks
    places = many(found.beside_left, "place")
    assert f"In {places} two of the {len(found.catches):,} catches" in str(remark)


def test_a_short_row_is_no_circle():
    """Its floats end at its turns, as the rules measure them."""
    rows = ["AAABAAAAAAAAAAAABAAA", "..AAAAAAABAAAAAAAA..", "AAABAAAAAAAAAAAABAAA"]
    chart = Chart(
        chart_of(" ".join(rows)),
        YARNS,
        rules=Rules(float_limit=3),
        rows=(Row(1, 2, 17, True, True),),
    )
    planned, _ = caught(chart)
    measures = Measures.of(planned)
    assert measures.holds.all()
    assert catch_missing(planned, measures) == catch_stacked(planned, measures) == []
    assert {c.round for c in planned.catches} == {0, 1, 2}


def test_nothing_is_caught_behind_a_stitch_made_of_none_where_another_will_do():
    stitches = chart_of("BAAAAAAAB BAAAAAAAB")
    plain, _ = caught(Chart(stitches, YARNS, worked="flat"))
    (first,) = (c.stitch for c in plain.catches if c.round == 1)
    made = Construction((Shaping(1, first, CAST_ON),))
    moved, _ = caught(Chart(stitches, YARNS, worked="flat", construction=made))
    assert first not in {c.stitch for c in moved.catches if c.round == 1}
