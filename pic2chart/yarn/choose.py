"""Which yarns to knit a picture with: the best of a shelf, or colours made for it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pic2chart.colour import in_gamut, lab_to_srgb, srgb_to_lab, to_hex
from pic2chart.errors import InputError, SettingError
from pic2chart.yarn.pmedian import best_sets, cluster
from pic2chart.yarn.words import colour_words
from pic2chart.yarn.yarn import Yarn

Floats = NDArray[np.float64]

# Dyed wool is neither quite black nor quite white; L*, from memory.
_DARKEST, _LIGHTEST = 8.0, 96.0
_EIGHT_BITS = 0.6
"""What rounding two colours to 8 bits may take from their difference in L*."""


def choose_yarns(
    lab: ArrayLike,
    weight: ArrayLike,
    candidates_lab: ArrayLike,
    k: int,
    min_delta_L: float = 20.0,
    rescore: Callable[[tuple[int, ...]], float] | None = None,
) -> tuple[int, ...]:
    """The best k of m candidate yarns for a stitch grid; their indices, dark to light.

    `lab` [..., 3] and `weight` [...] are the grid's cells, `candidates_lab` [m, 3] the yarns, all
    D65. A set is judged by the weighted mean of each cell's squared Lab distance to its nearest
    yarn, and pays for pairs closer than `min_delta_L` in L*; when no pair on the shelf is that far
    apart, the best there is is taken. `rescore` (smaller is better) judges the best 20 sets again.

    Raises SettingError when there are fewer than k candidates, InputError when no cell has weight.
    """
    cells, weights = _cells(lab, weight)
    candidates = np.asarray(candidates_lab, dtype=np.float64).reshape(-1, 3)
    if not 1 <= k <= len(candidates):
        raise SettingError(
            f"{k} yarns cannot be chosen from a shelf of {len(candidates)}; "
            "choose fewer or add yarns."
        )
    means, masses = cluster(cells, weights)
    squares = (candidates**2).sum(axis=1)[:, None] + (means**2).sum(axis=1)
    cost = masses * np.maximum(squares - 2 * candidates @ means.T, 0.0)
    sets = [
        tuple(sorted(members, key=lambda i: (candidates[i, 0], i)))
        for _, members in best_sets(cost, candidates[:, 0], k, min_delta_L)
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
        raise SettingError(f"{k} yarns cannot be made; ask for at least 1.")
    centres, masses = _middles(*cluster(*_cells(lab, weight), most=4000), k, seed)
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
        raise InputError("There is no stitch to choose yarns for; the grid has no weight anywhere.")
    return cells, weights / total


def _middles(points: Floats, masses: Floats, k: int, seed: int) -> tuple[Floats, Floats]:
    """k cluster centres [k, 3] and their weights [k]; centres repeat when colours are too few."""
    from sklearn.cluster import KMeans
    from threadpoolctl import threadpool_limits  # type: ignore[import-untyped]

    count = min(k, len(points))
    # One thread: sums taken in another order differ in the last bit.
    with threadpool_limits(1):
        means = KMeans(count, n_init=8, random_state=seed, algorithm="lloyd", tol=0.0).fit(
            points, sample_weight=masses
        )
    weights = np.bincount(means.labels_, masses, count)
    fill = np.concatenate([np.arange(count), np.full(k - count, int(np.argmax(weights)))])
    return np.asarray(means.cluster_centers_, dtype=np.float64)[fill], weights[fill]


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
