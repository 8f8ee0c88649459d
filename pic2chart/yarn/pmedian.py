"""Choosing k of m candidates so that everything lies near one of them: the p-median problem.

Greedy start, then the best swap of a chosen for an unchosen candidate until no swap helps
(Teitz & Bart, Operations Research 16, 1968). Plain arrays; no ties are left to chance.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Members = tuple[int, ...]

SHORTFALL_PRICE = 4.0
"""What (ΔL* missing)² costs beside (colour error)²: a gap 5 too small weighs as much as 10 ΔE."""


def cluster(lab: Floats, weight: Floats, most: int = 200) -> tuple[Floats, Floats]:
    """Gather colours [n, 3] of weight [n] into at most `most` means [c, 3] of weight [c].

    Colours sharing a cell of a lattice in Lab are merged, the lattice just coarse enough. Colours
    of no weight are left out.
    """
    heavy = weight > 0
    step = 1.0
    means, masses = _merge(lab[heavy], weight[heavy], step)
    fine = means, masses
    while len(masses) > most:
        step *= 1.2
        means, masses = _merge(*fine, step)
    return means, masses


def _merge(lab: Floats, weight: Floats, step: float) -> tuple[Floats, Floats]:
    cells = np.floor(lab / step).astype(np.int64)
    cells -= cells.min(axis=0, initial=0)
    sides = cells.max(axis=0, initial=0) + 1
    code = (cells[:, 0] * sides[1] + cells[:, 1]) * sides[2] + cells[:, 2]
    kinds, kind = np.unique(code, return_inverse=True)
    masses = np.bincount(kind, weight, len(kinds)).astype(np.float64)
    sums = [np.bincount(kind, weight * lab[:, axis], len(kinds)) for axis in range(3)]
    return np.stack(sums, axis=-1) / masses[:, None], masses


def best_sets(
    cost: Floats, light: Floats, k: int, gap: float, keep: int = 20
) -> list[tuple[float, Members]]:
    """The best set of k candidates found and its best neighbours, cheapest first.

    `cost` [m, c]: what each of c clusters costs when candidate m serves it; `light` [m]: L* of
    the candidates. A set costs the sum over clusters of the cheapest member, plus the mean over
    its pairs of SHORTFALL_PRICE · (what the pair lacks of `gap` in L*)². Members ascend.
    """
    found: dict[Members, float] = {}
    visited: set[Members] = set()
    for first in _starts(cost):
        members = _greedy(cost, light, first, k, gap)
        for value, chosen in _descend(cost, light, members, gap, keep, visited):
            found.setdefault(chosen, value)
    return sorted((value, chosen) for chosen, value in found.items())[:keep]


def _starts(cost: Floats) -> list[int]:
    """Candidates to begin from: the best one alone, and others down the order to the worst.

    One start alone ended above the optimum in one trial of nine, once half as dear again; from
    every yarn of a shelf of 60 it was found in all 228. Fewer starts keep a larger shelf quick.
    """
    order = np.argsort(cost.sum(axis=1), kind="stable")
    count = min(len(order), max(4, min(60, 2_000_000 // cost.size)))
    return [int(order[round(place)]) for place in np.linspace(0, len(order) - 1, count)]


def _greedy(cost: Floats, light: Floats, first: int, k: int, gap: float) -> list[int]:
    members = [first]
    while len(members) < k:
        members.append(int(np.argmin(_joined(cost, light, members, k, gap))))
    return members


def _descend(
    cost: Floats,
    light: Floats,
    members: list[int],
    gap: float,
    keep: int,
    visited: set[Members],
) -> list[tuple[float, Members]]:
    """Take the best swap until none helps; the sets one swap away from the last, cheapest first.

    Nothing when the way leads through a set visited before: it would end at the same place.
    """
    k, value = len(members), np.inf
    while tuple(sorted(members)) not in visited:
        visited.add(tuple(sorted(members)))
        rests = [members[:i] + members[i + 1 :] for i in range(k)]
        swaps = np.stack([_joined(cost, light, rest, k, gap) for rest in rests])
        out, into = np.unravel_index(int(np.argmin(swaps)), swaps.shape)
        if not swaps[out, into] < value - 1e-9 * abs(value):
            return _cheapest(swaps, members, keep)
        value = float(swaps[out, into])
        members = [*rests[out], int(into)]
    return []


def _joined(cost: Floats, light: Floats, rest: list[int], k: int, gap: float) -> Floats:
    """For each candidate [m], the cost of the set `rest` with that candidate added."""
    if not rest:
        return np.asarray(cost.sum(axis=1))
    total = np.minimum(cost, cost[rest].min(axis=0)).sum(axis=1)
    lacks = np.maximum(0.0, gap - np.abs(light[rest][:, None] - light)) ** 2
    among = np.triu(lacks[:, rest], 1).sum()
    total += SHORTFALL_PRICE * (lacks.sum(axis=0) + among) / (k * (k - 1) / 2)
    total[rest] = np.inf
    return np.asarray(total)


def _cheapest(swaps: Floats, members: list[int], keep: int) -> list[tuple[float, Members]]:
    """The cheapest sets one swap away from `members`, itself (a swap for itself) among them."""
    found: dict[Members, float] = {}
    for place in np.argsort(swaps, axis=None, kind="stable"):
        out, into = np.unravel_index(int(place), swaps.shape)
        if len(found) == keep or not np.isfinite(swaps[out, into]):
            break
        changed = [*members[:out], int(into), *members[out + 1 :]]
        found.setdefault(tuple(sorted(changed)), float(swaps[out, into]))
    return sorted((value, chosen) for chosen, value in found.items())
