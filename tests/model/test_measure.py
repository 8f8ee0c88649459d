"""The measures against a naive reading of their definitions, stitch by stitch."""

from __future__ import annotations

import itertools
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pic2chart.model import measure
from pic2chart.model.chart import NO_STITCH, Catch, Chart, Rules
from pic2chart.model.yarn import Yarn

DEAD = NO_STITCH


@st.composite
def grids(draw, most_yarns=4):
    """Stitch grids with runs, gaps and ragged edges."""
    rounds = draw(st.integers(1, 5))
    width = draw(st.integers(1, 14))
    yarns = draw(st.integers(1, most_yarns))
    pick = st.sampled_from([*range(yarns), *([DEAD] if draw(st.booleans()) else [])])
    cells = draw(st.lists(pick, min_size=rounds * width, max_size=rounds * width))
    return np.array(cells, np.uint8).reshape(rounds, width)


@st.composite
def caught(draw):
    """A grid with catches that hold a yarn, and some that hold nothing."""
    grid = draw(grids())
    places = st.tuples(
        st.integers(0, grid.shape[0] - 1), st.integers(0, grid.shape[1] - 1), st.integers(0, 3)
    )
    return grid, [Catch(*c) for c in draw(st.lists(places, max_size=12))]


def naive_floats(grid, circular, caught=()):
    """Walk every round once per yarn, from each place where the yarn was knitted or caught."""
    found = []
    for r, row in enumerate(grid.tolist()):
        columns = [c for c, y in enumerate(row) if y != DEAD]
        for yarn in sorted({row[c] for c in columns}):
            held = [row[c] == yarn or (r, c, yarn) in caught for c in columns]
            for place in range(len(columns)):
                before = held[place - 1] if (circular or place > 0) else True
                if held[place] or not before:
                    continue
                length = 0
                while not held[(place + length) % len(columns)]:
                    length += 1
                    if not circular and place + length == len(columns):
                        break
                found.append((r, columns[place], place, length, yarn))
    return sorted(found, key=lambda f: (f[0], f[2], f[4]))


def naive_isolated(grid, circular, stacked):
    """Look at the eight neighbours of every stitch."""
    R, N = grid.shape
    alone = np.zeros((R, N), bool)
    for r in range(R):
        columns = [c for c in range(N) if grid[r, c] != DEAD]
        for place, c in enumerate(columns):
            near = []
            for step in (-1, 1):
                other = place + step
                if circular:
                    other %= len(columns)
                if 0 <= other < len(columns) and other != place:
                    near.append(grid[r, columns[other]])
            for up in (-1, 1):
                other = (r + up) % R if stacked else r + up
                for step in (-1, 0, 1):
                    column = (c + step) % N if circular else c + step
                    if 0 <= other < R and 0 <= column < N:
                        near.append(grid[other, column])
            alone[r, c] = all(n != grid[r, c] for n in near)
    return alone


@settings(max_examples=400, deadline=None)
@given(grids(), st.booleans())
def test_floats_match_a_walk_round_every_round(grid, circular):
    assert measure.floats(grid, circular).rows() == naive_floats(grid, circular)


@settings(max_examples=400, deadline=None)
@given(caught(), st.booleans())
def test_stretches_match_a_walk_that_stops_at_catches(case, circular):
    grid, catches = case
    held = {(c.round, c.stitch, c.yarn) for c in catches}
    found = measure.stretches(grid, circular, catches)
    assert found.rows() == naive_floats(grid, circular, held)


@settings(max_examples=400, deadline=None)
@given(grids(), st.booleans(), st.booleans())
def test_isolated_matches_a_look_at_eight_neighbours(grid, circular, stacked):
    expected = naive_isolated(grid, circular, stacked)
    assert np.array_equal(measure.isolated(grid, circular, stacked), expected)


@settings(max_examples=200, deadline=None)
@given(grids())
def test_yarns_per_round_are_the_yarns_seen(grid):
    used = measure.yarns_per_round(grid, 4)
    assert [set(np.flatnonzero(row)) for row in used] == [set(row) - {DEAD} for row in grid]


@settings(max_examples=200, deadline=None)
@given(grids(), st.integers(0, 13))
def test_turning_the_round_keeps_its_floats(grid, turn):
    """Where a round worked in the round begins does not change what floats in it."""
    lengths = [sorted(f[3:]) for f in measure.floats(grid, True).rows()]
    turned = measure.floats(np.roll(grid, turn, axis=1), True).rows()
    assert sorted(lengths) == sorted(sorted(f[3:]) for f in turned)


def test_floats_run_across_the_join_in_the_round_and_stop_at_the_edges_when_flat():
    grid = np.array([[0, 0, 1, 1, 0, 0, 0]], np.uint8)
    assert measure.floats(grid, True).rows() == [(0, 2, 2, 2, 0), (0, 4, 4, 5, 1)]
    assert measure.floats(grid, False).rows() == [(0, 0, 0, 2, 1), (0, 2, 2, 2, 0), (0, 4, 4, 3, 1)]


def test_a_round_of_three_yarns_floats_each_of_them():
    grid = np.array([[0, 1, 2, 0, 1, 2]], np.uint8)
    found = measure.floats(grid, True)
    assert len(found) == 6
    assert set(found.length.tolist()) == {2}


def test_a_round_of_one_colour_has_no_float():
    assert len(measure.floats(np.zeros((3, 9), np.uint8), True)) == 0
    assert len(measure.floats(np.full((3, 9), DEAD, np.uint8), False)) == 0
    assert measure.floats(np.zeros((3, 9), np.uint8), False).longest == 0


def test_gaps_in_a_ragged_round_do_not_lengthen_a_float():
    grid = np.array([[0, DEAD, 1, DEAD, DEAD, 1, 0, DEAD]], np.uint8)
    found = measure.floats(grid, True)
    assert found.rows() == [(0, 2, 1, 2, 0), (0, 6, 3, 2, 1)]
    live = measure.Live.of(grid)
    assert live.columns(0, 3, 2).tolist() == [6, 0]


@given(st.integers(1, 300), st.integers(1, 60))
def test_catches_needed_are_the_fewest_that_keep_the_limit(length, limit):
    """c catches leave length - c stitches in c + 1 stretches, each within the limit."""
    needed = measure.catches_needed(length, limit)
    assert needed == (0 if length <= limit else -(-(length - limit) // (limit + 1)))
    ends = [-1, *measure.catch_offsets(length, limit), length]
    between = [b - a - 1 for a, b in itertools.pairwise(ends)]
    assert len(between) == needed + 1
    assert max(between) <= limit
    assert max(between) - min(between) <= 1


def test_a_catch_that_holds_nothing_does_not_count():
    grid = np.array([[0] * 8 + [1], [0] * 9], np.uint8)
    wild = [Catch(0, 4, 0), Catch(1, 4, 1), Catch(9, 4, 1), Catch(0, -3, 1), Catch(0, 4, 99)]
    assert not measure.catch_holds(grid, measure.catch_array(wild)).any()
    assert measure.stretches(grid, True, wild).longest == 8
    assert measure.stretches(grid, True, [*wild, Catch(0, 4, 1)]).longest == 4


def test_the_report_holds_every_figure():
    grid = np.array([[0] * 8 + [1], [0] * 9], np.uint8)
    yarns = (Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"))
    chart = Chart(grid, yarns, rules=Rules(float_limit=5), catches=(Catch(0, 4, 1),))
    assert measure.Measures.of(chart).to_dict() == {
        "stitches": 18,
        "most_yarns_in_a_round": 2,
        "floats": 2,
        "longest_float": 8,
        "floats_over_limit": 1,
        "catches": 1,
        "longest_uncaught": 4,
        "uncaught_over_limit": 0,
        "isolated_stitches": 1,
    }


@pytest.mark.parametrize("circular", [True, False])
def test_a_large_chart_is_measured_in_a_blink(circular):
    grid = np.random.default_rng(0).integers(0, 2, (120, 160)).astype(np.uint8)
    start = time.perf_counter()
    measure.floats(grid, circular)
    measure.isolated(grid, circular, True)
    assert time.perf_counter() - start < 0.5
