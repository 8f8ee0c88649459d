"""The compiled steps of the catch plan's proof: floats that meet, and a bound on their catches.

Apart from those of the plan itself, since most charts are settled without them and need not wait for
their compilation.
"""

from __future__ import annotations

from pic2chart.solve.native import Bytes1, Floats1, Ints1, Shorts1, Shorts2, kernel


@kernel
def meeting_places(
    floats: Shorts2,
    offsets: Shorts1,
    places: Shorts1,
    stacked: bool,
    pairs: Shorts2,
    group: Shorts1,
    head: Shorts2,
    after: Shorts1,
    owner: Shorts1,
) -> int:
    """Pairs of places on one column in consecutive rounds, and the groups of floats they join.

    `places` int32: the column of each place. Returns how many pairs there are. As many as there is room
    for are written to `pairs` int32 [pairs, 2] (lower, upper place), and to `group` int32 [floats] the
    lowest float of the group each float belongs to. `head` int32 [R, N], `after` and `owner` int32
    [places]: room.
    """
    R = head.shape[0]
    for r in range(R):
        for c in range(head.shape[1]):
            head[r, c] = -1
    for f in range(floats.shape[0] - 1, -1, -1):
        for i in range(offsets[f], offsets[f] + floats[f, 3]):
            owner[i] = f
            after[i] = head[floats[f, 0], places[i]]
            head[floats[f, 0], places[i]] = i
    for f in range(floats.shape[0]):
        group[f] = f
    count = 0
    for i in range(places.shape[0]):
        r = floats[owner[i], 0] + 1
        if r == R and not stacked:
            continue
        j = head[r % R, places[i]]
        while j >= 0:
            if count < pairs.shape[0]:
                pairs[count, 0] = i
                pairs[count, 1] = j
            count += 1
            a, b = owner[i], owner[j]
            while group[a] != a:
                a = group[a]
            while group[b] != b:
                b = group[b]
            group[max(a, b)] = min(a, b)
            j = after[j]
    for f in range(floats.shape[0]):
        group[f] = group[group[f]]
    return count


def _cheapest(
    n: int,
    limit: int,
    start: int,
    toll: Floats1,
    total: Floats1,
    came: Ints1,
    chosen: Bytes1,
) -> float:
    """Least of catches and tolls for one float; writes the places chosen, 0 or 1, from `start` on."""
    best = 0
    for p in range(1, n + 2):
        if best < p - limit - 1:  # the least has gone out of reach: look for the next
            best = p - limit - 1
            for q in range(best + 1, p):
                if total[q] < total[best]:
                    best = q
        elif total[p - 1] < total[best]:
            best = p - 1
        total[p] = total[best] + (1.0 + toll[start + p - 1] if p <= n else 0.0)
        came[p] = best
    for p in range(n):
        chosen[start + p] = 0
    p = came[n + 1]
    while p > 0:
        chosen[start + p - 1] = 1
        p = came[p]
    return float(total[n + 1])


@kernel
def raise_bound(
    floats: Shorts2,
    offsets: Shorts1,
    pairs: Shorts2,
    group: Shorts1,
    owner: Shorts1,
    limit: int,
    price: Floats1,
    drift: Floats1,
    target: Floats1,
    best: Floats1,
    steps: int,
    own: Shorts1,
    toll: Floats1,
    chosen: Bytes1,
    bound: Floats1,
    norm: Floats1,
    worth: Floats1,
    is_new: Bytes1,
    total: Floats1,
    came: Ints1,
    loose: Shorts1,
    priced: Shorts1,
    active: Shorts1,
) -> None:
    """Raise the least number of catches each group of floats can do with, as far as it goes.

    Lagrangian duality (Held & Karp 1971; step length after Polyak 1969): each rule "not both
    places of this pair" gets a price; with prices paid the floats can be placed one by one, and
    what that costs, less the prices, is a lower bound. `price`, `drift` float64 [pairs] and `best`
    float64 [floats] (the bound, at the lowest float of each group) are changed; groups whose bound
    is within one of `target` are left alone, since the number is whole. `owner`, `own` int32 [places]: the
    group and the float of each place. Room, all 0: `toll` and `chosen` [places], `bound`, `norm`, `worth`
    and `is_new` [floats], `total` and `came` [the longest float's stitches and two], `loose` [floats],
    `priced` and `active` [pairs]. A float whose prices stay is not placed again, and of the pairs that
    cost nothing only those are looked at both places of which are chosen.
    """
    n_loose, n_priced = floats.shape[0], pairs.shape[0]  # of groups that are not settled
    for f in range(n_loose):
        loose[f] = f
        is_new[f] = 1
    for k in range(n_priced):
        priced[k] = active[k] = k
    n_active = n_priced  # of those, pairs with a price or a drift
    total[0] = 0.0
    for _ in range(steps):
        before = n_loose
        n_loose = 0
        for j in range(before):
            f = loose[j]
            if best[group[f]] <= target[group[f]] - 1 + 1e-6:
                loose[n_loose] = f
                n_loose += 1
                bound[f] = norm[f] = 0.0
                for i in range(offsets[f], offsets[f + 1] if is_new[f] else 0):
                    toll[i] = 0.0
        if n_loose == 0:
            return
        if n_loose < before:
            n_priced = _unsettled(priced, n_priced, pairs, owner, best, target)
            n_active = _unsettled(active, n_active, pairs, owner, best, target)
        for j in range(n_active):
            k = active[j]
            a, b = pairs[k, 0], pairs[k, 1]
            bound[owner[a]] -= price[k]
            if is_new[own[a]]:
                toll[a] += price[k]
            if is_new[own[b]]:
                toll[b] += price[k]
        for j in range(n_loose):
            f = loose[j]
            if is_new[f]:
                worth[f] = _cheapest(floats[f, 3], limit, offsets[f], toll, total, came, chosen)
                is_new[f] = 0
            bound[group[f]] += worth[f]
        n_active = 0
        for j in range(n_priced):
            k = priced[j]
            both = chosen[pairs[k, 0]] + chosen[pairs[k, 1]]
            if both < 2 and price[k] == 0 and drift[k] == 0:
                continue
            slope = both - 1.0 + 0.6 * drift[k]
            drift[k] = slope if price[k] > 0 or slope > 0 else 0.0
            norm[owner[pairs[k, 0]]] += drift[k] ** 2
            active[n_active] = k
            n_active += 1
        for j in range(n_loose):
            f = loose[j]
            if group[f] == f:
                best[f] = max(best[f], bound[f])
        for j in range(n_active):
            k = active[j]
            g = owner[pairs[k, 0]]
            if norm[g] > 0 and target[g] > bound[g]:
                was = price[k]
                price[k] = max(0.0, was + (target[g] - bound[g]) / norm[g] * drift[k])
                if price[k] != was:
                    is_new[own[pairs[k, 0]]] = is_new[own[pairs[k, 1]]] = 1


def _unsettled(
    listed: Shorts1, count: int, pairs: Shorts2, owner: Shorts1, best: Floats1, target: Floats1
) -> int:
    """Keep of the listed pairs those whose group is not settled: how many there are."""
    kept = 0
    for j in range(count):
        g = owner[pairs[listed[j], 0]]
        if best[g] <= target[g] - 1 + 1e-6:
            listed[kept] = listed[j]
            kept += 1
    return kept
