"""Yarns that are one yarn in less light: joined where light, and no step between two yarns, parts them.

Where a shadow falls off, a square between light and dark has a shade between theirs; where one yarn
meets another, there is none between. So the steps from square to square across the border of two
groups tell a shadow from a yarn, however dark it is.
"""

from __future__ import annotations

from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.cells import Cells, Sorted, features, ranked, sort_values
from pic2chart.reading.marks import NUMBERS
from pic2chart.reading.perspective import Floats

_DIMMED = (0.4, 0.97)
"""What a shadow leaves of the light."""
_ONE_HUE, _ONE_MARK = 0.08, 0.1
"""How far hues and marks of one yarn in two lights differ, as features."""
_GRADUAL = 0.85
"""Part of the gap between two groups that a step across their border makes where light alone parts
them: 0.57 to 0.80 in four charts drawn for the tests, and 0.94 and more between yarns."""
_BORDER = 4
"""Least steps that say so."""
_NEXT = ((0, 1), (1, 0), (1, 1), (1, -1))


def sort_cells(cells: Cells, wanted: int | None = None) -> Sorted:
    """Sort the squares; `wanted`: how many yarns there are, when that is known."""
    values, shape = features(cells.colour, cells.shape), cells.light.shape
    found = sort_values(values, shape, wanted)
    if wanted is not None:
        return found
    groups = joined_shades(cells, found.yarn)
    return found if groups.max() + 1 == found.count else ranked(values, groups.ravel(), shape)


def joined_shades(cells: Cells, yarn: NDArray[np.uint8]) -> NDArray[np.intp]:
    """Groups [rows, columns] with those that are another in less light joined to it, from 0 on."""
    groups = yarn.astype(np.intp)
    while True:
        pair = _a_shade(cells, groups)
        if pair is None:
            return np.unique(groups, return_inverse=True)[1].reshape(groups.shape)
        groups[groups == pair[0]] = pair[1]


def _a_shade(cells: Cells, groups: NDArray[np.intp]) -> tuple[int, int] | None:
    """A group that is another one in less light, and that one."""
    names = np.unique(groups).tolist()
    colour = {g: np.median(cells.colour[groups == g], axis=0) for g in names}
    shape = {g: np.median(cells.shape[groups == g], axis=0) for g in names}
    bright = cells.colour.mean(axis=2)
    for dark, light in permutations(names, 2):
        if np.abs(shape[dark] - shape[light]).max() > _ONE_MARK:
            continue
        if not _dimmed(colour[dark], colour[light]):
            continue
        steps = _steps(bright, groups, dark, light)
        gap = float(np.median(bright[groups == light]) - np.median(bright[groups == dark]))
        if len(steps) >= _BORDER and float(np.median(steps)) < _GRADUAL * gap:
            return dark, light
    return None


def _dimmed(dark: Floats, light: Floats) -> bool:
    """Whether one log colour [3] is the other in less light."""
    levels = np.maximum(Cells.levels(np.stack([dark, light])), 1)
    left = float(levels[0].sum() / levels[1].sum())
    if not _DIMMED[0] < left < _DIMMED[1]:
        return False
    both = np.stack([dark, Cells.logs(left * levels[1])])[None]
    hues = features(both, np.zeros((1, 2, NUMBERS)))[:, 1:]
    return bool(np.abs(hues[0] - hues[1]).max() < _ONE_HUE)


def _steps(bright: Floats, groups: NDArray[np.intp], dark: int, light: int) -> Floats:
    """How much lighter squares of the one group are than squares of the other beside them."""
    found = []
    for down, right in _NEXT:
        rows, columns = groups.shape
        here = slice(0, rows - down), slice(max(0, -right), columns - max(0, right))
        there = slice(down, rows), slice(max(0, right), columns + min(0, right))
        for first, second in ((here, there), (there, here)):
            at = (groups[first] == light) & (groups[second] == dark)
            found.append((bright[first] - bright[second])[at])
    return np.concatenate(found)
