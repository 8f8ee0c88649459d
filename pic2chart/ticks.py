"""Ticks: single stitches in staggered rows, where long floats are broken.

An old way to fill a plain ground (common practice). Spread so evenly they melt together at a distance,
and the picture stands out; put wherever they cost least at the moment they run into lines and blotches.
They are wanted only behind floats that would be too long without them: anywhere else they would cut
up the drawing.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import NO_STITCH
from pic2chart.rules import measure
from pic2chart.solve.problem import NOT_ALLOWED, Problem

TICK = 0.1
"""Price of a wrong stitch at a tick's place against the usual one."""
STEP = 2
"""Stitches by which each row of ticks is set off from the one below."""
SPARE = 2
"""Stitches a float may be over the limit before ticks are wanted: a shorter one is broken once, where
the drawing has the best place for it."""

Bools = NDArray[np.bool_]
Stitches = NDArray[np.uint8]


def tick_places(stitches: Stitches, limit: int, circular: bool) -> Bools:
    """Where ticks may stand in a chart: one stitch in every limit + 1 of floats well over it; [R, N]."""
    rounds, along = np.indices(stitches.shape)
    rows = (along + (STEP if limit >= 3 else 1) * rounds) % (limit + 1) == 0
    return np.asarray(rows & _behind_long_floats(stitches, limit + SPARE, circular))


def _behind_long_floats(stitches: Stitches, limit: int, circular: bool) -> Bools:
    """Bool [R, N]: a float over `limit` stitches runs behind that stitch."""
    columns = [np.flatnonzero(row != NO_STITCH) for row in stitches]
    behind = np.zeros(stitches.shape, bool)
    for r, _, place, length, _ in measure.floats(stitches, circular).over(limit).rows():
        live = columns[r]
        behind[r, live[(place + np.arange(length)) % len(live)]] = True
    return behind


def with_ticks(problem: Problem) -> Problem:
    """The problem with stitches cheap at the places of ticks, where long floats are broken.

    Those places are found by solving it first with its long floats left as they are.
    """
    if not problem.breaking:
        return problem
    from pic2chart.solve.solver import solve

    loose = solve(replace(problem, breaking=False)).stitches
    ticks = tick_places(loose, problem.float_limit, problem.circular)
    price = np.where(ticks, TICK, 1.0)
    cost = np.where(problem.cost < NOT_ALLOWED, problem.cost * price[..., None], problem.cost)
    form = None if problem.form is None else problem.form * price
    return replace(problem, cost=np.ascontiguousarray(cost), form=form)
