"""Where a page is still empty: a square of free paper, looked for so that nothing has to move."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from pic2chart.sheets.marks.page import (
    Boxes,
    Label,
    Lines,
    Mark,
    Paths,
    Point,
    Raster,
    Rect,
    Sheet,
    Stamps,
    text_width,
)

PRINTS = 6.0
"""Nearer to the edge of the paper than this printers leave it white, mm."""
_CELL = 0.5


class FreeRoom:
    """The free paper of a sheet; `take` gives a square of it away."""

    def __init__(self, sheet: Sheet) -> None:
        self._filled = np.zeros(
            (round(sheet.height / _CELL), round(sheet.width / _CELL)), dtype=bool
        )
        edge = round(PRINTS / _CELL)
        self._filled[:edge] = self._filled[-edge:] = True
        self._filled[:, :edge] = self._filled[:, -edge:] = True
        self._fill([box for mark in sheet.marks for box in _boxes(mark)])

    def _fill(self, boxes: Sequence[Rect]) -> None:
        """Count the boxes that begin and end at each cell; what lies in any is no longer free."""
        if not boxes:
            return
        first, size = np.hsplit(np.array(boxes), 2)
        ends = np.stack([np.floor(first / _CELL), np.ceil((first + size) / _CELL)])
        cells = ends.clip(0, self._filled.shape[::-1]).astype(int)
        (left, top), (right, foot) = cells.transpose(0, 2, 1)
        counts = np.zeros(np.array(self._filled.shape) + 1, np.int32)
        for rows, columns, sign in ((top, left, 1), (top, right, -1), (foot, left, -1), (foot, right, 1)):  # fmt: skip
            np.add.at(counts, (rows, columns), sign)
        self._filled |= counts.cumsum(0).cumsum(1)[:-1, :-1] > 0

    def largest(self, most: float) -> float:
        """The side of the largest free square, mm, up to `most`."""
        low, high = 0, int(most / _CELL)
        summed = self._summed()
        while low < high:
            middle = (low + high + 1) // 2
            low, high = (middle, high) if _free(summed, middle).any() else (low, middle - 1)
        return low * _CELL

    def take(self, side: float) -> Point | None:
        """The top left corner of a free square of that side: the rightmost, and of those the lowest."""
        cells = int(np.ceil(side / _CELL))
        free = np.argwhere(_free(self._summed(), cells))
        if not len(free):
            return None
        row, column = max(free.tolist(), key=lambda place: (place[1], place[0]))
        box = (column * _CELL, row * _CELL, side, side)
        self._fill([box])
        return box[0], box[1]

    def _summed(self) -> NDArray[np.int32]:
        summed = np.zeros(np.array(self._filled.shape) + 1, np.int32)
        summed[1:, 1:] = self._filled.cumsum(0, dtype=np.int32).cumsum(1, dtype=np.int32)
        return summed


def _free(summed: NDArray[np.int32], cells: int) -> NDArray[np.bool_]:
    """Top left corners of free squares of so many cells."""
    if cells >= min(summed.shape) or cells < 1:
        return np.zeros((0, 0), bool)
    n = cells
    return np.asarray(summed[n:, n:] - summed[:-n, n:] - summed[n:, :-n] + summed[:-n, :-n] == 0)


def _boxes(mark: Mark) -> Iterator[Rect]:
    """Boxes round what a mark draws, mm."""
    if isinstance(mark, Boxes):
        yield from mark.boxes
    elif isinstance(mark, Raster):
        yield mark.box
    elif isinstance(mark, Label):
        width = text_width(mark.text, mark.size, bold=mark.bold)
        left = mark.at[0] - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[mark.anchor]
        yield left, mark.at[1] - 0.8 * mark.size, width, 1.1 * mark.size
    elif isinstance(mark, Lines):
        yield from (_round(line) for line in mark.lines)
    elif isinstance(mark, Paths):
        yield from (_round(path) for path in mark.paths)
    elif isinstance(mark, Stamps):
        points = [point for line in mark.shape.polylines for point in line]
        left, top, width, height = _round(points)
        yield from ((x + left, y + top, width, height) for x, y in mark.places)


def _round(points: tuple[Point, ...] | list[Point]) -> Rect:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)
