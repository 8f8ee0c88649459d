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
Row = NDArray[np.uint8]


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


def _repaired(cost: Floats, per_round: int, limit: int, circular: bool) -> Row:
    """One round: cost [n, K] of its live stitches."""
    counts = np.bincount(cost.argmin(axis=1), minlength=cost.shape[1])
    kept = np.sort(np.argsort(-counts, kind="stable")[:per_round])
    row: Row = kept[cost[:, kept].argmin(axis=1)].astype(np.uint8)
    for _ in range(_PASSES):
        before = row.copy()
        for yarn in np.unique(row).tolist():
            _break_floats(row, yarn, cost[:, yarn] - cost.min(axis=1), limit, circular)
        if np.array_equal(row, before):
            break
    return row


def _break_floats(row: Row, yarn: int, price: Floats, limit: int, circular: bool) -> None:
    """Put stitches of `yarn` into its floats, each the cheapest that can be reached, in place."""
    n = len(row)
    knitted = np.flatnonzero(row == yarn)
    if not knitted.size:
        return
    ends = np.append(knitted[1:], knitted[0] + n if circular else n)
    starts = knitted.tolist()
    if not circular:
        starts, ends = [-1, *starts], np.append(knitted[:1], ends)
    for start, end in zip(starts, ends.tolist(), strict=True):
        while end - start - 1 > limit:
            reach = (np.arange(start + 1, start + limit + 2)) % n
            start += 1 + int(price[reach].argmin())
            row[start % n] = yarn
