"""The bound against exact optima: dynamic programming over whole rows on hundreds of small charts."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import combinations, product

import numpy as np
import pytest

from pic2chart.model import measure
from pic2chart.solve.bound import prove
from pic2chart.solve.problem import NOT_ALLOWED, Prices, Problem, energy_of
from pic2chart.solve.solver import solve

CASES = 300


@lru_cache
def rows_of(width, yarns):
    """Every row of that many stitches, uint8 [M, width]."""
    return np.array(list(product(range(yarns), repeat=width)), np.uint8)


@lru_cache
def isolated_in(width, yarns, circular, below, above):
    """Isolated stitches [M, M, M] of the middle one of three rows (below, here, above); M or 1 each."""
    rows = rows_of(width, yarns)
    table = np.zeros((len(rows) if below else 1, len(rows), len(rows) if above else 1))
    for at in np.ndindex(table.shape):
        parts = [rows[[at[0]]]] if below else []
        parts += [rows[[at[1]]]] + ([rows[[at[2]]]] if above else [])
        lone = measure.isolated(np.concatenate(parts), circular, False)
        table[at] = lone[1 if below else 0].sum()
    return table


def a_problem(seed):
    """A small whole chart of any kind: K yarns, some stitches fixed, with or without a form."""
    rng = np.random.default_rng(seed)
    yarns = int(rng.integers(2, 4))
    width = int(rng.integers(3, 6)) if yarns == 2 else 3
    rounds = int(rng.integers(1, 6))
    shape = rounds, width
    cost = rng.integers(0, 12, (*shape, yarns)).astype(float)
    for r, c in np.argwhere(rng.random(shape) < rng.choice([0, 0.1])):
        cost[r, c, np.arange(yarns) != rng.integers(yarns)] = NOT_ALLOWED
    pair = np.triu(rng.integers(0, 5, (yarns, yarns)), 1).astype(float)
    prices = Prices(*(float(rng.integers(0, most)) for most in (12, 6, 5, 5)), pair + pair.T)
    if rng.random() < 0.5:
        prices = replace(prices, hold=hold_prices(rng, rounds, yarns))
    weights = rng.integers(0, 6, (2, *shape)).astype(float)
    return Problem(
        cost, np.ones(shape, bool), *weights, int(rng.integers(1, 4)), int(rng.integers(1, 4)),
        bool(rng.random() < 0.4), bool(rng.random() < 0.6), False, prices,
        rng.integers(-4, 5, shape).astype(float) if rng.random() < 0.5 else None,
        rng.permutation(yarns).astype(float),
    )  # fmt: skip


def hold_prices(rng, rounds, yarns):
    """Prices of two yarns in hand together, other ones in every round."""
    upper = np.triu(rng.integers(0, 9, (rounds, yarns, yarns)), 1).astype(float)
    return upper + upper.transpose(0, 2, 1)


def one_round(p, r):
    """Round r as a problem of its own, isolated stitches free."""
    form = None if p.form is None else p.form[[r]]
    prices = Prices(0.0, p.prices.catch, p.prices.third, 0.0, p.prices.pair)
    return Problem(
        p.cost[[r]], p.live[[r]], p.weight_h[[r]], p.weight_v[[r]], p.per_round, p.float_limit,
        p.breaking, p.circular, False, prices, form, p.light,
    )  # fmt: skip


def row_costs(p, r, rows):
    """Energy of every row at round r by itself, inf where a rule forbids it."""
    out, single = np.full(len(rows), np.inf), one_round(p, r)
    for i, row in enumerate(rows):
        long = p.breaking and measure.floats(row[None], p.circular).longest > p.float_limit
        fixed = (p.cost[r, np.arange(len(row)), row] < NOT_ALLOWED).all()
        if len(set(row.tolist())) <= p.per_round and fixed and not long:
            out[i] = energy_of(single, row[None])
    return out


def optimum(p):
    """The least energy of any chart, by dynamic programming over (yarns in hand, row below, row)."""
    rounds, width, yarns = p.cost.shape
    rows = rows_of(width, yarns)
    most = min(p.per_round, yarns)
    carried = [sum(1 << k for k in s) for s in combinations(range(yarns), most)]
    used = np.array([sum(1 << k for k in set(row.tolist())) for row in rows])
    outside = np.array([np.where(used & ~h, np.inf, 0.0) for h in carried])
    held = np.zeros((rounds, len(carried), 1))
    if p.prices.hold is not None:
        for at, chosen in enumerate(combinations(range(yarns), most)):
            held[:, at, 0] = sum(p.prices.hold[:, a, b] for a, b in combinations(chosen, 2))
    taken = np.array([[(b & ~a).bit_count() for b in carried] for a in carried]) * p.prices.join
    total = (row_costs(p, 0, rows) + outside + held[0])[:, None, :]
    for r in range(1, rounds):
        lone = isolated_in(width, yarns, p.circular, r > 1, True) * p.prices.isolated
        differ = (rows[:, None] != rows) @ p.weight_v[r - 1]
        carried = (total[:, None] + taken[:, :, None, None]).min(axis=0)
        step = (carried[..., None] + lone).min(axis=1) + differ
        total = step + (row_costs(p, r, rows) + outside + held[r])[:, None, :]
    last = isolated_in(width, yarns, p.circular, rounds > 1, False)[..., 0] * p.prices.isolated
    return float((total + last).min())


@pytest.mark.slow
def test_the_bound_is_never_above_the_optimum_and_mostly_meets_it():
    met = steps = better = 0
    for seed in range(CASES):
        problem = a_problem(seed)
        first = solve(problem)
        if first.blocked:
            continue
        least = optimum(problem)
        proof = prove(problem, first, lambda proof: proof.gap > 1e-9, most=60)
        assert proof.bound <= least + 1e-6, seed
        assert least - 1e-6 <= proof.solution.energy <= first.energy + 1e-9, seed
        solution = proof.solution
        assert solution.energy == pytest.approx(
            energy_of(problem, solution.stitches, solution.carried)
        )
        met += proof.gap < 1e-2
        better += proof.solution.energy < first.energy - 1e-9
        steps += proof.steps
    print(f"{met} of {CASES} proved to 1 %, {better} bettered, {steps / CASES:.0f} steps")
    assert met > CASES / 2
