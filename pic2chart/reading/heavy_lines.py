"""Heavy lines of squared paper: a second count of its squares, which the size read must agree with."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.chart_grid import ChartGrid
from pic2chart.reading.lattice import FINE, fine_image
from pic2chart.reading.perspective import Floats

_REACH, _BESIDE = 3, 6
"""Pixels of FINE at each side of a line that hold its ink, and where the squares beside it are looked at."""
_HEAVIER = 1.6
_MOST = 0.4
"""Share of the lines that may be heavy."""
_LEAST_INK = 6.0
_STEP, _LIGHT = 20.0, 0.6
"""Grey levels by which squares of one yarn may differ, and the part of the lightest that is light."""
_USUAL = (5, 10, 4, 6, 8, 12, 20)
_FEWEST_STEPS = 2
_SEEN, _EXTRA = 0.7, 0.25
"""Share of the expected heavy lines that must be seen, and how many others there may be for each."""


@dataclass(frozen=True, slots=True)
class HeavyLines:
    """Heavy lines across one direction: `every` so many squares; `agree`: whether each of them lies
    so, counted from one edge of the chart."""

    every: int
    agree: bool


def heavy_lines(gray: NDArray[np.uint8], grid: ChartGrid, axis: int) -> HeavyLines | None:
    """The heavy upright (axis 0) or level (axis 1) lines within a chart; None where none stand out."""
    inks = _inks(gray, grid, axis)
    count = len(inks) - 1
    known = np.flatnonzero(np.isfinite(inks[1:-1])) + 1
    heavy = _heavier(inks[known])
    if heavy is None:
        return None
    places = known[heavy]
    for every in _USUAL:
        for first in (every, count % every or every):
            expected = (known - first) % every == 0
            if _explained(expected, heavy):
                return HeavyLines(every, True)
    steps = np.diff(places)
    if len(steps) < _FEWEST_STEPS:
        return None
    every = int(np.bincount(steps).argmax())
    regular = int((steps == every).sum())
    return HeavyLines(every, False) if every in _USUAL and 2 * regular >= len(steps) else None


def _explained(expected: NDArray[np.bool_], heavy: NDArray[np.bool_]) -> bool:
    """Whether heavy lines lie where they are expected, but for some that are hidden or are none.

    One that is not expected lies between two that are, both seen: a row that is missing would move
    all lines after it. Most of those that are expected are seen.
    """
    if not heavy.any() or (expected & heavy).sum() < _SEEN * expected.sum():
        return False
    seen, places = heavy[expected], np.flatnonzero(expected)
    after = np.searchsorted(places, np.flatnonzero(heavy & ~expected))
    inside = (after > 0) & (after < len(places))
    if not inside.all() or len(after) > _EXTRA * seen.sum():
        return False
    return bool((seen[after - 1] & seen[after]).all())


def _inks(gray: NDArray[np.uint8], grid: ChartGrid, axis: int) -> Floats:
    """How much ink each line has, in grey levels times pixels; NaN where it cannot be told.

    The median over the light sides of the line that have the same colour at both hands: ink does
    not show on dark yarns, and a step between two yarns looks like ink.
    """
    image = fine_image(gray, grid.lattice, (-1, -1, grid.columns + 1, grid.rows + 1))
    lines = (image if axis == 0 else image.T).astype(np.float64)[FINE:-FINE]
    places = FINE * np.arange(1, lines.shape[1] // FINE)
    near = np.arange(-_REACH, _REACH)
    on = lines[:, places[:, None] + near].mean(axis=2)
    left, right = lines[:, places - _BESIDE - 1], lines[:, places + _BESIDE]
    ground = (left + right) / 2
    plain = (np.abs(left - right) < _STEP) & (ground > _LIGHT * np.percentile(ground, 95))
    inks = np.full(len(places), np.nan)
    for number in np.flatnonzero(plain.sum(axis=0) >= FINE):
        ink = (ground - on)[plain[:, number], number]
        inks[number] = float(np.median(ink)) * len(near)
    return inks


def _heavier(inks: Floats) -> NDArray[np.bool_] | None:
    """Which lines are heavier than the others, when a gap parts the two kinds."""
    if len(inks) < 4:
        return None
    order = np.sort(inks)
    usual = float(np.median(inks))
    few = max(1, int(_MOST * len(inks)))
    ratios = order[-few:] / np.maximum(order[-few - 1 : -1], _LEAST_INK)
    cut = int(np.argmax(ratios))
    lightest = float(order[-few:][cut])
    if ratios[cut] < 1.25 or lightest < _HEAVIER * max(usual, _LEAST_INK):
        return None
    return np.asarray(inks >= lightest)
