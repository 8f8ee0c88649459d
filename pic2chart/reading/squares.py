"""The squares of a chart in a photo: which of their sides are seen, and where the chart ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.lattice import FINE, Lattice, Maps, fine_image, line_map, whole_span
from pic2chart.reading.perspective import Floats

# Where the chart ends: the rectangle of squares that have lines all round them.

_PART = 0.45
"""A line belongs to the chart when this part of a typical line's length is seen on it."""
_CROSSED = 1.5
_LEAST_CROSSED, _BARE = 0.35, 1.5
"""Share of the usual crossing lines below which a strip is bare, and what that takes from the chart:
lines of words above it and the edge of the paper beside it look like its lines, but nothing crosses
the strips between."""
_WEAK_LINE, _WEAK_STRIP, _SOME = 0.75, 0.7, 0.3
"""Strips whose rim and crossing lines are weaker than these parts of their neighbours' hold numbers."""
_CLOSED, _END, _HIDDEN = 0.9, 0.5, 12
"""How much is seen of a line that closes a chart and of its outermost squares, and over how many squares
at most lines before it may be hidden."""
_DARK, _MOSTLY = 0.5, 0.5
"""Part of the lightest squares' grey that is dark, and the part of a strip that must be."""
_NEAR = 3
"""Pixels of FINE from the end of a side to where no number reaches, nor a line that ends there."""
_FAINT = 0.15
"""What is fainter than this part of a good line is none."""


@dataclass(frozen=True, slots=True)
class Sides:
    """How surely a line runs along each side of the squares, 0-1, from the top left.

    `upright`: [rows, columns + 1], `level`: [rows + 1, columns]; `tone`: mean grey level of each
    square [rows, columns]; `origin`: the place (u, v) of the top left corner of the first square;
    `near`: as `upright` and `level`, seen near both ends of the sides, which no number beside a chart
    reaches.
    """

    upright: Floats
    level: Floats
    tone: Floats
    origin: tuple[int, int]
    near: tuple[Floats, Floats]

    @property
    def squares(self) -> Floats:
        """Mean of each square's four sides [rows, columns]."""
        u, v = self.upright, self.level
        return (u[:, :-1] + u[:, 1:] + v[:-1] + v[1:]) / 4

    @property
    def clearness(self) -> float:
        """0-1: how much of the lines within the chart is seen."""
        left, top, right, bottom = chart_box(self)
        return float(self.squares[top:bottom, left:right].mean())


def seen_sides(
    gray: NDArray[np.uint8],
    lattice: Lattice,
    within: tuple[float, float, float, float] | None = None,
) -> Sides:
    """The sides of all squares of the lattice's span, or `within` left, top, right and bottom."""
    span = whole_span(within or lattice.span)
    image = fine_image(gray, lattice, span)
    (upright, across), (level, along) = (
        _sides(line_map(image, axis, 1.3, FINE - 4), axis) for axis in (0, 1)
    )
    rows, columns = image.shape[0] // FINE, image.shape[1] // FINE
    tone = image.reshape(rows, FINE, columns, FINE).mean(axis=(1, 3))
    return Sides(upright, level, tone, (span[0], span[1]), (across, along))


def _sides(strength: Maps, axis: int) -> tuple[Floats, Floats]:
    """How surely a line runs along each side, 0-1, at its middle or its ends, and near both ends.

    Axis 0: [rows, columns + 1], axis 1: [rows + 1, columns]. Marks in the squares at both hands hide a
    line, but none reaches its ends, where it runs on through a crossing.
    """
    lines = strength if axis == 0 else strength.T
    squares = lines.reshape(-1, FINE, lines.shape[1])
    # The median: what of a line reaches over into the next square is no line of that square.
    middle = _seen(np.median(squares[:, FINE // 4 : -FINE // 4], axis=1))
    first, last = squares[:, 0], squares[:, -1]
    crossings = _seen(np.minimum(np.vstack([last[:1], last]), np.vstack([first, first[-1:]])))
    ends = np.minimum(
        np.maximum(crossings[:-1], _seen(first)), np.maximum(crossings[1:], _seen(last))
    )
    both = np.maximum(middle, ends)
    near = np.minimum(_seen(squares[:, _NEAR]), _seen(squares[:, -1 - _NEAR]))
    return (both, near) if axis == 0 else (both.T, near.T)


def _seen(along: Maps) -> Floats:
    """How surely upright lines are seen in rows [n, columns * FINE], 0-1 [n, columns + 1]: strength
    on the lattice against that beside it."""
    padded = np.pad(along, ((0, 0), (FINE // 2, FINE // 2)), mode="edge")
    around = padded.reshape(len(along), -1, FINE)
    middle = FINE // 2
    on = around[:, :, middle - 2 : middle + 2].max(axis=2)
    beside = np.median(around[:, :, [0, 1, 2, 3, -4, -3, -2, -1]], axis=2)
    noise = max(float(np.median(beside)), _FAINT * float(np.median(on))) + 0.05
    sure = np.clip((on - 1.3 * beside - 0.5 * noise) / (on + noise), 0, 1)
    return np.asarray(np.minimum(sure * 1.6, 1.0), dtype=np.float64)


def chart_box(
    sides: Sides, columns: int | None = None, rows: int | None = None
) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of the chart, in squares from the sides' origin.

    Upright lines are judged over the chart's rows and level ones over its columns, in turn, until
    neither moves. `columns`, `rows`: its size where that is known.
    """
    box = _core(sides.squares)
    for _ in range(8):
        left, top, right, bottom = box
        crossed = sides.level[top : bottom + 1].mean(axis=0)
        left, right = _stretch(sides.upright[top:bottom].mean(axis=0), crossed, columns)
        crossed = sides.upright[:, left : right + 1].mean(axis=1)
        top, bottom = _stretch(sides.level[:, left:right].mean(axis=1), crossed, rows)
        if (left, top, right, bottom) == box:
            break
        box = (left, top, right, bottom)
    return _to_last_line(sides, _without_numbers(sides, box, columns, rows), (columns, rows))


def _to_last_line(
    sides: Sides, box: tuple[int, int, int, int], size: tuple[int | None, int | None]
) -> tuple[int, int, int, int]:
    """The box moved out over strips of dark squares, whose lines do not show, to a line that ends them."""
    ends = list(box)
    for side, strips in enumerate(beyond(sides, box)):
        axis, step = side % 2, 1 if side > 1 else -1
        tone = sides.tone[box[1] : box[3]] if axis == 0 else sides.tone[:, box[0] : box[2]].T
        first = box[side] - (step < 0)
        # Against the squares next to them: a photo is lighter in its middle than at its edges.
        within = np.clip(first - step * np.arange(1, 1 + _HIDDEN // 2), 0, tone.shape[1] - 1)
        hidden = (tone < _DARK * np.percentile(tone[:, within], 90)).mean(axis=0) >= _MOSTLY
        if size[axis] is None and hidden[first + step * np.arange(strips)].all():
            ends[side] += step * strips
    return ends[0], ends[1], ends[2], ends[3]


def beyond(sides: Sides, box: tuple[int, int, int, int]) -> tuple[int, int, int, int]:
    """How many strips lie at the left, top, right and bottom between a box and a further line that is as
    long as its side, no longer and no shorter; 0 without one."""
    return (
        _closing(sides.upright.T[: box[0] + 1][::-1], box[1], box[3]),
        _closing(sides.level[: box[1] + 1][::-1], box[0], box[2]),
        _closing(sides.upright.T[box[2] :], box[1], box[3]),
        _closing(sides.level[box[3] :], box[0], box[2]),
    )


def closed_box(
    sides: Sides,
    box: tuple[int, int, int, int],
    columns: int | None = None,
    rows: int | None = None,
) -> tuple[int, int, int, int]:
    """The box with the strips up to a further line that ends them, where its own lines cross these.

    `sides`: of the photo as it is; `columns`, `rows`: the chart's size where that is known. The thick
    bar of a join is no line once it is faded, and the column next to it would be lost. Nothing crosses
    the strips within a frame or the edge of the paper.
    """
    ends = list(box)
    across, along = sides.near
    for side, strips in enumerate(beyond(sides, box)):
        axis, step = side % 2, 1 if side > 1 else -1
        crossed = along[box[1] : box[3] + 1] if axis == 0 else across[:, box[0] : box[2] + 1].T
        seen = crossed.mean(axis=0)
        usual = float(np.median(seen[box[axis] : box[axis + 2]]))
        first = box[side] - (step < 0)
        least = _WEAK_STRIP * max(usual, _SOME)
        crossing = bool((seen[first + step * np.arange(strips)] >= least).all())
        if (columns, rows)[axis] is None and crossing:
            ends[side] += step * strips
    return ends[0], ends[1], ends[2], ends[3]


def _closing(lines: Floats, first: int, last: int) -> int:
    """Which of the lines [lines, squares along them] after line 0 ends at those squares, the last one."""
    # A lattice that no lines held may have slipped by a square there.
    near = np.pad(lines[: _HIDDEN + 1], ((0, 0), (2, 2)))
    whole = near[:, first + 2 : last + 2].mean(axis=1) >= _CLOSED
    inside = near[:, [first + 2, last + 1]].min(axis=1) >= _END
    outside = near[:, [first, last + 3]].max(axis=1) < _END
    return int(np.flatnonzero(whole & inside & outside).max(initial=0))


def _without_numbers(
    sides: Sides, box: tuple[int, int, int, int], columns: int | None, rows: int | None
) -> tuple[int, int, int, int]:
    """The box without strips of numbers beside the chart.

    Numbers in every square look like lines, but like weaker ones than those of the strips beside them,
    along the strip and across it; an outermost round in dark yarn has at least a strong last line.
    """
    left, top, right, bottom = box
    across, along = sides.near
    upright, level = across[top:bottom].mean(axis=0), along[:, left:right].mean(axis=1)
    if columns is None:
        crossed = along[top : bottom + 1].mean(axis=0)
        while _numbers(upright[left : left + 5], crossed[left : left + 4]):
            left += 1
        while _numbers(upright[right : right - 5 : -1], crossed[right - 1 : right - 5 : -1]):
            right -= 1
    if rows is None:
        crossed = across[:, left : right + 1].mean(axis=1)
        while _numbers(level[top : top + 5], crossed[top : top + 4]):
            top += 1
        while _numbers(level[bottom : bottom - 5 : -1], crossed[bottom - 1 : bottom - 5 : -1]):
            bottom -= 1
    return left, top, right, bottom


def _numbers(lines: Floats, crossed: Floats) -> bool:
    """Whether the first strip is of numbers: lines and what crosses the strips, from the rim inwards."""
    if len(lines) < 5 or len(crossed) < 4:
        return False
    line, strip = float(np.median(lines[1:])), float(np.median(crossed[1:]))
    weak = lines[0] < _WEAK_LINE * line and crossed[0] < _WEAK_STRIP * strip
    bare = crossed[0] < _LEAST_CROSSED * strip and lines[0] < _WEAK_LINE * lines[1]
    return bool((weak or bare) and min(line, strip) > _SOME)


def _core(squares: Floats) -> tuple[int, int, int, int]:
    """A box to start from: about the largest patch of lined squares."""
    import cv2

    near = cv2.blur(squares.astype(np.float32), (5, 5))
    lined = (near >= 0.5 * float(near.max())).astype(np.uint8)  # all of it where no line is seen
    _, _, stats, _ = cv2.connectedComponentsWithStats(lined, connectivity=4)
    x, y, w, h, _ = stats[1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))]
    return int(x), int(y), int(x + w), int(y + h)


def _stretch(lines: Floats, crossed: Floats, count: int | None) -> tuple[int, int]:
    """First and last line of the chart; `count` squares between them where that is known.

    `lines`: how much of each line is seen; `crossed`: how much is seen of the lines that cross
    the strip after it. The edge of the paper is a line too, but nothing crosses the strip before it.
    """
    worth = np.empty(2 * len(lines) - 1)
    worth[::2] = _worth(lines)
    strips = _worth(crossed)
    worth[1::2] = _CROSSED * strips - _BARE * (strips < _LEAST_CROSSED - _PART)
    total = np.concatenate([[0.0], np.cumsum(worth)])
    ends = total[1::2]  # with each line as the last
    begins = total[:-1:2]  # before each line as the first
    if count is not None:
        count = min(count, len(lines) - 1)
        first = int(np.argmax(ends[count:] - begins[: len(begins) - count]))
        return first, first + count
    last = int(np.argmax(ends - np.minimum.accumulate(begins)))
    first = int(np.argmin(begins[: last + 1]))
    return (first, last) if last > first else (max(0, last - 1), max(0, last - 1) + 1)


def _worth(seen: Floats) -> Floats:
    """Above 0 for what a line of the chart shows, below 0 for less; 1 - _PART at the most."""
    high = seen[seen > 0.3 * seen.max()]
    typical = float(np.median(high)) if high.size else 1.0
    return np.asarray(np.minimum(seen / (typical + 1e-6), 1.0) - _PART)
