"""The baseline: what repairing a chart greedily, one fault after another, would come to.

It stands beside a chart's likeness so that one sees what the solver is worth: every stitch takes its
nearest yarn, each round keeps the yarns most of its stitches have, and every float over the limit is
broken where that costs least at the moment. Nothing looks ahead, and nothing looks at other rounds.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.design.canvas import least, nearest
from pic2chart.model.chart import NO_STITCH
from pic2chart.solve.native import Bytes1, Bytes2, Floats3, Ints1, kernel

_PASSES = 5
"""A stitch put in for one of three yarns may lengthen the float of another; then all are seen again."""

Floats = NDArray[np.float64]


def greedy_chart(
    cost: Floats, live: NDArray[np.bool_], per_round: int, limit: int, circular: bool
) -> NDArray[np.uint8]:
    """The repaired chart uint8 [R, N]; cost float [R, N, K], `limit` in stitches."""
    counts = live.sum(axis=1).astype(np.int64)
    places = np.arange(live.shape[1]) < counts[:, None]
    prices = np.zeros(cost.shape)
    prices[places] = cost[live]
    rows = _nearest(prices, places, per_round)
    prices -= least(prices)[..., None]
    repair(rows, counts, prices, limit, circular, np.zeros(cost.shape[2], np.uint8))
    stitches = np.full(live.shape, NO_STITCH, np.uint8)
    stitches[live] = rows[places]
    return stitches


def _nearest(cost: Floats, places: NDArray[np.bool_], per_round: int) -> NDArray[np.uint8]:
    """The yarns of each round, [R, N] from cost [R, N, K] at its `places`: the nearest of those that most
    stitches have.
    """
    rounds, _, yarns = cost.shape
    own = nearest(cost, places)
    if yarns <= per_round:
        return own
    counts = np.stack([(own == k).sum(axis=1) for k in range(yarns)], axis=1)
    kept = np.argsort(-counts, axis=1, kind="stable")[:, :per_round]
    held = np.zeros((rounds, yarns), bool)
    held[np.arange(rounds)[:, None], kept] = True
    return nearest(np.where(held[:, None], cost, np.inf), np.ones_like(places))


@kernel
def repair(
    rows: Bytes2, counts: Ints1, prices: Floats3, limit: int, circular: bool, used: Bytes1
) -> int:
    """Break the floats of every round; returns the stitches put in.

    `rows` [R, N], changed, and `prices` [R, N, K] hold each round's `counts` live stitches from their
    first place on. `used` [K]: room.
    """
    changes = 0
    for r in range(counts.shape[0]):
        for _ in range(_PASSES):
            before = changes
            for yarn in range(used.shape[0]):
                used[yarn] = 0
            for place in range(counts[r]):
                used[rows[r, place]] = 1
            for yarn in range(used.shape[0]):
                if used[yarn]:
                    changes += _break_floats(rows, prices, r, counts[r], yarn, limit, circular)
            if changes == before:
                break
    return changes


def _break_floats(
    rows: Bytes2, prices: Floats3, r: int, n: int, yarn: int, limit: int, circular: bool
) -> int:
    """Put stitches of `yarn` into its floats, each the cheapest that can be reached."""
    first = 0
    while first < n and rows[r, first] != yarn:
        first += 1
    if first == n:
        return 0
    changes = 0
    start = first if circular else -1
    end = first + n if circular else n  # a float may pass the end of the round
    for place in range(start + 1, end + 1):
        if place < end and (place >= n or rows[r, place] != yarn):
            continue
        while place - start - 1 > limit:
            best = start + 1
            for other in range(start + 2, start + limit + 2):
                if prices[r, other % n, yarn] < prices[r, best % n, yarn]:
                    best = other
            rows[r, best % n] = yarn
            changes += 1
            start = best
        start = place
    return changes
