"""Random problems for the solver and random charts for the catch plan, small and of every kind."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pic2chart.solve.problem import NOT_ALLOWED, Prices, Problem


def chance(rng, likely=0.5):
    return bool(rng.random() < likely)


def a_problem(rng, rounds, width, yarns, fixed=0.0, ragged=0.0, form=False, **law):
    """Random integer costs, weights and prices, some squares dead, some stitches fixed."""
    cost = rng.integers(0, 20, (rounds, width, yarns)).astype(float)
    for r, c in np.argwhere(rng.random((rounds, width)) < fixed):
        cost[r, c, np.arange(yarns) != rng.integers(yarns)] = NOT_ALLOWED
    live = rng.random((rounds, width)) >= ragged
    live[~live.any(axis=1), rng.integers(width)] = True
    prices = Prices(*(float(rng.integers(0, most)) for most in (12, 10, 5, 5)))
    weights = rng.integers(0, 6, (2, rounds, width)).astype(float)
    if form:
        pair = np.triu(rng.integers(0, 30, (yarns, yarns)), 1).astype(float)
        prices = replace(prices, pair=pair + pair.T)
        hold = np.triu(rng.integers(0, 30, (rounds, yarns, yarns)), 1).astype(float)
        prices = replace(prices, hold=hold + hold.transpose(0, 2, 1))
        law["form"] = 2.0 * rng.integers(-6, 7, (rounds, width))
        law["light"] = rng.permutation(yarns).astype(float)
    return Problem(cost, live, *weights, prices=prices, **law)


def a_small_problem(seed, per_round=None):
    """A problem of a size whose round step brute force can do, of every kind."""
    rng = np.random.default_rng(seed)
    yarns = int(rng.integers(2, 5))
    return a_problem(
        rng,
        rounds=int(rng.integers(1, 6)),
        width=int(rng.integers(1, 9 if yarns < 3 else 7 if yarns < 4 else 6)),
        yarns=yarns,
        fixed=0.12 if chance(rng) else 0.0,
        ragged=0.15 if chance(rng) else 0.0,
        form=chance(rng, 0.3),
        per_round=per_round or int(rng.integers(1, 4)),
        float_limit=int(rng.integers(1, 5)),
        breaking=chance(rng),
        circular=chance(rng),
        stacked=chance(rng),
    )


def random_chart(rng: np.random.Generator, yarns: int, ragged: bool) -> np.ndarray:
    """Long runs, rounds much like the one below, so that floats lie above each other."""
    rounds, width = int(rng.integers(1, 7)), int(rng.integers(4, 19))
    row = np.repeat(rng.integers(0, yarns, width), rng.integers(1, 9, width))[:width]
    out = np.empty((rounds, width), np.uint8)
    for r in range(rounds):
        if rng.random() < 0.3:
            row = np.repeat(rng.integers(0, yarns, width), rng.integers(1, 9, width))[:width]
        elif rng.random() < 0.5:
            row = np.roll(row, int(rng.integers(-1, 2)))
        out[r] = row
        if ragged:
            out[r, rng.random(width) < 0.2] = 255
    out[0, 0] = row[0]
    return out
