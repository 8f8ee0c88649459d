"""The compiled steps that spread catches over the fabric: each float's best places, given all others.

Costs are whole numbers in one word. What a catch costs at a stitch are all catches near it: pairs by
how far they lie apart, and threes in a line. Floats that are copies of each other in a round that
repeats take the same places.
"""

from __future__ import annotations

from pic2chart.solve.native import (
    Bytes1,
    Bytes2,
    Ints1,
    Ints2,
    Shorts1,
    Shorts2,
    Truths1,
    Truths2,
    kernel,
)

FAR = 1 << 62
REACH_UP, REACH_ACROSS, LONGEST_STEP = 3, 7, 6
"""Rounds and stitches within which catches see each other; stitches between those of a line."""
RIM_UP, RIM_ACROSS = 4, 2 * LONGEST_STEP
"""A margin round the field, in which rounds that join and charts that repeat go on."""


def _put(
    field: Bytes2,
    near: Ints2,
    pair: Ints2,
    r: int,
    c: int,
    is_caught: bool,
    R: int,
    N: int,
    circular: bool,
    stacked: bool,
) -> None:
    """Write a stitch into the field, and into its margin wherever it comes again there; `near` sums up,
    for every stitch within reach, what it costs to be near the catches there are.
    """
    rows = (RIM_UP // R + 1) * R if stacked else 0
    columns = (RIM_ACROSS // N + 1) * N if circular else 0
    for row in range(r - rows, r + rows + 1, R):
        if -RIM_UP <= row < R + RIM_UP:
            for column in range(c - columns, c + columns + 1, N):
                if -RIM_ACROSS <= column < N + RIM_ACROSS:
                    field[row + RIM_UP, column + RIM_ACROSS] = is_caught
                    for up in range(2 * REACH_UP + 1):
                        for across in range(2 * REACH_ACROSS + 1):
                            cost = pair[up, across]
                            near[row + RIM_UP + up, column + RIM_ACROSS + across] += (
                                cost if is_caught else -cost
                            )


def _lines(field: Bytes2, r: int, c: int) -> int:
    """How many threes in a line a catch would make; `r` and `c` count in the field."""
    rows = 0
    for step in range(1, 3):
        most = LONGEST_STEP if step == 1 else 1
        for k in range(-most, most + 1):
            above = field[r + step, c + k]
            below = field[r - step, c - k]
            if above > 0:
                rows += below + field[r + 2 * step, c + 2 * k]
            if below > 0:
                rows += field[r - 2 * step, c - 2 * k]
    return rows


def _mixed(r: int, yarn: int, p: int, seed: int, most: int) -> int:
    """A number below `most` that looks like chance and is the same every time."""
    x = (
        int(r + 1000 * seed) * 2654435761 + int(yarn) * 40503 + p * 2246822519 + 374761393
    ) & 0xFFFFFFFF
    x = ((x ^ (x >> 15)) * 1103515245) & 0xFFFFFFFF
    x = ((x ^ (x >> 13)) * 1274126177) & 0xFFFFFFFF
    return (x ^ (x >> 16)) % most


def _lift(
    floats: Shorts2,
    offsets: Shorts1,
    places: Shorts1,
    f: int,
    caught: Bytes1,
    held: Bytes2,
    field: Bytes2,
    near: Ints2,
    pair: Ints2,
    circular: bool,
    stacked: bool,
    sign: int,
) -> None:
    """Take the catches of a float off the fabric (`sign` -1), or put them on it (1)."""
    R, N = held.shape[0], held.shape[1]
    r = floats[f, 0]
    for i in range(offsets[f], offsets[f + 1]):
        if caught[i]:
            c = places[i]
            was = int(held[r, c])
            held[r, c] = was + sign
            if was == 0 or was + sign == 0:
                _put(field, near, pair, r, c, was == 0, R, N, circular, stacked)


@kernel
def spread_catches(
    floats: Shorts2,
    offsets: Shorts1,
    places: Shorts1,
    members: Shorts1,
    first: Shorts1,
    stitches: Bytes2,
    show: Ints2,
    limit: int,
    circular: Truths1,
    stacked: bool,
    awkward: Truths2,
    pair: Ints2,
    prices: Ints1,
    caught: Bytes1,
    held: Bytes2,
    sweeps: int,
    field: Bytes2,
    near: Ints2,
    cost: Ints1,
    total: Ints1,
    came: Ints1,
    changed_at: Ints1,
    seen_at: Ints1,
) -> int:
    """Place the floats given all others, again and again until nothing gets better.

    `members` int32 [F]: floats, copies of each other together; `first` int32 [classes + 1]: where
    each class begins in it. `awkward` bool [R, N]: stitches behind which nothing is caught willingly.
    `pair` int64 [up, across]: what two catches so far apart cost. `prices`: a catch, a second yarn
    behind one stitch, one beside a colour change or awkward, three in a line, unevenness (gap
    squared), the most of what is added by chance, and which chance. Changes `caught` uint8 [places] and
    `held`; returns the sweeps made. Room: `cost`, `total`, `came` int64 [the longest float's stitches and
    two], and all 0 `field` uint8 [R and N with their margins], `near` int64 [the same with their reach],
    `changed_at` int64 [R], `seen_at` int64 [classes].
    """
    R, N = held.shape[0], held.shape[1]
    high, wide = RIM_UP + REACH_UP, RIM_ACROSS + REACH_ACROSS
    turn = 0
    for r in range(R):
        for c in range(N):
            if held[r, c]:
                _put(field, near, pair, r, c, True, R, N, circular[r], stacked)
    total[0] = 0
    for sweep in range(sweeps):
        changed = False
        for group in range(first.shape[0] - 1):
            a, b = first[group], first[group + 1]
            n = floats[members[a], 3]
            count = b - a
            r = floats[members[a], 0]
            turn += 1
            is_stale = False  # has anything that it sees changed since it was placed?
            for other in range(r - RIM_UP, r + RIM_UP + 1):
                if stacked or 0 <= other < R:
                    is_stale = is_stale or changed_at[other % R] >= seen_at[group]
            if not is_stale:
                continue
            seen_at[group] = turn + 1
            for m in range(a, b):
                _lift(
                    floats, offsets, places, members[m], caught, held, field, near, pair, circular[r],
                    stacked, -1,
                )  # fmt: skip
            for p in range(1, n + 1):
                cost[p] = 0
                for m in range(a, b):
                    f = members[m]
                    yarn, c = floats[f, 1], places[offsets[f] + p - 1]
                    cost[p] += prices[0] + show[stitches[r, c], yarn]
                    cost[p] += _mixed(r, yarn, p, prices[6], prices[5])
                    if held[r, c] > 0:
                        cost[p] += prices[1]
                    ends = (p == 1 and floats[f, 4] & 1) or (p == n and floats[f, 4] & 2)
                    if ends or awkward[r, c]:
                        cost[p] += prices[2]
                    cost[p] += near[r + high, c + wide]
                    cost[p] += prices[3] * _lines(field, r + RIM_UP, c + RIM_ACROSS)
            cost[n + 1] = 0
            for p in range(1, n + 2):
                least = FAR
                for q in range(max(0, p - limit - 1), p):
                    way = total[q] + count * prices[4] * (p - q - 1) ** 2
                    if way < least:
                        least = way
                        came[p] = q
                total[p] = least + cost[p]
            now = 0
            for m in range(a, b):
                start, before = offsets[members[m]], 0
                for p in range(1, n + 2):
                    if p > n or caught[start + p - 1]:
                        now += cost[p] // count + prices[4] * (p - before - 1) ** 2
                        before = p
                for p in range(n):
                    if caught[start + p] != caught[offsets[members[a]] + p]:
                        now += prices[0] * n  # copies go together
                        break
            if total[n + 1] < now:
                changed = True
                changed_at[r] = turn
                for m in range(a, b):
                    start = offsets[members[m]]
                    for p in range(n):
                        caught[start + p] = 0
                    p = came[n + 1]
                    while p > 0:
                        caught[start + p - 1] = 1
                        p = came[p]
            for m in range(a, b):
                _lift(
                    floats, offsets, places, members[m], caught, held, field, near, pair, circular[r],
                    stacked, 1,
                )  # fmt: skip
        if not changed:
            return sweep + 1
    return sweeps
