"""Charts whose pixels are exact: screenshots and enlarged pixel pictures, with lines or without.

Colour changes only where squares meet. So the columns and rows where anything changes give the size
of a square exactly, and every square has one colour in its middle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.settings import MAX_YARNS

_MOST_COLOURS = 40
_SMALLEST = 3
_FEWEST = 4
"""Squares each way that a chart must have to be taken for one."""


@dataclass(frozen=True, slots=True, eq=False)
class ExactChart:
    """`yarn` uint8 [rows, columns] in page order, group 0 the commonest; `colours` of the groups;
    `corners` float [4, 2] in the picture, clockwise from the top left."""

    yarn: NDArray[np.uint8]
    colours: tuple[tuple[int, int, int], ...]
    corners: NDArray[np.float64]


def read_exact(rgb: NDArray[np.uint8]) -> ExactChart | None:
    """The chart in a picture of exact pixels, or None when it is no such picture."""
    packed = rgb[..., 0].astype(np.int32) << 16 | rgb[..., 1].astype(np.int32) << 8 | rgb[..., 2]
    sample = packed[:: max(1, packed.shape[0] // 64)]
    if len(np.unique(sample)) > _MOST_COLOURS or len(np.unique(packed)) > _MOST_COLOURS:
        return None
    across, down = (
        _ruler((np.diff(packed, axis=1) != 0).sum(axis=0)),
        _ruler((np.diff(packed, axis=0) != 0).sum(axis=1)),
    )
    if across is None or down is None:
        return None
    pure = _middles(packed, down, across)
    if pure is None:
        return None
    colours, yarn, counts = np.unique(pure, return_inverse=True, return_counts=True)
    if len(colours) > MAX_YARNS:
        return None
    order = np.argsort(-counts, kind="stable")
    rank = np.argsort(order).astype(np.uint8)
    named = tuple((int(c) >> 16, int(c) >> 8 & 255, int(c) & 255) for c in colours[order])
    (left, right), (top, bottom) = (across[0], across[-1]), (down[0], down[-1])
    corners = np.array([[left, top], [right, top], [right, bottom], [left, bottom]], float)
    return ExactChart(rank[yarn.reshape(pure.shape)], named, corners - 0.5)


def _ruler(changes: NDArray[np.intp]) -> NDArray[np.intp] | None:
    """Where squares begin, and where the last one ends, px; from how much changes after each pixel."""
    places = np.flatnonzero(changes) + 1
    size = len(changes) + 1
    if len(places) < 2:
        return None
    for square in range(size // _FEWEST, _SMALLEST - 1, -1):
        begins = _begins(places, square)
        if begins is not None and len(begins[0]) > _FEWEST:
            return _whole(*begins, square, size)
    return None


def _begins(places: NDArray[np.intp], square: int) -> tuple[NDArray[np.intp], int] | None:
    """Square edges if all changes lie on a ruler of that step, and the width of its lines, px."""
    rest = np.sort(np.unique(places % square))
    gaps = np.diff(np.append(rest, rest[0] + square))
    after = (int(np.argmax(gaps)) + 1) % len(rest)
    line = square - int(gaps.max())  # width of the band in which changes lie
    if line > square // 4:
        return None
    origin = int(rest[after])
    number = np.unique((places - origin) // square)
    begins = origin + square * np.arange(number[0], number[-1] + 1)
    # A step twice too small leaves every other edge without a change.
    return (begins, line) if len(number) >= 0.5 * len(begins) else None


def _whole(begins: NDArray[np.intp], line: int, square: int, size: int) -> NDArray[np.intp]:
    """Without lines the outermost squares may show no edge: let the ruler run to the picture's own."""
    if -begins[0] % square <= line and size % square == 0:
        return np.arange(0, size + 1, square)
    return begins


def _middles(
    packed: NDArray[np.int32], down: NDArray[np.intp], across: NDArray[np.intp]
) -> NDArray[np.int32] | None:
    """The colour of every square, or None when one has not one colour about its middle."""
    height, width = int(down[1] - down[0]), int(across[1] - across[0])
    y, x = down[:-1] + height // 2, across[:-1] + width // 2
    middle = packed[np.ix_(y, x)]
    for dy, dx in ((-1, 0), (1, 0), (0, -1), (0, 1)):
        if height > 3 and width > 3 and not np.array_equal(packed[np.ix_(y + dy, x + dx)], middle):
            return None
    return middle
