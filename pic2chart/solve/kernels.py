"""The solver's compiled kernels, all in this one file.

One round is a closed walk on a small trellis (see `trellis`). A state holds the yarn of the current
stitch and for every other yarn of the round the length of its running float, folded modulo
`limit + 1` where long floats are caught, since a catch is charged each time a running float reaches
a multiple of `limit + 1`. On the circle the walk must end in the state it began with: a lap from a
set of start states gives a lower bound, and splitting the set until start and end agree gives the
optimum exactly (branch and bound over a tail-biting trellis).

What is called from outside stands last; the rest is compiled into it. Shapes: R rounds, N stitches a
round, K yarns, S states of a trellis; n live stitches of the round at work, numbered 0 … n-1 in
knitting order; m yarns of the subset at work, numbered 0 … m-1. HUGE stands for 'not allowed'.
"""

from __future__ import annotations

from pic2chart.model.chart import NO_STITCH
from pic2chart.solve.native import (
    Bytes1,
    Bytes2,
    Floats1,
    Floats2,
    Floats3,
    Ints1,
    Ints2,
    Shorts1,
    Shorts2,
    Truths1,
    kernel,
)
from pic2chart.solve.round_data import Choice, Constraints, Costs, GridCosts, Workspace
from pic2chart.solve.trellis import Trellis

HUGE = 1e12
"""Cost of what is not allowed; a total at or above HUGE / 2 means the round cannot be worked."""
EPS = 1e-9
"""A choice is better only if it is better by more than this, so that equal ones never alternate."""


# --- The chart around a round ---------------------------------------------------------------------


def _rounds_beside(r: int, rounds: int, stacked: bool) -> tuple[int, int]:
    """The rounds below and above round r, -1 for none; stacked charts close from three rounds on."""
    below, above = r - 1, r + 1
    if stacked and rounds >= 3:
        return below % rounds, above % rounds
    return below, above if above < rounds else -1


def _within(c: int, width: int, circular: bool) -> int:
    """Column c, at most one past an edge, on the circle; -1 past an edge of a flat row."""
    if 0 <= c < width:
        return c
    if not circular:
        return -1
    return c + width if c < 0 else c - width


def _met(x: Bytes2, q: int, c: int, circular: bool) -> int:
    """The yarns of round q (-1: no round) at columns c-1 … c+1, as a bit mask."""
    found = 0
    for d in range(-1, 2 if q >= 0 else -1):
        column = _within(c + d, x.shape[1], circular)
        if column >= 0 and x[q, column] != NO_STITCH:
            found |= 1 << x[q, column]
    return found


def _beside(x: Bytes2, q: int, c: int, circular: bool) -> bool:
    """Whether the previous or next live stitch of round q has the yarn of its stitch at column c."""
    for sign in range(-1, 2, 2):
        column = c
        for _ in range(x.shape[1] - 1):
            column = _within(column + sign, x.shape[1], circular)
            if column < 0:
                break
            if x[q, column] != NO_STITCH:
                if x[q, column] == x[q, c]:
                    return True
                break
    return False


# --- Costs of one round, given its neighbours -----------------------------------------------------


def _describe(
    r: int, x: Bytes2, grid: GridCosts, constraints: Constraints, coupled: bool, w: Workspace
) -> tuple[int, float]:
    """Fill w.columns, place, whole and missing for round r; return (live stitches, constant)."""
    n = 0
    for c in range(x.shape[1]):
        w.place[c] = -1
        if x[r, c] != NO_STITCH:
            w.columns[n] = c
            w.place[c] = n
            n += 1
    _price_stitches(r, n, grid, w)
    if not coupled:
        return n, 0.0
    below, above = _rounds_beside(r, x.shape[0], constraints.stacked)
    if below >= 0:
        _price_differences(x[below], grid.weight_v[below], n, w)
    if above >= 0:
        _price_differences(x[above], grid.weight_v[r], n, w)
    constant = 0.0
    if constraints.isolated > 0.0:
        _price_runs_of_one(x, below, above, n, constraints, w)
        if below >= 0:
            constant += _price_rescues(x, below, r, constraints, w)
        if above >= 0:
            constant += _price_rescues(x, above, r, constraints, w)
    return n, constant


def _price_stitches(r: int, n: int, grid: GridCosts, w: Workspace) -> None:
    """Costs of round r's stitches by themselves, all else 0."""
    costs = w.whole
    yarns = w.missing.shape[0]
    for k in range(yarns):
        w.missing[k] = 0.0
    for i in range(n):
        c = w.columns[i]
        costs.change[i] = grid.weight_h[r, c]
        w.form[i] = grid.form[r, c]
        for k in range(yarns):
            costs.own[i, k] = grid.cost[r, c, k]
            costs.lone[i, k] = 0.0
            costs.two[i, k] = 0.0
            costs.three[i, k] = 0.0


def _price_differences(other: Bytes1, weights: Floats1, n: int, w: Workspace) -> None:
    """Add the price of every yarn but the one the adjacent round `other` uint8 [N] has there."""
    own = w.whole.own
    for i in range(n):
        c = w.columns[i]
        if other[c] == NO_STITCH:
            continue
        for k in range(own.shape[1]):
            if k != other[c]:
                own[i, k] += weights[c]


def _price_runs_of_one(
    x: Bytes2, below: int, above: int, n: int, constraints: Constraints, w: Workspace
) -> None:
    """A run of one pays where none of the six stitches below and above has its yarn."""
    lone = w.whole.lone
    for i in range(n):
        c = w.columns[i]
        met = _met(x, below, c, constraints.circular) | _met(x, above, c, constraints.circular)
        for k in range(lone.shape[1]):
            if not met >> k & 1:
                lone[i, k] = constraints.isolated


def _price_rescues(x: Bytes2, q: int, r: int, constraints: Constraints, w: Workspace) -> float:
    """Price the stitches of the adjacent round q that only round r can keep from being isolated.

    Each such stitch touches one, two or three live stitches of round r, which follow one another. It
    is isolated when they all miss its yarn. Return what is charged in advance.
    """
    costs = w.whole
    under, over = _rounds_beside(q, x.shape[0], constraints.stacked)
    far = under if over == r else over
    constant = 0.0
    for c in range(x.shape[1]):
        k = x[q, c]
        if (
            k == NO_STITCH
            or _beside(x, q, c, constraints.circular)
            or _met(x, far, c, constraints.circular) >> k & 1
        ):
            continue
        hits, last = _touched(c, constraints.circular, w.place)
        if hits == 1:
            constant += constraints.isolated
            costs.own[last, k] -= constraints.isolated
        elif hits == 2:
            costs.two[last, k] += constraints.isolated
            w.missing[k] += constraints.isolated
        elif hits == 3:
            costs.three[last, k] += constraints.isolated
            w.missing[k] += constraints.isolated
    return constant


def _touched(c: int, circular: bool, place: Ints1) -> tuple[int, int]:
    """How many live stitches lie at columns c-1 … c+1, each counted once, and the last of them."""
    width = place.shape[0]
    hits, last = 0, -1
    for d in range(-1, 2):
        column = _within(c + d, width, circular)
        doubled = circular and d + 1 >= width
        if column >= 0 and place[column] >= 0 and not doubled:
            hits += 1
            last = place[column]
    return hits, last


def _form_cost(form: float, role: int) -> float:
    """What it costs a stitch to have the lightest (1), darkest (-1) or a middle (0) yarn."""
    if role == 0:
        return 0.5 * abs(form)
    return max(0.0, -role * form)


def _role(n: int, m: int, q: int, j: int, choice: Choice, w: Workspace) -> int:
    """The role of the q-th of m yarns of subset j; one alone takes the cheaper."""
    if m > 1:
        return int(choice.role[j, q])
    light, dark = 0.0, 0.0
    for i in range(n):
        light += _form_cost(w.form[i], 1)
        dark += _form_cost(w.form[i], -1)
    return 1 if light <= dark else -1


def _localise(n: int, m: int, j: int, choice: Choice, w: Workspace) -> None:
    """Copy the columns of the yarns w.member[:m] of subset j from w.whole into w.local."""
    whole, local, member = w.whole, w.local, w.member
    for q in range(m):
        role = _role(n, m, q, j, choice, w)
        for i in range(n):
            local.own[i, q] = whole.own[i, member[q]] + _form_cost(w.form[i], role)
    for i in range(n):
        flag = False
        for q in range(m):
            k = member[q]
            local.lone[i, q] = whole.lone[i, k]
            local.two[i, q] = whole.two[i, k]
            local.three[i, q] = whole.three[i, k]
            if whole.two[i, k] != 0.0 or whole.three[i, k] != 0.0:
                flag = True
        local.flagged[i] = flag


# --- The cost of one sequence ---------------------------------------------------------------------


def _sequence_cost(n: int, m: int, seq: Ints1, costs: Costs, constraints: Constraints) -> float:
    """The true cost of a sequence int64 [n] of the local yarns 0 … m-1."""
    closed = constraints.circular and n > 1
    total: float = _float_cost(n, m, seq, constraints)
    for i in range(n):
        k = seq[i]
        before = i - 1 if i > 0 else (n - 1 if closed else -1)
        after = i + 1 if i < n - 1 else (0 if closed else -1)
        fresh = before < 0 or seq[before] != k
        total += costs.own[i, k]
        if fresh and (after < 0 or seq[after] != k):
            total += costs.lone[i, k]
        if before < 0:
            continue
        if fresh:
            total += costs.change[i]
        earlier = before - 1 if before > 0 else (n - 1 if closed else -1)
        for o in range(m):
            if o != k and o != seq[before]:
                total += costs.two[i, o]
                if earlier >= 0 and o != seq[earlier]:
                    total += costs.three[i, o]
    return total


def _float_cost(n: int, m: int, seq: Ints1, constraints: Constraints) -> float:
    """Catches of all floats of a sequence, on the circle or to the edges; HUGE if not allowed."""
    total = 0.0
    for k in range(m):
        first = 0
        while first < n and seq[first] != k:
            first += 1
        if first == n:
            continue
        run = 0 if constraints.circular else first
        for i in range(first, n):
            if seq[i] == k:
                total += _one_float(run, constraints)
                run = 0
            else:
                run += 1
        total += _one_float(run + first if constraints.circular else run, constraints)
    return total


def _one_float(length: int, constraints: Constraints) -> float:
    """Price of one float of `length` stitches."""
    if length <= constraints.limit:
        return 0.0
    return HUGE if constraints.breaking else constraints.catch * (length // (constraints.limit + 1))


# --- The best sequence of one round with the yarns of one subset ----------------------------------


def _lap(
    n: int,
    steps: int,
    shift: int,
    t: Trellis,
    costs: Costs,
    constraints: Constraints,
    f: Floats1,
    g: Floats1,
    back: Shorts2,
) -> None:
    """Walk `steps` stitches on from live stitch `shift`.

    `f` [S]: cost of each start state in, least cost of each end state out; `g` [S]: room; `back`
    [steps+1, S]: the state each state was reached from. What cannot be reached costs about HUGE.
    """
    here = shift
    for step in range(1, steps + 1):
        was, here = here, here + 1 if here + 1 < n else 0
        if t.nxt.shape[1] == 2:
            _step_of_two(was, here, t.nxt.shape[0] // 2, costs, constraints, f, back[step])
        else:
            _step_of_three(was, here, t, costs, constraints, f, g, back[step])
            for y in range(t.nxt.shape[0]):
                f[y] = g[y]


def _step_of_two(
    was: int,
    here: int,
    lengths: int,
    costs: Costs,
    constraints: Constraints,
    f: Floats1,
    back: Shorts1,
) -> None:
    """One stitch with two yarns, f in place, by the order of the states: yarn, then one of so many
    lengths of the other's float.

    Going on with a yarn makes the other's float one longer; a change begins a float of one. Only
    where a state may be reached from several is it written to `back` (see `_trace`).
    """
    other, changed = 0.0, 0.0
    for c in range(2):
        o = 1 - c
        low, high = c * lengths, (c + 1) * lengths
        head, last = f[low], f[high - 1]
        after_one = costs.own[here, c] + costs.two[here, o]
        after_more = after_one + costs.three[here, o]
        turn, least = low, HUGE * HUGE
        for s in range(high - 1, low, -1):
            if f[s] <= least:
                turn, least = s, f[s]
            if s > low + 1:
                f[s] = f[s - 1] + after_more
        if not least < head + costs.lone[was, c]:
            turn, least = low, head + costs.lone[was, c]
        back[o * lengths] = turn
        least = least + costs.change[here] + costs.own[here, o]
        if lengths > 1:
            f[low + 1] = head + after_one
            back[low + 1] = low
            if not constraints.breaking:
                folded = last + after_one + costs.three[here, o]
                if folded < f[low + 1]:
                    f[low + 1] = folded
                    back[low + 1] = high - 1
                f[low + constraints.limit] += constraints.catch
        other, changed = changed, least
    f[0], f[lengths] = changed, other


def _step_of_three(
    was: int,
    here: int,
    t: Trellis,
    costs: Costs,
    constraints: Constraints,
    f: Floats1,
    g: Floats1,
    back: Shorts1,
) -> None:
    """One stitch with three yarns, by the tables of the trellis."""
    own, two, three = costs.own[here], costs.two[here], costs.three[here]
    flagged, change = costs.flagged[here], costs.change[here]
    states = t.nxt.shape[0]
    for y in range(states):
        g[y] = HUGE
    for s in range(states):
        stay = f[s]
        if stay >= HUGE:
            continue
        c, p = t.colour[s], t.previous[s]
        leave = stay + change + (costs.lone[was, c] if p != c else 0.0)
        for q in range(3):
            y = t.nxt[s, q]
            if y < 0:
                continue
            v = (stay if q == c else leave) + own[q] + constraints.catch * t.pay[s, q]
            if flagged:
                for o in range(3):
                    if o != q and o != c:
                        v += two[o] + (three[o] if o != p else 0.0)
            if v < g[y]:
                g[y] = v
                back[y] = s


def _trace(n: int, steps: int, shift: int, end: int, t: Trellis, back: Shorts2, seq: Ints1) -> int:
    """Read the sequence of a walk off its back pointers; return the state it began with.

    With two yarns a float of more than two stitches was one shorter in the state before.
    """
    lengths = t.nxt.shape[0] // 2
    s, here = end, (shift + steps) % n
    for step in range(steps, 0, -1):
        seq[here] = t.colour[s]
        here = here - 1 if here > 0 else n - 1
        s = s - 1 if t.nxt.shape[1] == 2 and s % lengths >= 2 else back[step, s]
    if steps < n:
        seq[shift] = t.colour[s]
    return s


def _cut(n: int, m: int, own: Floats2) -> int:
    """Where to cut the circle: after the surest change of yarn, so that few states compete."""
    best, at = -1.0, 0
    for i in range(n):
        j = i - 1 if i > 0 else n - 1
        a, b = 0, 0
        for q in range(1, m):
            if own[i, q] < own[i, a]:
                a = q
            if own[j, q] < own[j, b]:
                b = q
        if a == b:
            continue
        sure = min(own[i, b] - own[i, a], own[j, a] - own[j, b])
        if sure > best:
            best, at = sure, i
    return at


def _best_walk(
    n: int, m: int, t: Trellis, constraints: Constraints, ceiling: float, w: Workspace
) -> float:
    """The least cost under `ceiling` of a round with the trellis t, its sequence in w.best.

    `ceiling` if there is none. Worked flat one lap from edge to edge is exact.
    """
    states = t.colour.shape[0]
    shift, steps = 0, n - 1
    if constraints.circular:
        shift, steps = _cut(n, m, w.local.own), n
    best = ceiling
    for s in range(states):
        w.masks[0, s] = t.loop[s]
    w.bounds[0] = -HUGE
    top = 1
    while top > 0:
        top -= 1
        if w.bounds[top] >= best - EPS:
            continue
        _start(states, m, t, constraints.circular, w.masks[top], w)
        _lap(n, steps, shift, t, w.local, constraints, w.f, w.g, w.back)
        end = _end(n, states, t, constraints.circular, w.masks[top], w)
        if end < 0 or w.f[end] >= best - EPS:
            continue
        start = _trace(n, steps, shift, end, t, w.back, w.trial)
        true = _sequence_cost(n, m, w.trial, w.local, constraints)
        if true < best - EPS:
            best = true
            for i in range(n):
                w.best[i] = w.trial[i]
        if constraints.circular and start != end and w.f[end] < best - EPS:
            top = _split(top, states, (start + end) // 2, best, w)
    return best


def _start(states: int, m: int, t: Trellis, circular: bool, mask: Bytes1, w: Workspace) -> None:
    """Fill w.f with the cost of each start state: those in `mask`, flat a first stitch each yarn."""
    for s in range(states):
        w.f[s] = 0.0 if circular and mask[s] else HUGE
    if not circular:
        for q in range(m):
            w.f[t.first[q]] = w.local.own[0, q]


def _end(n: int, states: int, t: Trellis, circular: bool, mask: Bytes1, w: Workspace) -> int:
    """The best end state in w.f, -1 if there is none; flat, a last stitch may be a run of one."""
    end, least = -1, HUGE
    for s in range(states):
        if not circular and t.previous[s] != t.colour[s]:
            w.f[s] += w.local.lone[n - 1, t.colour[s]]
        if (mask[s] or not circular) and w.f[s] < least:
            end, least = s, w.f[s]
    return end


def _split(top: int, states: int, middle: int, best: float, w: Workspace) -> int:
    """Part the start states at `top` into those up to `middle` and those after it; the new top.

    f[s] is a lower bound of every closed walk through s: states that cannot better `best` are left
    out, and the more promising part comes to lie uppermost.
    """
    low, high = HUGE, HUGE
    for s in range(states):
        inside = w.masks[top, s] and w.f[s] < best - EPS
        if inside and s <= middle:
            low = min(low, w.f[s])
        elif inside:
            high = min(high, w.f[s])
    first, second = (top, top + 1) if low > high else (top + 1, top)
    for s in range(states):
        inside = w.masks[top, s] and w.f[s] < best - EPS
        w.masks[first, s] = 1 if inside and s <= middle else 0
        w.masks[second, s] = 1 if inside and s > middle else 0
    w.bounds[first], w.bounds[second] = low, high
    return top + 2


# --- One round among all subsets of yarns ---------------------------------------------------------


def _bits(mask: int) -> int:
    """How many yarns a mask holds."""
    count = 0
    while mask:
        mask &= mask - 1
        count += 1
    return count


def _members(mask: int, out: Ints1) -> int:
    """Write the yarns of a mask to `out` in order; return how many."""
    count, k = 0, 0
    while mask:
        if mask & 1:
            out[count] = k
            count += 1
        mask >>= 1
        k += 1
    return count


def _price_sets(
    r: int, carried_set: Ints1, choice: Choice, constraints: Constraints, keep: bool, w: Workspace
) -> None:
    """Fill w.set_price: yarns carried, and taken up at round r and after it.

    With `keep` only carried_set[r] may be.
    """
    below, above = _rounds_beside(r, carried_set.shape[0], constraints.stacked)
    sets = choice.sets
    for p in range(sets.shape[0]):
        price = HUGE if keep and p != carried_set[r] else choice.hold[r, p]
        if below >= 0:
            price += constraints.join * _bits(sets[p] & ~sets[carried_set[below]])
        if above >= 0:
            price += constraints.join * _bits(sets[carried_set[above]] & ~sets[p])
        w.set_price[p] = price


def _price_subset(j: int, n: int, constant: float, now: int, choice: Choice, w: Workspace) -> None:
    """Fill w.price, w.set_of and w.least of subset j; the set `now` carried wins a draw."""
    w.price[j] = HUGE
    if choice.subsets[j] & ~choice.sets[now] == 0:
        w.price[j], w.set_of[j] = w.set_price[now], now
    for p in range(choice.sets.shape[0]):
        if choice.subsets[j] & ~choice.sets[p] == 0 and w.set_price[p] < w.price[j] - EPS:
            w.price[j], w.set_of[j] = w.set_price[p], p
    m = _members(choice.subsets[j], w.member)
    w.price[j] += constant + choice.price[j]
    for k in range(w.missing.shape[0]):
        if not choice.subsets[j] >> k & 1:
            w.price[j] += w.missing[k]
    least = w.price[j]
    for i in range(n):
        nearest = HUGE
        for q in range(m):
            form = _form_cost(w.form[i], choice.role[j, q]) if m > 1 else 0.0
            nearest = min(nearest, w.whole.own[i, w.member[q]] + form)
        least += nearest
    w.least[j] = least if n >= m else HUGE


def _cost_now(
    r: int, n: int, x: Bytes2, choice: Choice, constraints: Constraints, w: Workspace
) -> tuple[float, int]:
    """(cost, subset) of round r as it is, its sequence in w.keep; (HUGE / 2, -1) if not allowed."""
    mask = 0
    for i in range(n):
        mask |= 1 << x[r, w.columns[i]]
    for j in range(choice.subsets.shape[0]):
        if choice.subsets[j] != mask:
            continue
        m = _members(mask, w.member)
        _localise(n, m, j, choice, w)
        for i in range(n):
            for q in range(m):
                if w.member[q] == x[r, w.columns[i]]:
                    w.keep[i] = q
        cost = w.price[j] + _sequence_cost(n, m, w.keep, w.local, constraints)
        if cost < HUGE / 2:
            return cost, j
    return HUGE / 2, -1


def _best_subset(
    n: int, best: float, at: int, choice: Choice, constraints: Constraints, w: Workspace
) -> int:
    """The subset that betters cost `best` of subset `at` most, its sequence in w.keep; else `at`.

    The subsets are tried in the order of their lower bounds, until these reach the best cost.
    """
    for _ in range(choice.subsets.shape[0]):
        j = 0
        for other in range(1, w.least.shape[0]):
            if w.least[other] < w.least[j]:
                j = other
        if w.least[j] >= best - EPS:
            break
        w.least[j] = HUGE
        m = _members(choice.subsets[j], w.member)
        _localise(n, m, j, choice, w)
        ceiling = best - w.price[j]
        if m == 1:
            for i in range(n):
                w.best[i] = 0
            value = _sequence_cost(n, m, w.best, w.local, constraints)
        else:
            value = _best_walk(
                n, m, choice.two if m == 2 else choice.three, constraints, ceiling, w
            )
        if value < ceiling - EPS:
            best, at = w.price[j] + value, j
            for i in range(n):
                w.keep[i] = w.best[i]
    return at


def _apply(r: int, n: int, subset: int, x: Bytes2, w: Workspace) -> bool:
    """Write the sequence in w.keep to round r; return whether a stitch changed."""
    _members(subset, w.member)
    changed = False
    for i in range(n):
        k = w.member[w.keep[i]]
        if x[r, w.columns[i]] != k:
            x[r, w.columns[i]] = k
            changed = True
    return changed


# --- Called from outside --------------------------------------------------------------------------


@kernel
def sweep(
    x: Bytes2,
    carried_set: Ints1,
    order: Ints1,
    grid: GridCosts,
    constraints: Constraints,
    choice: Choice,
    w: Workspace,
    coupled: bool,
    keep_sets: bool,
    blocked: Truths1,
    stale: Truths1,
) -> int:
    """One exact step for each stale round in `order`, given its neighbours; return how many changed.

    x uint8 [R, N] and carried_set int64 [R] (indices into choice.sets) are changed in place.
    `coupled` False leaves out everything between the stitches of different rounds; `keep_sets`
    solves each round with the yarns it carries. blocked bool [R] is set where no sequence is
    allowed. stale bool [R]: rounds whose surroundings have changed since their last step; another
    step would leave the rest as they are.
    """
    changed = 0
    for turn in range(order.shape[0]):
        r = order[turn]
        if not stale[r]:
            continue
        stale[r] = False
        n, constant = _describe(r, x, grid, constraints, coupled, w)
        if n == 0:
            continue
        _price_sets(r, carried_set, choice, constraints, keep_sets, w)
        for j in range(choice.subsets.shape[0]):
            _price_subset(j, n, constant, carried_set[r], choice, w)
        best, at = HUGE / 2, -1
        if coupled:
            best, at = _cost_now(r, n, x, choice, constraints, w)
        at = _best_subset(n, best, at, choice, constraints, w)
        if at < 0:
            blocked[r] = True
            continue
        different = _apply(r, n, choice.subsets[at], x, w) or carried_set[r] != w.set_of[at]
        carried_set[r] = w.set_of[at]
        changed += different
        for q in range(r - 2, r + 3):  # the rounds that see this one
            if different and q != r and (constraints.stacked or 0 <= q < x.shape[0]):
                stale[q % x.shape[0]] = True
    return changed


@kernel
def set_bounds(
    x: Bytes2,
    grid: GridCosts,
    constraints: Constraints,
    choice: Choice,
    w: Workspace,
    bounds: Floats2,
) -> None:
    """Fill `bounds` [R, J], a lower bound of each round with each subset, the rounds uncoupled."""
    for r in range(x.shape[0]):
        n, _ = _describe(r, x, grid, constraints, False, w)
        for j in range(choice.subsets.shape[0]):
            m = _members(choice.subsets[j], w.member)
            bounds[r, j] = 0.0
            if n > 0:
                _localise(n, m, j, choice, w)
                bounds[r, j] = (
                    _subset_bound(n, m, choice, constraints, w) + choice.price[j]
                    if n >= m
                    else HUGE
                )


def _subset_bound(n: int, m: int, choice: Choice, constraints: Constraints, w: Workspace) -> float:
    """A lower bound of the round with the m yarns in w.local: one lap that need not close."""
    if m == 1:
        total = 0.0
        for i in range(n):
            total += w.local.own[i, 0]
        return total
    t = choice.two if m == 2 else choice.three
    states = t.colour.shape[0]
    shift, steps = 0, n - 1
    if constraints.circular:
        shift, steps = _cut(n, m, w.local.own), n
    for s in range(states):
        w.masks[0, s] = t.loop[s]
    _start(states, m, t, constraints.circular, w.masks[0], w)
    _lap(n, steps, shift, t, w.local, constraints, w.f, w.g, w.back)
    end = _end(n, states, t, constraints.circular, w.masks[0], w)
    return float(w.f[end]) if end >= 0 else HUGE


# --- For the bound: rounds and columns, each by themselves ----------------------------------------


@kernel
def best_rounds(
    x: Bytes2,
    carried_set: Ints1,
    grid: GridCosts,
    constraints: Constraints,
    choice: Choice,
    w: Workspace,
    values: Floats1,
) -> None:
    """Put each round at its best by itself, with the yarns it carries.

    x uint8 [R, N] is changed in place, and each round begins from what it is; `values` [R] takes the
    least costs, isolated stitches and other rounds left out (HUGE: no sequence is allowed).
    """
    for r in range(x.shape[0]):
        n, _ = _describe(r, x, grid, constraints, False, w)
        values[r] = 0.0
        if n == 0:
            continue
        for p in range(choice.sets.shape[0]):
            w.set_price[p] = 0.0 if p == carried_set[r] else HUGE
        for j in range(choice.subsets.shape[0]):
            _price_subset(j, n, 0.0, carried_set[r], choice, w)
        best, at = _cost_now(r, n, x, choice, constraints, w)
        at = _best_subset(n, best, at, choice, constraints, w)
        values[r] = HUGE
        if at >= 0:
            m = _members(choice.subsets[at], w.member)
            _localise(n, m, at, choice, w)
            values[r] = choice.price[at] + _sequence_cost(n, m, w.keep, w.local, constraints)
            _apply(r, n, choice.subsets[at], x, w)


@kernel
def best_columns(
    y: Bytes2, cost: Floats3, weight_v: Floats2, closed: bool, f: Floats1, g: Floats1, back: Ints2
) -> float:
    """Put each column at its best by itself: stitches and their differences upwards; the least cost.

    y uint8 [R, N] is changed in place where it is not NO_STITCH; cost [R, N, K]; weight_v [R, N] as in
    Grid. `closed`: the last round is followed by the first.
    """
    rounds, width, yarns = cost.shape[0], cost.shape[1], cost.shape[2]
    total = 0.0
    for c in range(width):
        least, best_first, best_last = HUGE, -1, -1
        for first in range(yarns if closed else 1):
            _climb(c, first if closed else -1, y, cost, weight_v, f, g, back)
            for k in range(yarns):
                value = f[k]
                if closed and k != first and y[rounds - 1, c] != NO_STITCH and y[0, c] != NO_STITCH:
                    value += weight_v[rounds - 1, c]
                if value < least:
                    least, best_first, best_last = value, first, k
        if closed:
            _climb(c, best_first, y, cost, weight_v, f, g, back)
        k = best_last
        for r in range(rounds - 1, -1, -1):
            if y[r, c] != NO_STITCH:
                y[r, c] = k
            k = back[r, k]
        total += least
    return total


def _climb(
    c: int,
    first: int,
    y: Bytes2,
    cost: Floats3,
    weight_v: Floats2,
    f: Floats1,
    g: Floats1,
    back: Ints2,
) -> None:
    """Fill f [K] with the least cost of column c up to each yarn of its last stitch.

    `first`: the yarn it begins with, -1 for any. back [R, K]: the yarn below each.
    """
    rounds, yarns = cost.shape[0], cost.shape[2]
    for k in range(yarns):
        f[k] = cost[0, c, k] if first < 0 or k == first else HUGE
        back[0, k] = k
    for r in range(1, rounds):
        lowest = 0
        for k in range(1, yarns):
            if f[k] < f[lowest]:
                lowest = k
        meets = y[r, c] != NO_STITCH and y[r - 1, c] != NO_STITCH
        change = f[lowest] + (weight_v[r - 1, c] if meets else 0.0)
        for k in range(yarns):
            back[r, k] = k if f[k] <= change else lowest
            g[k] = min(f[k], change) + cost[r, c, k]
        for k in range(yarns):
            f[k] = g[k]
