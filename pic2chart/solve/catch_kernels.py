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

from pic2chart.model.chart import NO_STITCH
from pic2chart.solve.native import Bytes1, Bytes2, Ints1, Ints2, Shorts1, Shorts2, Truths1, kernel

# First word: stacked, catches, two yarns caught behind one stitch, beside a colour change.
STACKED = 1 << 42
CATCH = 1 << 28
DOUBLED = 1 << 14
BESIDE = 1
# Second word: beside a neighbour's catch, how much shows, uneven spread (gaps squared).
NEAR = 1 << 48
SHOW = 1 << 26
FAR = 1 << 62

NEWLY = 2
"""Added to what is caught at a place where a float is caught newly, until its old catches are gone."""
BLOCK = 4
"""That something near has changed is noted for blocks of 2 ** 4 stitches, more than any of them sees."""


def row_of(r: int, R: int, stacked: bool) -> int:
    """The round, counted on where the chart repeats; R for none."""
    if 0 <= r < R:
        return r
    return r % R if stacked else R


def note_change(
    changed_at: Ints2, r: int, c: int, N: int, up: int, across: int, turn: int, stacked: bool
) -> None:
    """Note in `changed_at` int64 [R, blocks] at which turn a catch changed that can be seen so many rounds
    and stitches away. It is noted for some that do not see it as well: they find all as it was.
    """
    R = changed_at.shape[0]
    for other in range(r - up, r + up + 1):
        row = row_of(other, R, stacked)
        if row < R:
            for column in range(c - across, c + across + 1, across):
                changed_at[row, column % N >> BLOCK] = turn
                if column < 0 or column >= N:
                    changed_at[row, (N - 1) >> BLOCK] = turn


def is_stale(changed_at: Ints2, r: int, places: Shorts1, start: int, end: int, since: int) -> bool:
    """Whether anything that a float sees has changed since the turn after it was placed."""
    i = start
    while i < end and changed_at[r, places[i] >> BLOCK] < since:
        i += 1
    return i < end


@kernel
def find_floats(
    stitches: Bytes2,
    circular: Truths1,
    longer_than: int,
    out: Shorts2,
    columns: Shorts2,
    live: Shorts1,
    used: Shorts1,
) -> int:
    """Floats of more than `longer_than` stitches, ordered by round, yarn and place: how many there are.

    As many as there is room for are written to `out` int32 [floats, 5] (round, yarn, first live stitch,
    stitches, ends beside a stitch of its yarn: 1 the first, 2 the last, 3 both, less at the edges of flat
    work); to `columns` int32 [R, N] go the columns of the live stitches, to `live` int32 [R] how many
    there are in each round. `used` int32 [256]: room.
    """
    found = 0
    for r in range(stitches.shape[0]):
        for yarn in range(NO_STITCH):
            used[yarn] = 0
        m = 0
        for c in range(stitches.shape[1]):
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
                    if found < out.shape[0]:
                        out[found, 0] = r
                        out[found, 1] = yarn
                        out[found, 2] = (first + i - run) % m
                        out[found, 3] = run
                        out[found, 4] = (circular[r] or i > run) + 2 * (circular[r] or i < m)
                    found += 1
                run = 0
    return found


def _price_places(
    a_float: Shorts1,
    start: int,
    places: Shorts1,
    stitches: Bytes2,
    show: Ints2,
    circular: Truths1,
    stacked: bool,
    price: Ints2,
    toll: Ints1,
    held: Bytes2,
    cost: Ints2,
) -> None:
    """Write into `cost` int64 [2, places + 2] what a catch at each place of one float costs.

    Its places are those from `start` on.
    """
    R, N = held.shape[0], held.shape[1]
    r = a_float[0]
    n = a_float[3]
    for p in range(1, n + 1):
        c = places[start + p - 1]
        doubled = held[r, c] > 0
        high = CATCH + toll[start + p - 1]
        low = SHOW * show[stitches[r, c], a_float[1]]
        if doubled:
            high += DOUBLED
        if (p == 1 and a_float[4] & 1) or (p == n and a_float[4] & 2):
            high += BESIDE
        for step in range(-1, 2, 2):
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


def _place_float(
    n: int, limit: int, cost: Ints2, total: Ints2, came: Ints1, start: int, caught: Bytes1
) -> bool:
    """The cheapest catches of one float: if they are cheaper than those it has, they are added to
    `caught` as new ones, and the answer is True.
    """
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
        if p > n or caught[start + p - 1]:
            high += cost[0, p]
            low += cost[1, p] + (p - before - 1) ** 2
            if p - before - 1 > limit:
                high = FAR
                break
            before = p
    if total[0, n + 1] > high or (total[0, n + 1] == high and total[1, n + 1] >= low):
        return False
    p = came[n + 1]
    while p > 0:
        caught[start + p - 1] += NEWLY
        p = came[p]
    return True


@kernel
def place_catches(
    floats: Shorts2,
    offsets: Shorts1,
    places: Shorts1,
    stitches: Bytes2,
    show: Ints2,
    limit: int,
    circular: Truths1,
    stacked: bool,
    order: Shorts1,
    price: Ints2,
    toll: Ints1,
    caught: Bytes1,
    held: Bytes2,
    sweeps: int,
    cost: Ints2,
    total: Ints2,
    came: Ints1,
    changed_at: Ints2,
    seen_at: Ints1,
    turn: int,
) -> int:
    """Place every float of `order` given all others, again and again until nothing gets better.

    `price` int64 [R, N]: cost of catches on a column in both this round and the next (STACKED, or
    less while they are being driven apart); `toll` int64 [places]: added cost of a catch.
    `caught` uint8 [places]: whether there is a catch, and `held` uint8 [R, N]: how many yarns are
    caught behind each stitch, are changed. `cost`, `total` int64 [2, S] and `came` int64 [S]: room for
    the longest float's stitches and two. `changed_at` int64 [R, blocks of stitches], `seen_at` int64 [F]: all
    0 and the turn 0 at first, and where prices have changed since the last sweep; else as they were left
    with the turn that is returned, and what is as it was is not placed again.
    """
    N = held.shape[1]
    total[0, 0] = total[1, 0] = 0
    for _ in range(sweeps):
        changed = False
        for at in range(order.shape[0]):
            f = order[at]
            r, start, end = floats[f, 0], offsets[f], offsets[f] + floats[f, 3]
            turn += 1
            if not is_stale(changed_at, r, places, start, end, seen_at[f]):
                continue
            seen_at[f] = turn + 1
            for i in range(start, end):
                held[r, places[i]] -= caught[i]
            _price_places(
                floats[f], start, places, stitches, show, circular, stacked, price, toll, held, cost
            )  # fmt: skip
            if _place_float(end - start, limit, cost, total, came, start, caught):
                changed = True
                for i in range(start, end):
                    if caught[i] == 1 or caught[i] == NEWLY:
                        note_change(changed_at, r, places[i], N, 1, 1, turn, stacked)
                    caught[i] = caught[i] >= NEWLY
            for i in range(start, end):
                held[r, places[i]] += caught[i]
        if not changed:
            break
    return turn
