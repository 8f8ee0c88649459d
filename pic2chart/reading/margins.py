"""Squared paper that goes on round a chart: its empty squares, which are no part of what is painted.

Who prints a chart draws the lines for it, and its bare rims are meant. Who paints one on a page that is
squared all over leaves squares empty round it, and nothing in the picture tells whether some of them
are the ground of the chart. So what is painted is taken, and that is told, with how to get the rest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.finding import Finding
from pic2chart.core.messages import Message, message
from pic2chart.reading.cells import Cells, Sorted
from pic2chart.reading.chart_grid import ChartGrid
from pic2chart.reading.lattice import FINE, fine_image
from pic2chart.reading.perspective import Floats
from pic2chart.reading.squares import chart_box, seen_sides

_BEYOND, _PAST = 2, 1.25
"""Squares beyond the lines that are looked at, and as far as paper goes on at least where it is blank."""
_BLANK, _TONE = 0.6, 0.85
"""Share of squares beyond the lines that must be as light as this part of the bare ones to be paper."""
_CROSSED = 0.3
"""How much of the lines that cross a strip is seen where the squares go on."""
_LIGHT, _INK = 0.05, 0.02
"""Logarithm by which the paper is no darker than any yarn, and ink in its squares that is none."""
_FEWEST = 2
"""Sides on which the paper goes on at least."""


@dataclass(frozen=True, slots=True)
class Margins:
    """Rows or columns of empty squares at the left, top, right and bottom of a grid."""

    left: int
    top: int
    right: int
    bottom: int

    def sized(self, lined: ChartGrid, columns: int | None, rows: int | None) -> Margins:
        """Margins that leave so many columns and rows where they are known: as much on either side."""
        left, right = _shared(self.left, self.right, lined.columns, columns)
        top, bottom = _shared(self.top, self.bottom, lined.rows, rows)
        return Margins(left, top, right, bottom)

    def within(self, grid: ChartGrid) -> ChartGrid:
        """The grid without them."""
        lattice = grid.lattice.moved(self.left, self.top)
        columns = grid.columns - self.left - self.right
        return ChartGrid(lattice, columns, grid.rows - self.top - self.bottom, grid.clearness)


def _shared(first: int, last: int, lined: int, kept: int | None) -> tuple[int, int]:
    more = 0 if kept is None else kept - (lined - first - last)
    before = min(max(more // 2, more - last), first)
    return first - before, last - (more - before)


def lined_grid(gray: NDArray[np.uint8], grid: ChartGrid) -> ChartGrid:
    """All squares about a grid of a known size that have lines."""
    sides = seen_sides(gray, grid.lattice)
    left, top, right, bottom = chart_box(sides)
    corner = (sides.origin[0] + left, sides.origin[1] + top)
    return ChartGrid(grid.lattice.moved(*corner), right - left, bottom - top, grid.clearness)


def empty_margins(
    gray: NDArray[np.uint8], grid: ChartGrid, cells: Cells, found: Sorted
) -> Margins | None:
    """The empty squares round what is painted, where the paper is squared beyond it; else None.

    The paper shows at every rim that is bare, is as light as the lightest yarn and has no marks, and
    its lines end with the paper or the photo, not with a blank border.
    """
    ground = _paper(cells, found)
    painted = found.yarn != ground
    if ground < 0 or not painted.any():
        return None
    rows, columns = np.flatnonzero(painted.any(axis=1)), np.flatnonzero(painted.any(axis=0))
    bare = (int(columns[0]), int(rows[0]), grid.columns - 1 - int(columns[-1]), grid.rows - 1 - int(rows[-1]))  # fmt: skip
    if sum(n > 0 for n in bare) < _FEWEST:
        return None
    open_ = _open_sides(gray, grid, painted)
    if sum(n > 0 and on for n, on in zip(bare, open_, strict=True)) < _FEWEST:
        return None
    return Margins(*(n if on else 0 for n, on in zip(bare, open_, strict=True)))


def _paper(cells: Cells, found: Sorted) -> int:
    """The group of empty squares; -1 where the commonest at the rim is marked or darker than another."""
    rim = np.concatenate([found.yarn[[0, -1]].ravel(), found.yarn[:, [0, -1]].ravel()])
    ground = int(np.bincount(rim).argmax())
    groups = [found.yarn == group for group in range(found.count)]
    light = [float(np.median(cells.colour[group].mean(axis=1))) for group in groups]
    ink = float(np.median(np.abs(cells.shape[groups[ground]][:, 0])))
    return ground if light[ground] >= max(light) - _LIGHT and ink <= _INK else -1


def _open_sides(
    gray: NDArray[np.uint8], grid: ChartGrid, painted: NDArray[np.bool_]
) -> tuple[bool, bool, bool, bool]:
    """Whether the lines end with the paper or the photo at the left, top, right and bottom."""
    m, columns, rows = _BEYOND, grid.columns, grid.rows
    span = (-m, -m, columns + m, rows + m)
    image, sides = fine_image(gray, grid.lattice, span), seen_sides(gray, grid.lattice, span)
    least = _TONE * float(np.median(sides.tone[m:-m, m:-m][~painted]))
    upright, level = sides.near
    u, v = np.arange(columns) + 0.5, np.arange(rows) + 0.5
    ends = (
        (image, level[m : rows + m + 1, m - 1], (np.full(rows, -_PAST), v)),
        (image.T, upright[m - 1, m : columns + m + 1], (u, np.full(columns, -_PAST))),
        (image[:, ::-1], level[m : rows + m + 1, -m], (np.full(rows, columns + _PAST), v)),
        (image[::-1].T, upright[-m, m : columns + m + 1], (u, np.full(columns, rows + _PAST))),
    )
    left, top, right, bottom = (
        bool(crossed.mean() > _CROSSED)
        or not _border(gray, grid, view, least, np.stack(places, -1))
        for view, crossed, places in ends
    )
    return left, top, right, bottom


def _border(
    gray: NDArray[np.uint8], grid: ChartGrid, view: NDArray[np.uint8], least: float, past: Floats
) -> bool:
    """Whether blank paper goes on at the left of a view, more than a square beyond the lines."""
    at = grid.lattice.to_photo(past)
    inside = bool(((at >= 0) & (at < [gray.shape[1], gray.shape[0]])).all(axis=1).mean() >= _BLANK)
    m, part = _BEYOND * FINE, FINE // 4
    squares = view[m:-m].reshape(-1, FINE, view.shape[1])
    # Two-digit numbers reach over the first square; the paper may end within the second.
    tones = (squares[:, :, FINE - part : FINE], squares[:, :, :part])
    return inside and any((tone.mean(axis=(1, 2)) >= least).mean() >= _BLANK for tone in tones)


def margins_finding(margins: Margins, lined: ChartGrid, *, turned: bool) -> Finding:
    """The warning that says what was left out of the lined grid, and how to get it."""
    columns, rows = lined.columns, lined.rows
    kept = (columns - margins.left - margins.right, rows - margins.top - margins.bottom)
    sizes = [*kept, columns, rows]
    across, up, most, highest = (sizes[n] for n in ((1, 0, 3, 2) if turned else (0, 1, 2, 3)))
    what = message(
        "margins-empty", stitches=across, rounds=up, sides=tuple(_sides_in_words(margins))
    )
    cure = message(
        "margins-empty-mend", stitches=most, rounds=highest, options=("stitches", "rounds", "corners")
    )  # fmt: skip
    return Finding("size-read", "warning", what, cure)


def _sides_in_words(margins: Margins) -> list[Message]:
    counted = (
        (message("rim-columns", count=margins.left), message("rim-left")),
        (message("rim-columns", count=margins.right), message("rim-right")),
        (message("rim-rows", count=margins.top), message("rim-top")),
        (message("rim-rows", count=margins.bottom), message("rim-bottom")),
    )
    counts = (margins.left, margins.right, margins.top, margins.bottom)
    return [
        message("margin-at", what=what, side=side)
        for count, (what, side) in zip(counts, counted, strict=True)
        if count
    ]
