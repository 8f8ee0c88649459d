"""The squares of a chart on paper: where each lies, its colour and its symbol."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.sheets.marks.order import page_column, page_row, to_page
from pic2chart.sheets.marks.page import Boxes, Mark, Point, Rect, Style
from pic2chart.sheets.marks.symbols import symbol_stamps
from pic2chart.sheets.sheet_settings import PLAIN, SheetLook

ABSENT = "#ebebeb"
PAPER = "#ffffff"
SYMBOLS_FROM = 1.6
"""Squares narrower than this, in mm, carry no symbols: they could not be told apart."""


@dataclass(frozen=True, slots=True)
class GridLayout:
    """Where the squares lie: the top left corner of the grid and the size of a square, mm.

    `first` is the round and stitch (from 0) of a larger chart that this one begins with, when it is
    a part; numbers and heavier lines are counted from there. `larger`: that chart.
    """

    chart: Chart
    left: float
    top: float
    square: tuple[float, float]
    look: SheetLook = PLAIN
    first: tuple[int, int] = (0, 0)
    larger: Chart | None = None

    @property
    def whole(self) -> Chart:
        """The larger chart that this one is a part of, or this one."""
        return self.chart if self.larger is None else self.larger

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of all squares, mm."""
        return (
            self.chart.stitch_count * self.square[0],
            self.chart.round_count * self.square[1],
        )

    @property
    def right(self) -> float:
        return self.left + self.size[0]

    @property
    def bottom(self) -> float:
        return self.top + self.size[1]

    def corner(self, row: float, column: float) -> Point:
        """Top left corner of a square given by its page row and column."""
        return self.left + column * self.square[0], self.top + row * self.square[1]

    def middle(self, round_: int, stitch: int) -> Point:
        """The middle of a stitch's square; round and stitch count from 0."""
        row, column = page_row(self.chart, round_), page_column(self.chart, stitch)
        return self.corner(row + 0.5, column + 0.5)

    def middles(self, chosen: NDArray[np.bool_]) -> tuple[Point, ...]:
        """Middles of the squares chosen in an array in page order."""
        rows, columns = np.nonzero(chosen)
        return tuple(
            self.corner(r + 0.5, c + 0.5)
            for r, c in zip(rows.tolist(), columns.tolist(), strict=True)
        )


def runs(grid: NDArray[np.uint8]) -> NDArray[np.intp]:
    """Runs of equal squares along the rows of a page grid, as [row, first, past the last, value]."""
    rows, width = grid.shape
    edge = np.ones((rows, width + 1), dtype=bool)
    edge[:, 1:-1] = grid[:, 1:] != grid[:, :-1]
    row, column = np.nonzero(edge)
    first = np.flatnonzero(column < width)
    values = grid[row[first], column[first]]
    return np.column_stack([row[first], column[first], column[first + 1], values])


def coloured_squares(layout: GridLayout) -> list[Mark]:
    """The squares of each yarn, merged along the rows, and then the yarn's symbol in each."""
    grid = to_page(layout.chart.stitches, layout.chart.hand)
    found = runs(grid)
    squares: list[Mark] = []
    symbols: list[Mark] = []
    for index, yarn in enumerate(layout.chart.yarns):
        boxes = _run_boxes(layout, found[found[:, 3] == index])
        colour = ground_of(yarn.colour, layout.look)
        if boxes:
            squares.append(Boxes(boxes, Style(fill=colour), f"squares yarn-{index + 1}"))
        if layout.look.symbols != "colour" and min(layout.square) >= SYMBOLS_FROM:
            stamps = symbol_stamps(index, colour, layout.middles(grid == index), min(layout.square))
            symbols += [stamps] if stamps else []
    return squares + symbols


def ground_of(colour: str, look: SheetLook) -> str:
    """What a yarn's squares are filled with: its colour, or white under plain symbols."""
    return PAPER if look.symbols == "plain" else colour


def absent_squares(layout: GridLayout) -> list[Mark]:
    """Plain grey over the squares that hold no stitch; it also hides the fine lines there."""
    found = runs(to_page(layout.chart.stitches, layout.chart.hand))
    boxes = _run_boxes(layout, found[found[:, 3] == NO_STITCH])
    return [Boxes(boxes, Style(fill=ABSENT), "no-stitch")] if boxes else []


def _run_boxes(layout: GridLayout, found: NDArray[np.intp]) -> tuple[Rect, ...]:
    width, height = layout.square
    return tuple(
        (*layout.corner(row, first), (past - first) * width, height)
        for row, first, past, _ in found.tolist()
    )
