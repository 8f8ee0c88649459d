"""Ticks: single stitches in staggered rows, where long floats are broken.

An old way to fill a plain ground (common practice). Spread so evenly they melt together at a distance,
and the picture stands out; put wherever they cost least at the moment they run into lines and blotches.
They are wanted only in floats that would be far too long without them: anywhere else they would cut
up the drawing.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import NO_STITCH
from pic2chart.rules import measure
from pic2chart.solve.problem import NOT_ALLOWED, Problem

TICK = 0.05
"""Price of a wrong stitch at a tick's place against the usual one, in the longest floats."""
LONG = 3
"""Such floats come to so many times the limit; in one barely over it ticks cost the usual price, since
it is broken once, where the drawing has the best place for it."""
STEP = 2
"""Stitches by which each row of ticks is set off from the one below."""

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Stitches = NDArray[np.uint8]


def tick_places(stitches: Stitches, limit: int, circular: bool) -> Bools:
    """Where a chart gets ticks, by and large: one stitch in limit + 1 of its long floats; [R, N]."""
    return tick_prices(stitches, limit, circular) < 0.5


def tick_prices(stitches: Stitches, limit: int, circular: bool) -> Floats:
    """Price of a wrong stitch against the usual one, float64 [R, N]: less at the places of ticks."""
    rounds, along = np.indices(stitches.shape)
    rows = (along + (STEP if limit >= 3 else 1) * rounds) % (limit + 1) == 0
    columns = [np.flatnonzero(row != NO_STITCH) for row in stitches]
    prices = np.ones(stitches.shape)
    for r, _, place, length, _ in measure.floats(stitches, circular).over(limit).rows():
        behind = columns[r][(place + np.arange(length)) % len(columns[r])]
        how_long = min((length - limit) / ((LONG - 1) * limit), 1.0)
        prices[r, behind] = np.minimum(prices[r, behind], TICK**how_long)
    return np.where(rows, prices, 1.0)


def with_ticks(problem: Problem) -> Problem:
    """The problem with stitches cheap at the places of ticks, where long floats are broken.

    Those places are found by solving it first with its long floats left as they are.
    """
    if not problem.breaking:
        return problem
    from pic2chart.solve.solver import solve

    loose = solve(replace(problem, breaking=False)).stitches
    price = tick_prices(loose, problem.float_limit, problem.circular)
    cost = np.where(problem.cost < NOT_ALLOWED, problem.cost * price[..., None], problem.cost)
    form = None if problem.form is None else problem.form * price
    return replace(problem, cost=np.ascontiguousarray(cost), form=form)
