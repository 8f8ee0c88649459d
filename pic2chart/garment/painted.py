"""Stitches kept by hand on a picture's chart, carried to the picture at another size.

Each stands where it stood in the picture. A larger motif has several stitches where one was painted;
a smaller one has at least one for each, the last that falls on it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.design.canvas import FREE
from pic2chart.model.chart import Chart, for_hand
from pic2chart.model.yarn import Yarn, nearest_yarns
from pic2chart.picture.decode import Box
from pic2chart.picture.grid import middle_part

Part = tuple[float, float, float, float]
"""Left, top, right and bottom of a picture's window, as fractions of it."""


@dataclass(frozen=True, slots=True, eq=False)
class Painted:
    """`stitches`: uint8 [R, N], a yarn (index) where one is kept, else FREE, in knitting order for the
    right hand; `left`, `top`, `right`, `bottom`: where they lie in the picture, in its pixels.
    """

    stitches: NDArray[np.uint8]
    left: float
    top: float
    right: float
    bottom: float

    @property
    def count(self) -> int:
        """How many stitches were kept."""
        return int((self.stitches != FREE).sum())

    def box(self) -> Part:
        """Left, top, right and bottom of all that is kept, in the picture's pixels."""
        rows, columns = np.nonzero(self.stitches != FREE)
        high, wide = self.stitches.shape
        down, along = (self.top - self.bottom) / high, (self.left - self.right) / wide
        return (
            self.right + along * (columns.max() + 1),
            self.bottom + down * (rows.max() + 1),
            self.right + along * columns.min(),
            self.bottom + down * rows.min(),
        )

    def at(self, window: Box, part: Part, shape: tuple[int, int]) -> NDArray[np.uint8]:
        """Uint8 `shape` [R, N], FREE where nothing is kept, over that part of that window."""
        left, top, right, bottom = _pixels(window, part)
        rows, columns = shape
        up = _places(bottom, top, rows, self.bottom, self.top, len(self.stitches))
        across = _places(right, left, columns, self.right, self.left, self.stitches.shape[1])
        found = np.full(shape, FREE, np.uint8)
        inside = np.ix_(up >= 0, across >= 0)
        found[inside] = self.stitches[np.ix_(up[up >= 0], across[across >= 0])]
        back = _places(self.bottom, self.top, len(self.stitches), bottom, top, rows)
        over = _places(self.right, self.left, self.stitches.shape[1], right, left, columns)
        for r, s in np.argwhere(self.stitches != FREE):
            if back[r] >= 0 and over[s] >= 0:
                found[back[r], over[s]] = self.stitches[r, s]
        return found


def _pixels(window: Box, part: Part) -> Part:
    left, top, right, bottom = part
    return (
        window.x + left * window.w,
        window.y + top * window.h,
        window.x + right * window.w,
        window.y + bottom * window.h,
    )


def _places(
    first: float, last: float, count: int, onto_first: float, onto_last: float, cells: int
) -> NDArray[np.intp]:
    """For the middle of each of `count` cells between `first` and `last`, which of `cells` others it
    falls on; -1 where it falls on none.
    """
    middles = first + (np.arange(count) + 0.5) * (last - first) / count
    at = np.floor((middles - onto_first) / (onto_last - onto_first) * cells).astype(np.intp)
    at[(at < 0) | (at >= cells)] = -1
    return at


def painted_of(chart: Chart, yarns: tuple[Yarn, ...]) -> Painted | None:
    """What is kept by hand on a picture's chart, in these yarns by name or else the nearest colour.

    None where nothing is kept, or where the chart does not say which part of its picture it shows.
    """
    chart = for_hand(chart, "right")
    window = _box(chart.source.get("window"))
    if chart.fixed is None or not chart.fixed.any() or window is None:
        return None
    gauge = chart.gauge
    wide = chart.stitch_count * gauge.stitch_width / (chart.round_count * gauge.round_height)
    place = np.full(256, FREE, np.uint8)
    place[: len(chart.yarns)] = nearest_yarns(chart.yarns, yarns)
    kept = np.where(chart.fixed & chart.live, place[chart.stitches], np.uint8(FREE))
    return Painted(kept, *_pixels(window, middle_part(window, wide)))


def _box(told: object) -> Box | None:
    """The window that a chart's file tells, None where that is none."""
    if not isinstance(told, list | tuple) or len(told) != 4:
        return None
    sides = [side for side in told if isinstance(side, int) and not isinstance(side, bool)]
    if len(sides) != 4 or min(sides) < 0 or min(sides[2:]) < 1:
        return None
    return Box(*sides)
