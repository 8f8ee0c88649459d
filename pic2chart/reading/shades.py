"""Yarns that are one yarn in less light: joined where light, and no step between two yarns, parts them.

Where a shadow falls off, a square between light and dark has a shade between theirs; where one yarn
meets another, there is none between. So the steps from square to square across the border of two
groups tell a shadow from a yarn, however dark it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.finding import Finding
from pic2chart.core.messages import message
from pic2chart.reading.cells import Cells, Sorted, features, ranked, sort_values
from pic2chart.reading.marks import NUMBERS
from pic2chart.reading.perspective import Floats
from pic2chart.reading.second_look import YARNS

_DIMMED = (0.4, 0.97)
"""What a shadow leaves of the light."""
_ONE_HUE, _ONE_MARK = 0.08, 0.1
"""How far hues and marks of one yarn in two lights differ, as features."""
_GRADUAL = 0.85
"""Part of the gap between two groups that a step across their border makes where light alone parts
them: 0.57 to 0.80 in four charts drawn for the tests, and 0.94 and more between yarns."""
_FELL = 0.5
"""Part of a group's darkness by which squares of other yarns beside it are darker than usual in a shadow."""
_LEAST = 4
"""Least steps, or squares beside, that say so."""
_REACH = 2
_SURE, _SPECKS = 4.5, 2
"""Yarns less far apart may be one: in 75 charts drawn for the tests that came out right all were 5 apart
but for one. A yarn in no more squares may be a speck."""
_NEXT = ((0, 1), (1, 0), (1, 1), (1, -1))


def sort_cells(cells: Cells, wanted: int | None = None) -> Sorted:
    """Sort the squares; `wanted`: how many yarns there are, when that is known."""
    values, shape = features(cells.colour, cells.shape), cells.light.shape
    found = sort_values(values, shape, wanted)
    if wanted is not None:
        return found
    groups = joined_shades(cells, found.yarn)
    return found if groups.max() + 1 == found.count else ranked(values, groups.ravel(), shape)


def uncertain_yarns(found: Sorted) -> Iterator[Finding]:
    """Warnings where two yarns may be one, and where a speck or two may have been taken for a yarn."""
    cure = message("yarns-read-mend", options=("yarns", "yarn"))
    if found.apart < _SURE:
        yield Finding(YARNS, "warning", message("yarns-close"), cure)
    fewest = int(np.bincount(found.yarn.ravel()).min())
    if fewest <= _SPECKS:
        yield Finding(YARNS, "warning", message("yarn-in-few-squares", count=fewest), cure)


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
    for dark, light in permutations(names, 2):
        if np.abs(shape[dark] - shape[light]).max() > _ONE_MARK:
            continue
        if not _dimmed(colour[dark], colour[light]):
            continue
        if _is_gradual(cells, groups, dark, light) or _in_a_shadow(cells, groups, dark, light):
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


def _is_gradual(cells: Cells, groups: NDArray[np.intp], dark: int, light: int) -> bool:
    """Whether squares of two groups side by side differ by less than the groups do."""
    bright = cells.colour.mean(axis=2)
    gap = float(np.median(bright[groups == light]) - np.median(bright[groups == dark]))
    for reach in range(1, _REACH + 1):
        steps = _steps(bright, groups, (dark, light), reach)
        if len(steps) >= _LEAST:
            return float(np.median(steps)) < _GRADUAL * gap
    return False


def _steps(bright: Floats, groups: NDArray[np.intp], pair: tuple[int, int], reach: int) -> Floats:
    """How much lighter squares of the second group are than those of the first so far from them."""
    found = []
    rows, columns = groups.shape
    for down, right in (np.array(_NEXT) * reach).tolist():
        here = slice(0, max(0, rows - down)), slice(max(0, -right), columns - max(0, right))
        there = slice(down, rows), slice(max(0, right), columns + min(0, right))
        for first, second in ((here, there), (there, here)):
            at = (groups[first] == pair[1]) & (groups[second] == pair[0])
            found.append((bright[first] - bright[second])[at])
    return np.concatenate(found)


def _in_a_shadow(cells: Cells, groups: NDArray[np.intp], dark: int, light: int) -> bool:
    """Whether squares of other yarns beside a dark group are darker than they usually are."""
    import cv2

    whole = np.log(np.maximum(Cells.levels(cells.colour).sum(axis=2), 1))
    usual = {g: float(np.median(whole[groups == g])) for g in np.unique(groups).tolist()}
    darker = whole - np.vectorize(usual.get)(groups)
    side = 2 * _REACH + 1
    near = cv2.dilate((groups == dark).astype(np.uint8), np.ones((side, side), np.uint8)) > 0
    beside = darker[near & (groups != dark) & (groups != light)]
    fell = _FELL * (usual[dark] - usual[light])
    return len(beside) >= _LEAST and float(np.median(beside)) < fell
