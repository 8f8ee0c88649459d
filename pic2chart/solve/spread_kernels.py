"""The compiled steps that spread catches over the fabric: each float's best places, given all others.

Costs are whole numbers in one word. What a catch costs at a stitch are all catches near it: pairs by
how far they lie apart, and threes in a line. Floats that are copies of each other in a round that
repeats take the same places.
"""

from __future__ import annotations

from pic2chart.solve.catch_kernels import NEWLY, is_stale, note_change, row_of
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
LINE_UP, SIGHT = 4, 2 * LONGEST_STEP
"""Rounds and stitches within which a line has its other two catches."""
WINDOW = 2 * LONGEST_STEP + 1
"""Bits of a window: the stitches LONGEST_STEP to either side of one. A word holds four: those stitches,
the same from the other end, every second stitch twice as far, and these from the other end.
"""
_ALL = (1 << WINDOW) - 1
_NEXT = 7 << (LONGEST_STEP - 1)


def _put(
    near: Ints2,
    windows: Ints2,
    sight: Ints1,
    pair: Ints2,
    r: int,
    c: int,
    sign: int,
    circular: bool,
    stacked: bool,
    reach: int,
) -> None:
    """Add a catch (`sign` 1) to what the stitches of so many rounds above and below see of it, or take
    it away (-1); with a reach of 0 to its own round alone, which sees no lines.
    """
    R, N = near.shape[0], near.shape[1]
    across_most = REACH_ACROSS if reach > 0 else 1  # in one round only neighbours cost anything
    for up in range(-reach, reach + 1):
        row = row_of(r + up, R, stacked)
        if row < R:
            for across in range(-across_most, across_most + 1):
                column = _column(c + across, N, circular)
                if column >= 0:
                    near[row, column] += sign * pair[up + REACH_UP, across + REACH_ACROSS]
    if reach > 0:
        for across in range(-SIGHT, SIGHT + 1):
            column = _column(c - across, N, circular)
            if column >= 0:
                windows[r, column] += sign * sight[across + SIGHT]


def _column(c: int, N: int, circular: bool) -> int:
    """The column, counted on round the join; -1 for none."""
    if 0 <= c < N:
        return c
    return c % N if circular else -1


def _lines(above: int, below: int, above_twice: int, below_twice: int, within: int) -> int:
    """How many threes in a line a catch would make, as bits within 39; the words are those of its
    column so many rounds above and below, and twice as many.
    """
    backwards = below >> WINDOW
    found = above & backwards & within
    found |= (above & (above_twice >> 2 * WINDOW) & within) << WINDOW
    return found | (backwards & (below_twice >> 3 * WINDOW) & within) << 2 * WINDOW


def _ones(bits: int) -> int:
    """How many bits of a word of at most 62 are set."""
    bits -= (bits >> 1) & 0x5555555555555555
    bits = (bits & 0x3333333333333333) + ((bits >> 2) & 0x3333333333333333)
    bits = (bits + (bits >> 4)) & 0x0F0F0F0F0F0F0F0F
    bits += bits >> 8
    bits += bits >> 16
    return (bits + (bits >> 32)) & 127


def _mixed(r: int, yarn: int, p: int, seed: int, most: int, share: int) -> int:
    """A number below `most` (at least 2) that looks like chance and is the same every time; `share` is
    2 ** 32 // most + 1, and spares the division.
    """
    x = (
        int(r + 1000 * seed) * 2654435761 + int(yarn) * 40503 + p * 2246822519 + 374761393
    ) & 0xFFFFFFFF
    x = ((x ^ (x >> 15)) * 1103515245) & 0xFFFFFFFF
    x = ((x ^ (x >> 13)) * 1274126177) & 0xFFFFFFFF
    x ^= x >> 16
    rest = x - ((x * share) >> 32) * most
    return rest + most if rest < 0 else rest


def _move(
    held: Bytes2,
    near: Ints2,
    windows: Ints2,
    sight: Ints1,
    pair: Ints2,
    r: int,
    c: int,
    sign: int,
    circular: bool,
    stacked: bool,
    reach: int,
) -> None:
    """Put a catch of one more yarn behind a stitch (`sign` 1), or take one away (-1), as `_put` does."""
    was = int(held[r, c])
    held[r, c] = was + sign
    if was == 0 or was + sign == 0:
        _put(near, windows, sight, pair, r, c, sign, circular, stacked, reach)


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
    sight: Ints1,
    prices: Ints1,
    caught: Bytes1,
    held: Bytes2,
    near: Ints2,
    windows: Ints2,
    is_new: bool,
    sweeps: int,
    cost: Ints1,
    total: Ints1,
    came: Ints1,
    changed_at: Ints2,
    seen_at: Ints1,
) -> int:
    """Place the floats given all others, again and again until nothing gets better.

    `members` int32 [F]: floats, copies of each other together; `first` int32 [classes + 1]: where
    each class begins in it. `awkward` bool [R, N]: stitches behind which nothing is caught willingly.
    `pair` int64 [up, across]: what two catches so far apart cost; `sight` int64 [across]: the bits of a
    catch in the word of a stitch so far before it. `prices`: a catch, a second yarn
    behind one stitch, one beside a colour change or awkward, three in a line, unevenness (gap
    squared), the most of what is added by chance, and which chance. Changes `caught` uint8 [places],
    `held`, and what is seen of it: `near` int64 [R, N], what it costs to lie near, and `windows` int64
    [R + 1, N], catches beside each stitch; where `is_new` both are 0 and are made from `held`. Returns the
    sweeps made. Room: `cost`, `total`, `came` int64 [the longest float's stitches and two], and all 0
    `changed_at` int64 [R, blocks of stitches], `seen_at` int64 [classes].
    """
    R, N = held.shape[0], held.shape[1]
    own = REACH_UP if stacked and R <= LINE_UP else 0  # does a round see itself above?
    a_catch, doubled, at_end, a_line = prices[0], prices[1], prices[2], prices[3]
    unevenness, most, seed = prices[4], prices[5], prices[6]
    share = (1 << 32) // most + 1
    turn = 0
    for r in range(R if is_new else 0):
        for c in range(N):
            if held[r, c]:
                _put(near, windows, sight, pair, r, c, 1, circular[r], stacked, REACH_UP)
    total[0] = 0
    for sweep in range(sweeps):
        changed = False
        for group in range(first.shape[0] - 1):
            a, b = first[group], first[group + 1]
            n = floats[members[a], 3]
            count = b - a
            r = floats[members[a], 0]
            turn += 1
            stale = False
            for m in range(a, b):
                start = offsets[members[m]]
                stale = stale or is_stale(changed_at, r, places, start, start + n, seen_at[group])
            if not stale:
                continue
            seen_at[group] = turn + 1
            for m in range(a, b):
                for i in range(offsets[members[m]], offsets[members[m]] + n):
                    if caught[i]:
                        _move(
                            held, near, windows, sight, pair, r, places[i], -1, circular[r], stacked, own
                        )  # fmt: skip
            up, down = row_of(r + 1, R, stacked), row_of(r - 1, R, stacked)
            up2, down2 = row_of(r + 2, R, stacked), row_of(r - 2, R, stacked)
            up4, down4 = row_of(r + 4, R, stacked), row_of(r - 4, R, stacked)
            for p in range(1, n + 1):
                cost[p] = count * a_catch
            for m in range(a, b):
                f = members[m]
                yarn, start, beside = floats[f, 1], offsets[f] - 1, floats[f, 4]
                for p in range(1, n + 1):
                    c = places[start + p]
                    paid = show[stitches[r, c], yarn] + near[r, c]
                    paid += _mixed(r, yarn, p, seed, most, share)
                    if held[r, c] > 0:
                        paid += doubled
                    ends = (p == 1 and beside & 1) or (p == n and beside & 2)
                    if ends or awkward[r, c]:
                        paid += at_end
                    above, below = windows[up2, c], windows[down2, c]
                    lines = _lines(windows[up, c], windows[down, c], above, below, _ALL)
                    steep = _lines(above, below, windows[up4, c], windows[down4, c], _NEXT)
                    cost[p] += paid + a_line * (_ones(lines) + _ones(steep))
            cost[n + 1] = 0
            gap = count * unevenness
            for p in range(1, n + 2):
                least, before = FAR, 0
                for q in range(max(0, p - limit - 1), p):
                    way = total[q] + gap * (p - q - 1) * (p - q - 1)
                    before = q if way < least else before
                    least = min(way, least)
                came[p] = before
                total[p] = least + cost[p]
            now = 0
            for m in range(a, b):
                start, before = offsets[members[m]], 0
                for p in range(1, n + 2):
                    if p > n or caught[start + p - 1]:
                        now += cost[p] // count + unevenness * (p - before - 1) ** 2
                        before = p
                for p in range(n):
                    if caught[start + p] != caught[offsets[members[a]] + p]:
                        now += a_catch * n  # copies go together
                        break
            for m in range(a, b):
                for i in range(offsets[members[m]], offsets[members[m]] + n):
                    if caught[i]:
                        _move(
                            held, near, windows, sight, pair, r, places[i], 1, circular[r], stacked, own
                        )  # fmt: skip
            if total[n + 1] < now:
                changed = True
                for m in range(a, b):
                    start = offsets[members[m]]
                    p = came[n + 1]
                    while p > 0:
                        caught[start + p - 1] += NEWLY
                        p = came[p]
                    for i in range(start, start + n):
                        if caught[i] == 1 or caught[i] == NEWLY:
                            sign = 1 if caught[i] == NEWLY else -1
                            _move(
                                held, near, windows, sight, pair, r, places[i], sign, circular[r], stacked,
                                REACH_UP,
                            )  # fmt: skip
                            note_change(changed_at, r, places[i], N, LINE_UP, SIGHT, turn, stacked)
                        caught[i] = caught[i] >= NEWLY
        if not changed:
            return sweep + 1
    return sweeps
