"""Which yarns to knit a picture with: the best of a shelf, or colours made for it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pic2chart.core.colour import in_gamut, lab_to_srgb, srgb_to_lab, to_hex
from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import message
from pic2chart.core.threads import on_one_thread
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.classes import colour_words

# Choosing k of m candidates so that everything lies near one of them: the p-median problem.
#
# Greedy start, then the best swap of a chosen for an unchosen candidate until no swap helps
# (Teitz & Bart, Operations Research 16, 1968). Plain arrays; no ties are left to chance.

Floats = NDArray[np.float64]
Members = tuple[int, ...]

_TABLE = 1 << 20
"""Cells of a lattice that are counted in a table: more than those of sRGB at a step of 1."""
SHORTFALL_PRICE = 4.0
"""What (ΔL* missing)² costs beside (colour error)²: a gap 5 too small weighs as much as 10 ΔE."""


def cluster(lab: Floats, weight: Floats, most: int = 200) -> tuple[Floats, Floats]:
    """Gather colours [n, 3] of weight [n] into at most `most` means [c, 3] of weight [c].

    Colours sharing a cell of a lattice in Lab are merged, the lattice just coarse enough. Colours
    of no weight are left out.
    """
    heavy = weight > 0
    step = 1.0
    if not heavy.all():
        lab, weight = lab[heavy], weight[heavy]
    means, masses = _merge(lab, weight, step)
    fine = means, masses
    while len(masses) > most:
        step *= 1.2
        means, masses = _merge(*fine, step)
    return means, masses


def _merge(lab: Floats, weight: Floats, step: float) -> tuple[Floats, Floats]:
    code, most = np.zeros(len(lab), np.int64), 1
    for axis in lab.T:
        cells = np.floor(axis / step).astype(np.int64)
        cells -= cells.min(initial=0)
        side = int(cells.max(initial=0)) + 1
        code *= side
        code += cells
        most *= side
    kind, kinds = _numbered(code, most)
    masses = np.bincount(kind, weight, kinds).astype(np.float64)
    sums = [np.bincount(kind, weight * axis, kinds) for axis in lab.T]
    return np.stack(sums, axis=-1) / masses[:, None], masses


def _numbered(code: NDArray[np.int64], most: int) -> tuple[NDArray[np.int64], int]:
    """Codes [n] under `most` numbered in their order, each as often as it is there, and how many."""
    if most > _TABLE:
        kinds, kind = np.unique(code, return_inverse=True)
        return kind, len(kinds)
    there = np.zeros(most, bool)  # a table, since sorting takes several times as long
    there[code] = True
    kinds = np.flatnonzero(there)
    place = np.empty(most, np.int64)
    place[kinds] = np.arange(len(kinds))
    return place[code], len(kinds)


@dataclass(frozen=True, slots=True)
class _Apart:
    """What every two candidates should differ by in L*: `gap`, and one standard deviation of how far
    that is known where it is (`within` [m]: 19 times in 20), so that a sure pair goes before one that
    is not."""

    gap: float
    within: Floats | None

    def of(self, rest: list[int]) -> Floats | float:
        """For some candidates with every one [rest, m]."""
        if self.within is None:
            return self.gap
        return np.asarray(self.gap + np.hypot(self.within[rest][:, None], self.within) / 2)


def best_sets(
    cost: Floats,
    light: Floats,
    k: int,
    gap: float,
    keep: int = 20,
    within: Floats | None = None,
) -> list[tuple[float, Members]]:
    """The best set of k candidates found and its best neighbours, cheapest first.

    `cost` [m, c]: what each of c clusters costs when candidate m serves it; `light` [m]: L* of
    the candidates. A set costs the sum over clusters of the cheapest member, plus the mean over
    its pairs of SHORTFALL_PRICE · (what the pair lacks of `gap` in L*)². `within` [m]: L* within which
    each lightness is known. Members ascend.
    """
    apart = _Apart(gap, within)
    found: dict[Members, float] = {}
    visited: set[Members] = set()
    for first in _starts(cost):
        members = _greedy(cost, light, first, k, apart)
        for value, chosen in _descend(cost, light, members, apart, keep, visited):
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


def _greedy(cost: Floats, light: Floats, first: int, k: int, gap: _Apart) -> list[int]:
    members = [first]
    while len(members) < k:
        members.append(int(np.argmin(_joined(cost, light, members, k, gap))))
    return members


def _descend(
    cost: Floats,
    light: Floats,
    members: list[int],
    gap: _Apart,
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


def _joined(cost: Floats, light: Floats, rest: list[int], k: int, gap: _Apart) -> Floats:
    """For each candidate [m], the cost of the set `rest` with that candidate added."""
    if not rest:
        return np.asarray(cost.sum(axis=1))
    total = np.minimum(cost, cost[rest].min(axis=0)).sum(axis=1)
    lacks = np.maximum(0.0, gap.of(rest) - np.abs(light[rest][:, None] - light)) ** 2
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


# Dyed wool is neither quite black nor quite white; L*, from memory.
_DARKEST, _LIGHTEST = 8.0, 96.0
_EIGHT_BITS = 0.6
"""What rounding two colours to 8 bits may take from their difference in L*."""


def known_within(yarns: Sequence[Yarn]) -> Floats | None:
    """L* within which each yarn's lightness is known [m], 0 where nothing is said; None for no yarn."""
    within = np.array([yarn.within or 0.0 for yarn in yarns], np.float64)
    return within if within.any() else None


def choose_yarns(
    lab: ArrayLike,
    weight: ArrayLike,
    candidates_lab: ArrayLike,
    k: int,
    min_delta_L: float = 20.0,
    rescore: Callable[[tuple[int, ...]], float] | None = None,
    within: Floats | None = None,
) -> tuple[int, ...]:
    """The best k of m candidate yarns for a stitch grid; their indices, dark to light.

    `lab` [..., 3] and `weight` [...] are the grid's cells, `candidates_lab` [m, 3] the yarns, all
    D65. A set is judged by the weighted mean of each cell's squared Lab distance to its nearest
    yarn, and pays for pairs closer than `min_delta_L` in L*; when no pair on the shelf is that far
    apart, the best there is is taken. `rescore` (smaller is better) judges the best 20 sets again. `within` [m]: L* within which
    each yarn's lightness is known, 0 where nothing is said.

    Raises SettingError when there are fewer than k candidates, InputError when no cell has weight.
    """
    cells, weights = _cells(lab, weight)
    candidates = np.asarray(candidates_lab, dtype=np.float64).reshape(-1, 3)
    if not 1 <= k <= len(candidates):
        raise SettingError(message("shelf-smaller-than-asked", yarns=k, shelf=len(candidates)))
    means, masses = cluster(cells, weights)
    squares = (candidates**2).sum(axis=1)[:, None] + (means**2).sum(axis=1)
    cost = masses * np.maximum(squares - 2 * candidates @ means.T, 0.0)
    sets = [
        tuple(sorted(members, key=lambda i: (candidates[i, 0], i)))
        for _, members in best_sets(cost, candidates[:, 0], k, min_delta_L, within=within)
    ]
    return sets[0] if rescore is None else min(sets, key=rescore)


def free_yarns(
    lab: ArrayLike, weight: ArrayLike, k: int, seed: int = 0, min_delta_L: float = 20.0
) -> tuple[Yarn, ...]:
    """k colours made for a stitch grid, named with plain words, dark to light.

    `lab` [..., 3] (D65) and `weight` [...] are the grid's cells. The colours are the middles of
    clusters in Lab (scikit-learn's KMeans), their lightness moved as little as makes neighbours
    differ by `min_delta_L` in L*. Beyond three yarns not every pair can: there the gap shrinks so
    that yarns half the row apart still keep it. Same input and seed, same colours.

    Raises SettingError when k is below 1, InputError when no cell has weight.
    """
    if k < 1:
        raise SettingError(message("no-yarns-to-make", yarns=k))
    centres, masses = _middles(*cluster(*_cells(lab, weight), most=1200), k, seed)
    order = np.lexsort((centres[:, 2], centres[:, 1], centres[:, 0]))
    centres, masses = centres[order], masses[order]
    centres[:, 0] = _spread(centres[:, 0], masses, min_delta_L)
    colours = [to_hex(lab_to_srgb(_into_gamut(centre))) for centre in centres]
    shown = srgb_to_lab([[int(c[i : i + 2], 16) for i in (1, 3, 5)] for c in colours])
    names = colour_words((float(L), float(a), float(b)) for L, a, b in shown)
    return tuple(Yarn(name, colour) for name, colour in zip(names, colours, strict=True))


def _cells(lab: ArrayLike, weight: ArrayLike) -> tuple[Floats, Floats]:
    """Cells [n, 3] and their weights [n], the weights adding up to 1."""
    cells = np.asarray(lab, dtype=np.float64).reshape(-1, 3)
    weights = np.asarray(weight, dtype=np.float64).reshape(-1)
    total = weights.sum()
    if len(cells) != len(weights) or not total > 0 or (weights < 0).any():
        raise InputError(message("nothing-to-choose-for"))
    return cells, weights / total


def _middles(points: Floats, masses: Floats, k: int, seed: int) -> tuple[Floats, Floats]:
    """k cluster centres [k, 3] and their weights [k]; centres repeat when colours are too few."""
    from sklearn import config_context

    count = min(k, len(points))
    with config_context(assume_finite=True, skip_parameter_validation=True):
        means = _fitted(points, masses, count, seed)
    weights = np.bincount(means.labels_, masses, count)
    fill = np.concatenate([np.arange(count), np.full(k - count, int(np.argmax(weights)))])
    return np.asarray(means.cluster_centers_, dtype=np.float64)[fill], weights[fill]


@on_one_thread  # sums taken in another order differ in the last bit
def _fitted(points: Floats, masses: Floats, count: int, seed: int) -> Any:
    """scikit-learn's KMeans: the best of some starts, settled until no point changes its cluster.

    With two or three clusters three starts end where eight do; with more only the best of eight is
    settled to the end.
    """
    from sklearn.cluster import KMeans

    few = count <= 3
    means = KMeans(count, n_init=3 if few else 8, random_state=seed, tol=0.0 if few else 1e-3)
    means.fit(points, sample_weight=masses)
    if few:
        return means
    settled = KMeans(count, init=means.cluster_centers_, n_init=1, tol=0.0)
    return settled.fit(points, sample_weight=masses)


def _spread(light: Floats, masses: Floats, min_delta_L: float) -> Floats:
    """Ascending L* [k] moved, by least weighted squares, until neighbours keep their gap."""
    from sklearn.isotonic import isotonic_regression

    steps = max(len(light) - 1, 1)
    gap = (min_delta_L + _EIGHT_BITS) * min(1.0, 2 / steps)
    gap = min(gap, (_LIGHTEST - _DARKEST) / steps)
    ramp = gap * np.arange(len(light))
    flat = isotonic_regression(
        light - ramp, sample_weight=masses, y_min=_DARKEST, y_max=_LIGHTEST - float(ramp[-1])
    )
    return np.asarray(flat, dtype=np.float64) + ramp


def _into_gamut(lab: Floats) -> Floats:
    """The colour with as much of its chroma as sRGB can show at its lightness."""
    low, high = 0.0, 1.0
    if in_gamut(lab):
        return lab
    for _ in range(20):
        middle = (low + high) / 2
        low, high = (middle, high) if in_gamut(lab * [1, middle, middle]) else (low, middle)
    return lab * [1, low, low]
