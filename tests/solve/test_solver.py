"""The solver against brute force of its round step, and the rules it must never break."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pic2chart.model import measure
from pic2chart.solve.problem import NOT_ALLOWED, Prices, Problem, energy_of
from pic2chart.solve.solver import solve
from tests.helpers.problems import a_problem, a_small_problem, chance

DEAD, SEEDS = 255, st.integers(0, 2**32 - 1)


def allowed(problem, stitches):
    """Whether every hard rule holds, by the measures the checks use."""
    used = measure.yarns_per_round(stitches, problem.cost.shape[2]).sum(axis=1)
    longest = measure.floats(stitches, problem.circular).longest
    return bool(
        (used <= problem.per_round).all()
        and ((stitches == DEAD) == ~problem.live).all()
        and holds_fixed(problem, stitches)
        and not (problem.breaking and longest > problem.float_limit)
    )


def holds_fixed(problem, stitches):
    index = np.where(problem.live, stitches, 0).astype(int)
    paid = np.take_along_axis(problem.cost, index[..., None], 2)[..., 0]
    return bool((paid[problem.live] < NOT_ALLOWED).all())


def yarns_in_hand(problem):
    yarns = problem.cost.shape[2]
    most = min(problem.per_round, yarns)
    return [sum(1 << k for k in chosen) for chosen in combinations(range(yarns), most)]


def joins(problem, carried):
    """Price of the yarns in hand, and of those taken up (from the last round to the first: stacked)."""
    after = [*carried[1:], carried[0]] if problem.stacked and len(carried) >= 3 else carried[1:]
    held, yarns = 0.0, range(problem.cost.shape[2])
    if problem.prices.hold is not None:
        for r, hand in enumerate(carried):
            pairs = combinations([k for k in yarns if hand >> k & 1], 2)
            held += sum(problem.prices.hold[r, a, b] for a, b in pairs)
    return held + problem.prices.join * sum(
        int(b & ~a).bit_count() for a, b in zip(carried, after, strict=False)
    )


def every_row(problem, r):
    """Every choice of yarns for the live stitches of round r that uses few enough and fixed ones."""
    columns = np.flatnonzero(problem.live[r])
    choices = [np.flatnonzero(problem.cost[r, c] < NOT_ALLOWED).tolist() for c in columns]
    for row in product(*choices):
        if len(set(row)) <= problem.per_round:
            yield columns, row


def best_round_step(problem, stitches, carried, r):
    """The least energy that any row r and any yarns in hand there can give, all else unchanged."""
    sets = yarns_in_hand(problem)
    price = [joins(problem, [*carried[:r].tolist(), s, *carried[r + 1 :].tolist()]) for s in sets]
    best, trial = np.inf, stitches.copy()
    for columns, row in every_row(problem, r):
        trial[r, columns] = row
        used = sum(1 << k for k in set(row))
        if problem.breaking:
            lone = measure.floats(trial[r : r + 1], problem.circular)
            if lone.longest > problem.float_limit:
                continue
        carried = min(p for s, p in zip(sets, price, strict=True) if not used & ~s)
        best = min(best, energy_of(problem, trial) + carried)
    return best


@settings(max_examples=60, derandomize=True, deadline=None)
@given(SEEDS)
@example(100257)  # the yarns in hand must settle too, not only the stitches
def test_no_round_step_betters_the_solution(seed):
    problem = a_small_problem(seed)
    solution = solve(problem)
    for r in {0, len(solution.stitches) // 2} - set(solution.blocked):
        best = best_round_step(problem, solution.stitches, solution.carried, r)
        assert solution.energy == pytest.approx(best, abs=1e-6)


@settings(max_examples=60, derandomize=True, deadline=None)
@given(SEEDS)
def test_a_single_round_is_solved_to_the_optimum(seed):
    rng = np.random.default_rng(seed)
    problem = a_problem(
        rng, 1, int(rng.integers(1, 8)), 3, ragged=0.1, per_round=int(rng.integers(1, 4)),
        float_limit=int(rng.integers(1, 5)), breaking=chance(rng), circular=chance(rng),
        stacked=chance(rng),
    )  # fmt: skip
    solution = solve(problem)
    assert not solution.blocked
    best = best_round_step(problem, solution.stitches, solution.carried, 0)
    assert solution.energy == pytest.approx(best, abs=1e-6)


@settings(max_examples=150, derandomize=True, deadline=None)
@given(SEEDS)
def test_the_hard_rules_hold(seed):
    rng = np.random.default_rng(seed)
    problem = a_problem(
        rng, int(rng.integers(1, 9)), int(rng.integers(1, 25)), int(rng.integers(2, 6)),
        ragged=0.1, per_round=int(rng.integers(1, 4)), float_limit=int(rng.integers(1, 9)),
        breaking=chance(rng), circular=chance(rng), stacked=chance(rng),
    )  # fmt: skip
    solution = solve(problem)
    assert not solution.blocked
    assert allowed(problem, solution.stitches)
    assert solution.energy == energy_of(problem, solution.stitches, solution.carried)
    for row, hand in zip(solution.stitches, solution.carried.tolist(), strict=True):
        assert all(hand >> k & 1 for k in set(row.tolist()) - {DEAD})
        assert hand in yarns_in_hand(problem)


@settings(max_examples=40, derandomize=True, deadline=None)
@given(SEEDS)
def test_solving_again_changes_nothing(seed):
    """A second run gives the same bytes; started from its own solution the solver stays there."""
    problem = a_small_problem(seed)
    once, twice = solve(problem), solve(problem)
    assert once.stitches.tobytes() == twice.stitches.tobytes()
    assert once.carried.tobytes() == twice.carried.tobytes()
    assert (once.energy, once.blocked, once.sweeps) == (twice.energy, twice.blocked, twice.sweeps)
    after = solve(problem, start=once.stitches)
    assert after.energy <= once.energy + 1e-9
    if after.energy > once.energy - 1e-9:
        assert np.array_equal(after.stitches, once.stitches)


def test_progress_never_falls():
    seen: list[float] = []
    solve(a_small_problem(3), progress=seen.append)
    assert seen == sorted(seen)
    assert all(0 < part < 1 for part in seen)


@pytest.mark.parametrize("rounds", [1, 2])
def test_one_or_two_rounds_repeating_upwards_are_measured_as_the_checks_do(rounds):
    """One round alone lies above itself, so none of its stitches is isolated; two are each other's."""
    for seed in range(20):
        rng = np.random.default_rng(seed)
        problem = a_problem(rng, rounds, 6, 2, float_limit=3, stacked=True)
        bare = Problem(
            problem.cost, problem.live, problem.weight_h, problem.weight_v, float_limit=3,
            stacked=True, prices=Prices(0, problem.prices.catch, 0, problem.prices.join),
        )  # fmt: skip
        solution = solve(problem)
        alone = measure.isolated(solution.stitches, True, True).sum()
        extra = solution.energy - energy_of(bare, solution.stitches, solution.carried)
        assert extra == pytest.approx(problem.prices.isolated * alone)
        assert rounds > 1 or alone == 0
        best = best_round_step(problem, solution.stitches, solution.carried, 0)
        assert solution.energy == pytest.approx(best, abs=1e-6)


@pytest.mark.parametrize("circular", [True, False])
def test_fixed_stitches_that_force_a_long_float(circular):
    """The round is named, the fixed stitches stay, and no more catches are needed than must be."""
    for seed in range(12):
        rng = np.random.default_rng(seed)
        problem = a_problem(
            rng, 3, 9, 2, ragged=0.05, float_limit=2, breaking=True, circular=circular
        )
        problem.live[1] = True
        problem.cost[1, 2:7] = [NOT_ALLOWED, 0.0]
        problem.cost[1, 0] = [0.0, NOT_ALLOWED]
        solution = solve(problem)
        assert solution.blocked == (1,)
        assert holds_fixed(problem, solution.stitches)
        assert measure.floats(np.delete(solution.stitches, 1, 0), circular).longest <= 2
        assert excess(solution.stitches[1:2], circular) == min(
            excess(np.array([row], np.uint8), circular) for _, row in every_row(problem, 1)
        )


def excess(stitches, circular, limit=2):
    return int((measure.floats(stitches, circular).length // (limit + 1)).sum())


@pytest.mark.parametrize("breaking", [True, False])
def test_fixed_stitches_of_too_many_yarns(breaking):
    """The round is named and its free stitches keep to the yarns that are there already."""
    for seed in range(12):
        rng = np.random.default_rng(seed)
        problem = a_problem(rng, 3, 12, 5, float_limit=3, breaking=breaking)
        for column, yarn in ((1, 0), (5, 2), (6, 4)):
            problem.cost[1, column] = np.where(np.arange(5) == yarn, 0.0, NOT_ALLOWED)
        solution = solve(problem)
        assert solution.blocked == (1,)
        assert holds_fixed(problem, solution.stitches)
        assert set(solution.stitches[1].tolist()) == {0, 2, 4}
        others = np.delete(solution.stitches, 1, 0)
        assert measure.yarns_per_round(others, 5).sum(axis=1).max() <= 2
        assert not breaking or measure.floats(others, True).longest <= 3
