"""The compiled steps of the catch plan: find floats and place their catches.

A float of n stitches has places 1…n; 0 and n + 1 are the stitches of its own yarn on either side
(or the edge, worked flat). Every step from one catch to the next is at most limit + 1 places. The
places of all floats lie one float after another in flat arrays; a float's begin at its offset.

A float is placed exactly, by dynamic programming over its places, given the catches of all other
floats. Costs are two 64-bit words compared in turn, each holding several counts side by side: up
to 1000 stitches a round (MAX_SIDE) no count can reach the unit of the one before it, so the order
of the requirements is strict.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from pic2chart.model.chart import NO_STITCH

# First word: stacked, catches, two yarns caught behind one stitch, beside a colour change.
STACKED = 1 << 42
CATCH = 1 << 28
DOUBLED = 1 << 14
BESIDE = 1
# Second word: beside a neighbour's catch, how much shows, uneven spread (gaps squared).
NEAR = 1 << 48
SHOW = 1 << 26
FAR = 1 << 62


@njit(
    "Tuple((int32[:,::1], int32[:,::1], int32[::1]))(uint8[:,::1], boolean[::1], int64)",
    cache=True,
    nogil=True,
)
def find_floats(stitches, circular, longer_than):  # type: ignore[no-untyped-def]
    """Floats of more than `longer_than` stitches, ordered by round, yarn and place.

    Returns int32 [floats, 5] (round, yarn, first live stitch, stitches, ends beside a stitch of its
    yarn: 1 the first, 2 the last, 3 both, less at the edges of flat work), the columns of the live
    stitches, int32 [R, N], and how many there are in each round, int32 [R].
    """
    R, N = stitches.shape
    columns = np.zeros((R, N), np.int32)
    live = np.zeros(R, np.int32)
    found = 0
    for turn in range(2):  # they are counted first: arrays that grow take long to compile
        out = np.empty((found, 5), np.int32)
        found = 0
        for r in range(R):
            used = np.zeros(256, np.int32)
            m = 0
            for c in range(N):
                if stitches[r, c] != NO_STITCH:
                    columns[r, m] = c
                    used[stitches[r, c]] += 1
                    m += 1
            live[r] = m
            for yarn in range(NO_STITCH):
                if used[yarn] == 0 or used[yarn] == m:
                    continue
                first = 0
                while circular[r] and stitches[r, columns[r, first]] != yarn:
                    first += 1
                run = 0
                for i in range(m + 1):
                    if i < m and stitches[r, columns[r, (first + i) % m]] != yarn:
                        run += 1
                        continue
                    if run > longer_than:
                        if turn == 1:
                            out[found, 0] = r
                            out[found, 1] = yarn
                            out[found, 2] = (first + i - run) % m
                            out[found, 3] = run
                            out[found, 4] = (circular[r] or i > run) + 2 * (circular[r] or i < m)
                        found += 1
                    run = 0
    return out, columns, live


@njit(
    "void(int32[::1], int32[::1], uint8[:,::1], int64[:,::1], boolean[::1], boolean, int64[:,::1],"
    " int64[::1], uint8[:,::1], int64[:,::1])",
    cache=True,
)
def _price_places(  # type: ignore[no-untyped-def]
    a_float, columns, stitches, show, circular, stacked, price, toll, held, cost
):
    """Write into `cost` int64 [2, places + 2] what a catch at each place of one float costs."""
    R, N = held.shape
    r = a_float[0]
    n = a_float[3]
    for p in range(1, n + 1):
        c = columns[p - 1]
        doubled = held[r, c] > 0
        high = CATCH + toll[p - 1]
        low = SHOW * show[stitches[r, c], a_float[1]]
        if doubled:
            high += DOUBLED
        if (p == 1 and a_float[4] & 1) or (p == n and a_float[4] & 2):
            high += BESIDE
        for step in (-1, 1):
            other = r + step
            if (other < 0 or other == R) and not stacked:
                continue
            other %= R
            if held[other, c] > 0 and not doubled:
                high += price[other if step < 0 else r, c]
            if (c > 0 or circular[other]) and held[other, (c + N - 1) % N] > 0:
                low += NEAR
            if (c < N - 1 or circular[other]) and held[other, (c + 1) % N] > 0:
                low += NEAR
        cost[0, p] = high
        cost[1, p] = low
    cost[0, n + 1] = 0
    cost[1, n + 1] = 0


@njit("boolean(int64, int64, int64[:,::1], int64[:,::1], uint8[::1])", cache=True)
def _place_float(n, limit, cost, total, caught):  # type: ignore[no-untyped-def]
    """Give one float its cheapest catches, if they are cheaper than those it has: then True."""
    came = np.zeros(n + 2, np.int64)
    for p in range(1, n + 2):
        best = FAR
        best_low = FAR
        for q in range(max(0, p - limit - 1), p):
            low = total[1, q] + (p - q - 1) ** 2
            if total[0, q] < best or (total[0, q] == best and low < best_low):
                best = total[0, q]
                best_low = low
                came[p] = q
        total[0, p] = best + cost[0, p]
        total[1, p] = best_low + cost[1, p]
    high = 0
    low = 0
    before = 0
    for p in range(1, n + 2):
        if p > n or caught[p - 1]:
            high += cost[0, p]
            low += cost[1, p] + (p - before - 1) ** 2
            if p - before - 1 > limit:
                high = FAR
                break
            before = p
    if total[0, n + 1] > high or (total[0, n + 1] == high and total[1, n + 1] >= low):
        return False
    for p in range(n):
        caught[p] = 0
    p = came[n + 1]
    while p > 0:
        caught[p - 1] = 1
        p = came[p]
    return True


@njit(
    "int64(int32[:,::1], int32[::1], int32[::1], uint8[:,::1], int64[:,::1], int64, boolean[::1],"
    " boolean, int32[::1], int64[:,::1], int64[::1], uint8[::1], uint8[:,::1], int64)",
    cache=True,
    nogil=True,
)
def place_catches(  # type: ignore[no-untyped-def]
    floats, offsets, places, stitches, show, limit, circular, stacked, order, price, toll,
    caught, held, sweeps,
):  # fmt: skip
    """Place every float of `order` given all others, again and again until nothing gets better.

    `price` int64 [R, N]: cost of catches on a column in both this round and the next (STACKED, or
    less while they are being driven apart); `toll` int64 [places]: added cost of a catch.
    `caught` uint8 [places]: whether there is a catch, and `held` uint8 [R, N]: how many yarns are
    caught behind each stitch, are changed. Returns the sweeps made.
    """
    size = 2
    for f in order:
        size = max(size, floats[f, 3] + 2)
    cost = np.zeros((2, size), np.int64)
    total = np.zeros((2, size), np.int64)
    R = held.shape[0]
    changed_at = np.zeros(R, np.int64)
    seen_at = np.zeros(floats.shape[0], np.int64)
    turn = 0
    for sweep in range(sweeps):
        changed = False
        for f in order:
            r = floats[f, 0]
            turn += 1
            is_stale = False  # has anything that it sees changed since it was placed?
            for other in range(r - 1, r + 2):
                if stacked or 0 <= other < R:
                    is_stale |= changed_at[other % R] >= seen_at[f]
            if not is_stale:
                continue
            seen_at[f] = turn + 1
            start = offsets[f]
            end = start + floats[f, 3]
            for i in range(start, end):
                held[r, places[i]] -= caught[i]
            _price_places(
                floats[f], places[start:end], stitches, show, circular, stacked, price,
                toll[start:end], held, cost,
            )  # fmt: skip
            if _place_float(end - start, limit, cost, total, caught[start:end]):
                changed = True
                changed_at[r] = turn
            for i in range(start, end):
                held[r, places[i]] += caught[i]
        if not changed:
            return sweep + 1
    return sweeps
