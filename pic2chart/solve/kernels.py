"""The solver's compiled kernels (numba), all in this one file.

One round is a closed walk on a small trellis. A state holds the yarn of the current stitch, the
yarn of the stitch before it, and for every other yarn of the round the length of its running
float, folded modulo `limit + 1` where long floats are caught, since catches are charged each time
a running float reaches a multiple of `limit + 1`. On the circle the walk must end in the state it
began with: laps over sets of start states give lower bounds, and splitting a set until start and
end agree gives the optimum exactly (branch and bound over a tail-biting trellis).

Nothing here knows yarn names, files or pictures. Costs are float64; HUGE stands for 'not allowed'.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

HUGE = 1e12
"""Cost of what is not allowed; a total at or above HUGE / 2 means the round cannot be worked."""
EMPTY = 255
EPS = 1e-9


@njit(cache=True)
def _neighbour_rounds(r: int, count: int, stacked: bool) -> Any:
    below, above = r - 1, r + 1
    if stacked and count >= 3:
        below, above = below % count, above % count
    if above >= count:
        above = -1
    return below, above


@njit(cache=True)
def _window(c: int, width: int, circular: bool, out: Any) -> int:
    """Columns c-1, c, c+1 in order, without those past an edge and without doubles; their count."""
    m = 0
    for d in range(-1, 2):
        col = c + d
        if circular:
            col %= width
        elif col < 0 or col >= width:
            continue
        fresh = True
        for j in range(m):
            if out[j] == col:
                fresh = False
        if fresh:
            out[m] = col
            m += 1
    return m


@njit(cache=True)
def _meets(row: Any, c: int, k: int, circular: bool) -> bool:
    """Whether one of the three stitches of `row` at columns c-1 … c+1 has yarn k."""
    width = row.shape[0]
    for d in range(-1, 2):
        col = c + d
        if circular:
            col %= width
        elif col < 0 or col >= width:
            continue
        if row[col] == k:
            return True
    return False


@njit(cache=True)
def _beside(row: Any, c: int, k: int, circular: bool) -> bool:
    """Whether the previous or the next live stitch of `row` has yarn k (a lone stitch has itself)."""
    width = row.shape[0]
    for sign in (-1, 1):
        col = c
        for _ in range(width):
            col += sign
            if circular:
                col %= width
            elif col < 0 or col >= width:
                break
            if row[col] != EMPTY:
                if row[col] == k:
                    return True
                break
    return False


@njit(cache=True)
def _describe_round(
    r: int,
    x: Any,
    cost: Any,
    weight_h: Any,
    weight_v: Any,
    isolated: float,
    circular: bool,
    stacked: bool,
    coupled: bool,
    cols: Any,
    place: Any,
    u: Any,
    lone: Any,
    d2: Any,
    d3: Any,
    h: Any,
    spare: Any,
) -> Any:
    """Fill the round's costs given its neighbours; return (live stitches, constant).

    u[i, k] cost of yarn k at live stitch i; lone[i, k] price of a run of one there;
    d2[i, k], d3[i, k] price when the last two, three stitches up to i all miss yarn k (a stitch of
    the next round is then isolated); h[i] price of a change between i-1 and i; spare[k] = sum of
    d2 and d3 for yarn k.
    """
    rounds, width, yarns = cost.shape
    n = 0
    for c in range(width):
        place[c] = -1
        if x[r, c] != EMPTY:
            cols[n] = c
            place[c] = n
            n += 1
    constant = 0.0
    for k in range(yarns):
        spare[k] = 0.0
    below, above = _neighbour_rounds(r, rounds, stacked)
    for i in range(n):
        c = cols[i]
        h[i] = weight_h[r, c]
        for k in range(yarns):
            u[i, k] = cost[r, c, k]
            lone[i, k] = 0.0
            d2[i, k] = 0.0
            d3[i, k] = 0.0
        if not coupled:
            continue
        for side in range(2):
            q = below if side == 0 else above
            if q < 0:
                continue
            other = x[q, c]
            if other != EMPTY:
                w = weight_v[q, c] if side == 0 else weight_v[r, c]
                for k in range(yarns):
                    if k != other:
                        u[i, k] += w
        if isolated > 0.0 and n > 1:
            for k in range(yarns):
                seen = (below >= 0 and _meets(x[below], c, k, circular)) or (
                    above >= 0 and _meets(x[above], c, k, circular)
                )
                if not seen:
                    lone[i, k] = isolated
    if not coupled or isolated <= 0.0:
        return n, constant
    window = np.empty(3, np.int64)
    for side in range(2):
        q = below if side == 0 else above
        if q < 0:
            continue
        qb, qa = _neighbour_rounds(q, rounds, stacked)
        far = qb if side == 0 else qa
        for c in range(width):
            k = x[q, c]
            if k == EMPTY or _beside(x[q], c, k, circular):
                continue
            if far >= 0 and _meets(x[far], c, k, circular):
                continue
            m = _window(c, width, circular, window)
            hits, last, single = 0, -1, -1
            for j in range(m):
                if place[window[j]] >= 0:
                    last = place[window[j]]
                    single = last
                    hits += 1
            if hits == 1:
                constant += isolated
                u[single, k] -= isolated
            elif hits == 2:
                d2[last, k] += isolated
                spare[k] += isolated
            elif hits == 3:
                d3[last, k] += isolated
                spare[k] += isolated
    return n, constant


@njit(cache=True)
def _sequence_cost(
    n: int,
    nc: int,
    seq: Any,
    lu: Any,
    llone: Any,
    l2: Any,
    l3: Any,
    h: Any,
    kappa: float,
    limit: int,
    breaking: bool,
    circular: bool,
) -> float:
    """The true cost of one sequence of local yarns, floats measured on the circle or to the edges."""
    total = 0.0
    for i in range(n):
        total += lu[i, seq[i]]
        before = i - 1 if i > 0 else (n - 1 if circular else -1)
        after = i + 1 if i < n - 1 else (0 if circular else -1)
        differs_before = before < 0 or seq[before] != seq[i]
        differs_after = after < 0 or seq[after] != seq[i]
        if before >= 0 and differs_before and n > 1:
            total += h[i]
        if differs_before and differs_after:
            total += llone[i, seq[i]]
        if before >= 0 and n > 1:
            earlier = before - 1 if before > 0 else (n - 1 if circular else -1)
            for k in range(nc):
                if k != seq[i] and k != seq[before]:
                    total += l2[i, k]
                    if earlier >= 0 and k != seq[earlier]:
                        total += l3[i, k]
    for k in range(nc):
        first = -1
        for i in range(n):
            if seq[i] == k:
                first = i
                break
        if first < 0:
            continue
        run = 0
        begin = first if circular else 0
        for t in range(n + 1):
            i = begin + t
            at_end = t == n
            if not at_end and seq[i % n] != k:
                run += 1
                continue
            if at_end and circular and seq[i % n] != k:
                run += 1
                continue
            if run > limit:
                if breaking:
                    return HUGE
                total += kappa * (run // (limit + 1))
            run = 0
    return total


@njit(cache=True)
def _lap(
    n: int,
    nc: int,
    colour: Any,
    prev: Any,
    nxt: Any,
    pay: Any,
    lu: Any,
    llone: Any,
    l2: Any,
    l3: Any,
    flagged: Any,
    h: Any,
    kappa: float,
    shift: int,
    steps: int,
    f: Any,
    g: Any,
    back: Any,
) -> None:
    """Walk `steps` stitches from live stitch `shift`; f holds start costs in, end costs out."""
    states = colour.shape[0]
    here = shift
    for t in range(1, steps + 1):
        was = here
        here += 1
        if here == n:
            here = 0
        for y in range(states):
            g[y] = HUGE
        change = h[here]
        flag = flagged[here]
        for s in range(states):
            fs = f[s]
            if fs >= HUGE:
                continue
            c = colour[s]
            p = prev[s]
            leave = fs + change
            if p != c:
                leave += llone[was, c]
            for q in range(nc):
                y = nxt[s, q]
                if y < 0:
                    continue
                v = (fs if q == c else leave) + lu[here, q] + kappa * pay[s, q]
                if flag:
                    for k in range(nc):
                        if k != q and k != c:
                            v += l2[here, k]
                            if k != p:
                                v += l3[here, k]
                if v < g[y]:
                    g[y] = v
                    back[t, y] = s
        for y in range(states):
            f[y] = g[y]


@njit(cache=True)
def _trace(steps: int, end: int, colour: Any, back: Any, shift: int, n: int, seq: Any) -> int:
    """Read the sequence of a walk off its back pointers; return the state it began with."""
    s = end
    for t in range(steps, 0, -1):
        seq[(shift + t) % n] = colour[s]
        s = back[t, s]
    if steps < n:
        seq[shift] = colour[s]
    return s


@njit(cache=True)
def _best_edge(n: int, nc: int, lu: Any) -> int:
    """Where to cut the circle: after the surest change of yarn, so that few states compete."""
    best, at = -1.0, 0
    for i in range(n):
        j = i - 1 if i > 0 else n - 1
        a, b = 0, 0
        for q in range(1, nc):
            if lu[i, q] < lu[i, a]:
                a = q
            if lu[j, q] < lu[j, b]:
                b = q
        if a == b:
            continue
        sure = min(lu[i, b] - lu[i, a], lu[j, a] - lu[j, b])
        if sure > best:
            best, at = sure, i
    return at


@njit(cache=True)
def _best_circle(
    n: int,
    nc: int,
    colour: Any,
    prev: Any,
    nxt: Any,
    pay: Any,
    loop: Any,
    lu: Any,
    llone: Any,
    l2: Any,
    l3: Any,
    flagged: Any,
    h: Any,
    kappa: float,
    limit: int,
    breaking: bool,
    ceiling: float,
    seq: Any,
    best_seq: Any,
    work: Any,
    back: Any,
    masks: Any,
    bounds: Any,
) -> float:
    """The least cost of a closed walk under `ceiling`, its sequence in best_seq; else `ceiling`."""
    states = colour.shape[0]
    f, g = work[0], work[1]
    shift = _best_edge(n, nc, lu)
    best = ceiling
    for s in range(states):
        masks[0, s] = loop[s]
    bounds[0] = -HUGE
    top = 1
    while top > 0:
        top -= 1
        if bounds[top] >= best - EPS:
            continue
        for s in range(states):
            f[s] = 0.0 if masks[top, s] else HUGE
        _lap(
            n,
            nc,
            colour,
            prev,
            nxt,
            pay,
            lu,
            llone,
            l2,
            l3,
            flagged,
            h,
            kappa,
            shift,
            n,
            f,
            g,
            back,
        )
        end, v = -1, HUGE
        for s in range(states):
            if masks[top, s] and f[s] < v:
                end, v = s, f[s]
        if end < 0 or v >= best - EPS:
            continue
        start = _trace(n, end, colour, back, shift, n, seq)
        true = _sequence_cost(n, nc, seq, lu, llone, l2, l3, h, kappa, limit, breaking, True)
        if true < best - EPS:
            best = true
            for i in range(n):
                best_seq[i] = seq[i]
        if start == end or v >= best - EPS:
            continue
        middle = (start + end) // 2
        for s in range(states):
            inside = masks[top, s]
            masks[top + 1, s] = 1 if inside and s > middle else 0
            masks[top, s] = 1 if inside and s <= middle else 0
        bounds[top] = v
        bounds[top + 1] = v
        top += 2
    return best


@njit(cache=True)
def _best_line(
    n: int,
    nc: int,
    colour: Any,
    prev: Any,
    nxt: Any,
    pay: Any,
    first: Any,
    lu: Any,
    llone: Any,
    l2: Any,
    l3: Any,
    flagged: Any,
    h: Any,
    kappa: float,
    limit: int,
    breaking: bool,
    ceiling: float,
    seq: Any,
    best_seq: Any,
    work: Any,
    back: Any,
) -> float:
    """The least cost of a row worked flat: both yarns are carried to the edges."""
    states = colour.shape[0]
    f, g = work[0], work[1]
    for s in range(states):
        f[s] = HUGE
    for q in range(nc):
        f[first[q]] = lu[0, q]
    _lap(
        n,
        nc,
        colour,
        prev,
        nxt,
        pay,
        lu,
        llone,
        l2,
        l3,
        flagged,
        h,
        kappa,
        0,
        n - 1,
        f,
        g,
        back,
    )
    end, v = -1, HUGE
    for s in range(states):
        last = f[s]
        if prev[s] != colour[s]:
            last += llone[n - 1, colour[s]]
        if last < v:
            end, v = s, last
    if end < 0:
        return ceiling
    _trace(n - 1, end, colour, back, 0, n, seq)
    true = _sequence_cost(n, nc, seq, lu, llone, l2, l3, h, kappa, limit, breaking, False)
    if true < ceiling - EPS:
        for i in range(n):
            best_seq[i] = seq[i]
        return true
    return ceiling


@njit(cache=True)
def _localise(n: int, sub: Any, nc: int, u: Any, lone: Any, d2: Any, d3: Any, out: Any) -> None:
    """Copy the columns of a subset's yarns into the work arrays of that many yarns."""
    lu, llone, l2, l3, flagged = out
    for i in range(n):
        flag = False
        for q in range(nc):
            k = sub[q]
            lu[i, q] = u[i, k]
            llone[i, q] = lone[i, k]
            l2[i, q] = d2[i, k]
            l3[i, q] = d3[i, k]
            if d2[i, k] != 0.0 or d3[i, k] != 0.0:
                flag = True
        flagged[i] = flag


@njit(cache=True)
def _hand_costs(r: int, hands: Any, sets: Any, join: float, stacked: bool, out: Any) -> None:
    """Price of each set of yarns in hand at round r, given those of the rounds before and after."""
    count = hands.shape[0]
    below, above = _neighbour_rounds(r, count, stacked)
    for p in range(sets.shape[0]):
        price = 0.0
        if below >= 0:
            price += join * _bits(sets[p] & ~sets[hands[below]])
        if above >= 0:
            price += join * _bits(sets[hands[above]] & ~sets[p])
        out[p] = price


@njit(cache=True)
def _bits(mask: int) -> int:
    count = 0
    while mask:
        mask &= mask - 1
        count += 1
    return count


@njit(cache=True)
def _members(mask: int, out: Any) -> int:
    count, k = 0, 0
    while mask:
        if mask & 1:
            out[count] = k
            count += 1
        mask >>= 1
        k += 1
    return count


@njit(cache=True)
def sweep(
    x: Any,
    hands: Any,
    order: Any,
    cost: Any,
    weight_h: Any,
    weight_v: Any,
    prices: Any,
    limit: int,
    breaking: bool,
    circular: bool,
    stacked: bool,
    coupled: bool,
    keep_hands: bool,
    subsets: Any,
    sets: Any,
    two: Any,
    three: Any,
    blocked: Any,
) -> int:
    """One exact step for each round in `order`, given its neighbours; return how many changed.

    x uint8 [R, N] and hands int64 [R] (indices into `sets`) are changed in place; prices =
    (isolated, catch, third yarn, join); subsets and sets hold bit masks of yarns; two and three
    are the trellises of two and three yarns. `coupled` False leaves out everything between
    rounds; `keep_hands` solves each round with the yarns it has in hand. blocked[r] is set where
    no sequence is allowed.
    """
    rounds, width, yarns = cost.shape
    isolated, kappa, third, join = prices[0], prices[1], prices[2], prices[3]
    states = max(two[0].shape[0], three[0].shape[0])
    cols = np.empty(width, np.int64)
    place = np.empty(width, np.int64)
    u = np.empty((width, yarns))
    lone = np.empty((width, yarns))
    d2 = np.empty((width, yarns))
    d3 = np.empty((width, yarns))
    h = np.empty(width)
    spare = np.empty(yarns)
    local = (
        np.empty((width, 3)),
        np.empty((width, 3)),
        np.empty((width, 3)),
        np.empty((width, 3)),
        np.empty(width, np.bool_),
    )
    seq = np.empty(width, np.int64)
    best_seq = np.empty(width, np.int64)
    keep = np.empty(width, np.int64)
    work = np.empty((2, states))
    back = np.empty((width + 1, states), np.int16)
    masks = np.empty((states + 2, states), np.uint8)
    bounds = np.empty(states + 2)
    hand_price = np.empty(sets.shape[0])
    sub_price = np.empty(subsets.shape[0])
    sub_hand = np.empty(subsets.shape[0], np.int64)
    cheap = np.empty(subsets.shape[0])
    member = np.empty(16, np.int64)
    changed = 0
    for step in range(order.shape[0]):
        r = order[step]
        n, constant = _describe_round(
            r,
            x,
            cost,
            weight_h,
            weight_v,
            isolated,
            circular,
            stacked,
            coupled,
            cols,
            place,
            u,
            lone,
            d2,
            d3,
            h,
            spare,
        )
        if n == 0:
            continue
        _hand_costs(r, hands, sets, join, stacked, hand_price)
        if keep_hands:
            for p in range(sets.shape[0]):
                if p != hands[r]:
                    hand_price[p] = HUGE
        now_mask = 0
        for i in range(n):
            now_mask |= 1 << x[r, cols[i]]
        now = -1
        for j in range(subsets.shape[0]):
            sub_price[j] = HUGE
            sub_hand[j] = -1
            for p in range(sets.shape[0]):
                if subsets[j] & ~sets[p] == 0 and hand_price[p] < sub_price[j]:
                    sub_price[j] = hand_price[p]
                    sub_hand[j] = p
            if subsets[j] == now_mask:
                now = j
            m = _members(subsets[j], member)
            price = sub_price[j] + constant + (third if m == 3 else 0.0)
            for k in range(yarns):
                price += spare[k]
            for q in range(m):
                price -= spare[member[q]]
            sub_price[j] = price
            for i in range(n):
                least = u[i, member[0]]
                for q in range(1, m):
                    if u[i, member[q]] < least:
                        least = u[i, member[q]]
                price += least
            cheap[j] = price if n >= m else HUGE
        best = HUGE / 2
        best_sub = -1
        if coupled and now >= 0 and sub_price[now] < HUGE / 2:
            m = _members(subsets[now], member)
            _localise(n, member, m, u, lone, d2, d3, local)
            for i in range(n):
                for q in range(m):
                    if member[q] == x[r, cols[i]]:
                        keep[i] = q
            value = sub_price[now] + _sequence_cost(
                n,
                m,
                keep,
                local[0],
                local[1],
                local[2],
                local[3],
                h,
                kappa,
                limit,
                breaking,
                circular,
            )
            if value < best:
                best = value
                best_sub = now
        for _ in range(subsets.shape[0]):
            j = 0
            for i in range(1, subsets.shape[0]):
                if cheap[i] < cheap[j]:
                    j = i
            if cheap[j] >= best - EPS:
                break
            cheap[j] = HUGE
            m = _members(subsets[j], member)
            _localise(n, member, m, u, lone, d2, d3, local)
            room = best - sub_price[j]
            if m == 1:
                for i in range(n):
                    best_seq[i] = 0
                value = _sequence_cost(
                    n,
                    1,
                    best_seq,
                    local[0],
                    local[1],
                    local[2],
                    local[3],
                    h,
                    kappa,
                    limit,
                    breaking,
                    circular,
                )
            elif circular:
                t = two if m == 2 else three
                value = _best_circle(
                    n,
                    m,
                    t[0],
                    t[1],
                    t[2],
                    t[3],
                    t[5],
                    local[0],
                    local[1],
                    local[2],
                    local[3],
                    local[4],
                    h,
                    kappa,
                    limit,
                    breaking,
                    room,
                    seq,
                    best_seq,
                    work,
                    back,
                    masks,
                    bounds,
                )
            else:
                t = two if m == 2 else three
                value = _best_line(
                    n,
                    m,
                    t[0],
                    t[1],
                    t[2],
                    t[3],
                    t[4],
                    local[0],
                    local[1],
                    local[2],
                    local[3],
                    local[4],
                    h,
                    kappa,
                    limit,
                    breaking,
                    room,
                    seq,
                    best_seq,
                    work,
                    back,
                )
            if value < room - EPS:
                best = sub_price[j] + value
                best_sub = j
                for i in range(n):
                    keep[i] = best_seq[i]
        if best_sub < 0:
            blocked[r] = True
            continue
        _members(subsets[best_sub], member)
        different = False
        for i in range(n):
            k = member[keep[i]]
            if x[r, cols[i]] != k:
                x[r, cols[i]] = k
                different = True
        hands[r] = sub_hand[best_sub]
        if different:
            changed += 1
    return changed


@njit(cache=True)
def set_bounds(
    x: Any,
    cost: Any,
    weight_h: Any,
    weight_v: Any,
    prices: Any,
    circular: bool,
    subsets: Any,
    two: Any,
    three: Any,
) -> Any:
    """Float64 [R, subsets]: a lower bound of each round with each subset, rounds uncoupled."""
    rounds, width, yarns = cost.shape
    states = max(two[0].shape[0], three[0].shape[0])
    cols = np.empty(width, np.int64)
    place = np.empty(width, np.int64)
    u = np.empty((width, yarns))
    lone = np.empty((width, yarns))
    d2 = np.empty((width, yarns))
    d3 = np.empty((width, yarns))
    h = np.empty(width)
    spare = np.empty(yarns)
    local = (
        np.empty((width, 3)),
        np.empty((width, 3)),
        np.empty((width, 3)),
        np.empty((width, 3)),
        np.empty(width, np.bool_),
    )
    f, g = np.empty(states), np.empty(states)
    back = np.empty((width + 1, states), np.int16)
    member = np.empty(16, np.int64)
    out = np.zeros((rounds, subsets.shape[0]))
    for r in range(rounds):
        n, _ = _describe_round(
            r, x, cost, weight_h, weight_v, 0.0, circular, False, False,
            cols, place, u, lone, d2, d3, h, spare,
        )  # fmt: skip
        for j in range(subsets.shape[0]):
            m = _members(subsets[j], member)
            if n == 0:
                continue
            if n < m:
                out[r, j] = HUGE
                continue
            _localise(n, member, m, u, lone, d2, d3, local)
            if m == 1:
                for i in range(n):
                    out[r, j] += local[0][i, 0]
                continue
            t = two if m == 2 else three
            states_here = t[0].shape[0]
            for s in range(states_here):
                f[s] = 0.0 if t[5][s] else HUGE
            _lap(
                n, m, t[0], t[1], t[2], t[3], local[0], local[1], local[2], local[3], local[4],
                h, prices[1], 0, n, f, g, back,
            )  # fmt: skip
            least = HUGE
            for s in range(states_here):
                least = min(least, f[s])
            out[r, j] = least + (prices[2] if m == 3 else 0.0)
    return out
