"""The compiled steps of the catch plan's proof: floats that meet, and a bound on their catches.

Apart from those of the plan itself, since most charts are settled without them and need not wait for
their compilation.
"""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(
    "Tuple((int32[:,::1], int32[::1]))(int32[:,::1], int32[::1], int32[::1], int64, int64, boolean)",
    cache=True,
    nogil=True,
)
def meeting_places(floats, offsets, places, R, N, stacked):  # type: ignore[no-untyped-def]
    """Pairs of places on one column in consecutive rounds, and the groups of floats they join.

    `places` int32: the column of each place. Returns int32 [pairs, 2] (lower, upper place) and
    int32 [floats]: the lowest float of the group each float belongs to.
    """
    head = np.full((R, N), -1, np.int32)
    after = np.full(places.size, -1, np.int32)
    owner = np.empty(places.size, np.int32)
    for f in range(floats.shape[0] - 1, -1, -1):
        for i in range(offsets[f], offsets[f] + floats[f, 3]):
            owner[i] = f
            after[i] = head[floats[f, 0], places[i]]
            head[floats[f, 0], places[i]] = i
    group = np.arange(floats.shape[0]).astype(np.int32)
    pairs = np.empty((places.size + 1, 2), np.int32)
    count = 0
    for i in range(places.size):
        r = floats[owner[i], 0] + 1
        if r == R and not stacked:
            continue
        j = head[r % R, places[i]]
        while j >= 0:
            if count == pairs.shape[0]:
                pairs = np.concatenate((pairs, np.empty_like(pairs)))
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
    return pairs[:count].copy(), group


@njit("float64(int64, int64, float64[::1], float64[::1], int64[::1], float64[::1])", cache=True)
def _cheapest(n, limit, toll, total, came, chosen):  # type: ignore[no-untyped-def]
    """Least of catches and tolls for one float; writes the places chosen, 0 or 1."""
    best = 0
    for p in range(1, n + 2):
        if best < p - limit - 1:  # the least has gone out of reach: look for the next
            best = p - limit - 1
            for q in range(best + 1, p):
                if total[q] < total[best]:
                    best = q
        elif total[p - 1] < total[best]:
            best = p - 1
        total[p] = total[best] + (1.0 + toll[p - 1] if p <= n else 0.0)
        came[p] = best
    chosen[:] = 0.0
    p = came[n + 1]
    while p > 0:
        chosen[p - 1] = 1.0
        p = came[p]
    return total[n + 1]


@njit(
    "void(int32[:,::1], int32[::1], int32[:,::1], int32[::1], int64, float64[::1], float64[::1],"
    " float64[::1], float64[::1], int64)",
    cache=True,
    nogil=True,
)
def raise_bound(  # type: ignore[no-untyped-def]
    floats, offsets, pairs, group, limit, price, drift, target, best, steps
):
    """Raise the least number of catches each group of floats can do with, as far as it goes.

    Lagrangian duality (Held & Karp 1971; step length after Polyak 1969): each rule "not both
    places of this pair" gets a price; with prices priced the floats can be placed one by one, and
    what that costs, less the prices, is a lower bound. `price`, `drift` float64 [pairs] and `best`
    float64 [floats] (the bound, at the lowest float of each group) are changed; groups whose bound
    is within one of `target` are left alone, since the number is whole.
    """
    F = floats.shape[0]
    size = 2
    for f in range(F):
        size = max(size, floats[f, 3] + 2)
    total = np.zeros(size)
    came = np.zeros(size, np.int64)
    T = offsets[F]
    chosen = np.zeros(T)
    toll = np.zeros(T)
    bound = np.zeros(F)
    norm = np.zeros(F)
    owner = np.empty(T, np.int32)
    for f in range(F):
        for i in range(offsets[f], offsets[f + 1]):
            owner[i] = group[f]
    loose = np.empty(F, np.int32)  # floats, and below pairs, of groups that are not settled
    priced = np.empty(pairs.shape[0], np.int32)
    n_loose = F
    n_priced = pairs.shape[0]
    for f in range(F):
        loose[f] = f
    for k in range(n_priced):
        priced[k] = k
    for _ in range(steps):
        kept = 0
        for j in range(n_loose):
            f = loose[j]
            if best[group[f]] <= target[group[f]] - 1 + 1e-6:
                loose[kept] = f
                kept += 1
                bound[f] = 0.0
                norm[f] = 0.0
                for i in range(offsets[f], offsets[f + 1]):
                    toll[i] = 0.0
        n_loose = kept
        if n_loose == 0:
            return
        kept = 0
        for j in range(n_priced):
            k = priced[j]
            g = owner[pairs[k, 0]]
            if best[g] <= target[g] - 1 + 1e-6:
                priced[kept] = k
                kept += 1
                toll[pairs[k, 0]] += price[k]
                toll[pairs[k, 1]] += price[k]
                bound[g] -= price[k]
        n_priced = kept
        for j in range(n_loose):
            f = loose[j]
            a = offsets[f]
            b = offsets[f + 1]
            bound[group[f]] += _cheapest(b - a, limit, toll[a:b], total, came, chosen[a:b])
        for j in range(n_priced):
            k = priced[j]
            g = owner[pairs[k, 0]]
            slope = chosen[pairs[k, 0]] + chosen[pairs[k, 1]] - 1.0 + 0.6 * drift[k]
            drift[k] = slope if price[k] > 0 or slope > 0 else 0.0
            norm[g] += drift[k] ** 2
        for j in range(n_loose):
            f = loose[j]
            if group[f] == f:
                best[f] = max(best[f], bound[f])
        for j in range(n_priced):
            k = priced[j]
            g = owner[pairs[k, 0]]
            if norm[g] > 0 and target[g] > bound[g]:
                price[k] = max(0.0, price[k] + (target[g] - bound[g]) / norm[g] * drift[k])
