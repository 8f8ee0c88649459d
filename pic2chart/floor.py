"""The floor: what repairing a chart greedily, one fault after another, would come to.

It stands beside a chart's likeness so that one sees what the solver is worth: every stitch takes its
nearest yarn, each round keeps the yarns most of its stitches have, and every float over the limit is
broken where that costs least at the moment. Nothing looks ahead, and nothing looks at other rounds.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import NO_STITCH

_PASSES = 5
"""A stitch put in for one of three yarns may lengthen the float of another; then all are seen again."""

Floats = NDArray[np.float64]


def greedy_chart(
    cost: Floats, live: NDArray[np.bool_], per_round: int, limit: int, circular: bool
) -> NDArray[np.uint8]:
    """The repaired chart uint8 [R, N]; cost float [R, N, K], `limit` in stitches."""
    stitches = np.full(live.shape, NO_STITCH, np.uint8)
    for r, row in enumerate(live):
        columns = np.flatnonzero(row)
        if columns.size:
            stitches[r, columns] = _repaired(cost[r, columns], per_round, limit, circular)
    return stitches


def _repaired(cost: Floats, per_round: int, limit: int, circular: bool) -> list[int]:
    """One round: cost [n, K] of its live stitches. In plain numbers, which are quicker for so few."""
    counts = np.bincount(cost.argmin(axis=1), minlength=cost.shape[1])
    kept = np.sort(np.argsort(-counts, kind="stable")[:per_round])
    row: list[int] = kept[cost[:, kept].argmin(axis=1)].tolist()
    prices = (cost - cost.min(axis=1, keepdims=True)).T.tolist()
    for _ in range(_PASSES):
        before = row.copy()
        for yarn in sorted(set(row)):
            _break_floats(row, yarn, prices[yarn], limit, circular)
        if row == before:
            break
    return row


def _break_floats(
    row: list[int], yarn: int, price: list[float], limit: int, circular: bool
) -> None:
    """Put stitches of `yarn` into its floats, each the cheapest that can be reached, in place."""
    n = len(row)
    starts = [place for place, knitted in enumerate(row) if knitted == yarn]
    if not starts:
        return
    ends = [*starts[1:], starts[0] + n if circular else n]
    if not circular:
        starts, ends = [-1, *starts], [starts[0], *ends]
    for start, end in zip(starts, ends, strict=True):
        while end - start - 1 > limit:
            reach = range(start + 1, start + limit + 2)
            start = min(reach, key=lambda place: price[place % n])
            row[start % n] = yarn
