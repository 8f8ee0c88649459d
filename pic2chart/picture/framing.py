"""Frames that follow a subject: the part of a picture that it fills, and that of head and shoulders."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from pic2chart.picture.decode import Box
from pic2chart.picture.subject import Mask

MARGIN = 0.05
"""Room left round a subject by the frame that follows it, as a share of its longer side."""
HEAD = 0.75
"""Side of the frame of head and shoulders, as a share of the side of a square as large as the subject:
about a third of a standing person, somewhat more than half of a bust or of a sitting cat."""
SHOULDERS = 1.35
"""Side of that frame against the longer side of a head that was seen."""


def frame_of(
    mask: Mask, size: tuple[int, int], shape: float | None = None, room: float = MARGIN
) -> Box:
    """The part of a picture of (width, height) `size` that its subject fills, with a small margin.

    `shape`: width over height that the part should have, as far as the picture goes; `room`: the
    margin, as a share of the subject's longer side.
    """
    ratio = size[0] / mask.shape[1], size[1] / mask.shape[0]
    inside = mask >= 0.5
    rows, columns = (np.flatnonzero(inside.any(axis=side)) for side in (1, 0))
    left, right = columns[0] * ratio[0], (columns[-1] + 1) * ratio[0]
    top, bottom = rows[0] * ratio[1], (rows[-1] + 1) * ratio[1]
    margin = room * max(right - left, bottom - top)
    wide, high = right - left + 2 * margin, bottom - top + 2 * margin
    if shape is not None:
        wide, high = max(wide, high * shape), max(high, wide / shape)
    return _box_round(((left + right) / 2, (top + bottom) / 2), (wide, high), size)


def head_of(
    mask: Mask,
    size: tuple[int, int],
    shape: float | None = None,
    room: float = MARGIN,
    *,
    head: Box | None = None,
) -> Box:
    """The part of a picture that shows head and shoulders of an upright subject, with a small margin.

    A square round the head that `find_head` sees. Where it sees none, the head is taken to be where
    the top is: a square, its side HEAD of the side of one as large as the subject, stands there, where
    it holds most of what is high up. `head`: what `find_head` sees, where that is known. Other
    arguments as for `frame_of`.
    """
    inside = mask >= 0.5
    ratio = size[0] / mask.shape[1], size[1] / mask.shape[0]
    head = head or find_head(mask, size)
    all_of_it = frame_of(mask, size, room=0.0)
    if head is not None and SHOULDERS * max(head.w, head.h) >= max(all_of_it.w, all_of_it.h):
        head = None  # it is all there is
    if head is None:
        side = HEAD * float(np.sqrt(inside.sum() * ratio[0] * ratio[1]))
        top = int(np.flatnonzero(inside.any(axis=1))[0])
    else:
        side = SHOULDERS * max(head.w, head.h)
        columns = np.s_[int(head.x / ratio[0]) : int((head.x + head.w) / ratio[0]) + 1]
        above = int(np.ceil(len(mask) / _ROWS))  # its cells are coarse
        top = max(int(head.y / ratio[1]) - above, 0)
        top += int(np.flatnonzero(inside[top:, columns].any(axis=1))[0])
    across = min(max(1, round(side / ratio[0])), inside.shape[1])
    down = np.s_[top : top + max(1, round(side / ratio[1]))]
    if head is None:
        first = _heaviest(inside[down], across)
    else:
        first = float(np.clip((head.x + head.w / 2) / ratio[0] - across / 2, 0, inside.shape[1]))
    middle = (first + across / 2) * ratio[0], top * ratio[1] + side / 2
    shown = np.zeros_like(mask)
    columns = np.s_[int(first) : int(first) + across]
    shown[down, columns] = inside[down, columns]
    if not room and shape is None:  # nothing but what is shown of the subject
        return frame_of(shown, size, None, 0.0)
    wide = high = side * (1 + 2 * room)
    if shape is not None:
        wide, high = max(wide, high * shape), max(high, wide / shape)
    return _box_round(middle, (wide, high), size)


def _heaviest(band: NDArray[np.bool_], across: int) -> float:
    """The first column of the stretch so long that holds most of what is high up in the band."""
    low = 1.0 - np.arange(len(band)) / len(band)
    held = np.convolve((low**2) @ band, np.ones(across), "valid")
    # the middle of all places that hold as much
    return float(np.flatnonzero(held >= held.max() * (1 - 1e-9)).mean())


def _box_round(
    middle: tuple[float, float], sides: tuple[float, float], size: tuple[int, int]
) -> Box:
    """The box of these sides round a place, moved into a picture of that size, and cut to it."""
    left, right = _within(middle[0], sides[0], size[0])
    top, bottom = _within(middle[1], sides[1], size[1])
    return Box(left, top, right - left, bottom - top)


def _within(middle: float, length: float, most: int) -> tuple[int, int]:
    """Start and end of a stretch, moved into 0 … most, and cut where it is longer than that."""
    length = min(length, float(most))
    start = min(max(middle - length / 2, 0.0), most - length)
    first = int(start)
    return first, max(first + 1, min(most, round(start + length)))


# A head, by the outline alone: from the top down something that is about as high as wide, narrows or
# ends, and stands on what is clearly wider.

_ROWS = 128
"""Rows of square cells that the mask is looked at in."""
_TALL = (0.7, 2.2)
"""Least and most height of a head, down to its neck, against its width."""
_BELOW = 1.5
"""How many times as wide as the neck the shoulders are, within half a head below it."""
_LARGE = 0.2
"""Least width of a head against the side of a square as large as the subject; ears are smaller."""
_LEANING = 1.25
"""Most width of all its rows together against the widest of them."""
_HIGH = 0.4
"""Share of the subject's height in which a head begins."""

_Run = tuple[int, int]


@dataclass(slots=True)
class _Bump:
    """What rises from a mask: the row it begins in, and from there its cells, from and to, row by row."""

    top: int
    runs: list[_Run]


def find_head(mask: Mask, size: tuple[int, int]) -> Box | None:
    """The head of an upright subject down to its neck, in a picture of (width, height) `size`.

    None where the outline shows none: the subject lies, has its head before its body, or has none.
    """
    rows = _ROWS
    cells = max(1, round(rows * size[0] / size[1])), rows
    inside = cv2.resize(np.asarray(mask, np.float32), cells, interpolation=cv2.INTER_AREA) >= 0.5
    if not inside.any():
        return None
    filled = np.flatnonzero(inside.any(axis=1))
    least = _LARGE * float(np.sqrt(inside.sum()))
    lowest = filled[0] + _HIGH * (filled[-1] + 1 - filled[0])
    heads = [
        (wide * down, bump, down)
        for bump in _bumps(inside)
        if bump.top < lowest and (found := _neck(bump.runs)) is not None
        for wide, down in [found]
        if wide >= least
    ]
    if not heads:
        return None
    _, bump, down = max(heads, key=lambda head: head[0])
    left, right = _sides(bump.runs[:down])
    rx, ry = size[0] / cells[0], size[1] / cells[1]
    return Box(round(left * rx), round(bump.top * ry), round((right - left) * rx), round(down * ry))


def _bumps(inside: NDArray[np.bool_]) -> list[_Bump]:
    """Everything that rises from a mask [R, C]; two that grow together go on as one."""
    done, open_ones = list[_Bump](), list[_Bump]()
    rows, columns = np.nonzero(np.diff(np.pad(inside, ((0, 0), (1, 1)))))
    ends = np.cumsum(np.bincount(rows, minlength=len(inside)))
    for row, line in enumerate(np.split(columns, ends[:-1])):
        edges = line.tolist()
        runs = sorted(zip(edges[::2], edges[1::2], strict=True), key=lambda run: run[0] - run[1])
        going = list[_Bump]()
        for run in runs:  # the widest first: what splits goes on there
            above = [bump for bump in open_ones if _touch(bump.runs[-1], run)]
            if above:
                open_ones = [bump for bump in open_ones if bump not in above]
                going.append(_joined(above, run))
            elif not any(_touch(bump.runs[-2], run) for bump in going if len(bump.runs) > 1):
                going.append(_Bump(row, [run]))
        done += open_ones
        open_ones = going
    return done + open_ones


def _touch(one: _Run, other: _Run) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def _joined(above: list[_Bump], run: _Run) -> _Bump:
    """The bumps as one, each of its rows from the first to the last cell of any, with one row more."""
    if len(above) == 1:
        above[0].runs.append(run)
        return above[0]
    top = min(bump.top for bump in above)
    rows = max(len(bump.runs) + bump.top for bump in above)
    hull = [
        [bump.runs[row - bump.top] for bump in above if row >= bump.top] for row in range(top, rows)
    ]
    return _Bump(top, [(min(a for a, _ in one), max(b for _, b in one)) for one in hull] + [run])


def _sides(runs: list[_Run]) -> _Run:
    return min(left for left, _ in runs), max(right for _, right in runs)


def _neck(runs: list[_Run]) -> tuple[int, int] | None:
    """Width of a head and its rows down to the neck; None where nothing wider follows."""
    widths = [right - left for left, right in runs]
    best: tuple[float, int, int] | None = None
    wide, (left, right) = 0, runs[0]
    for row, neck in enumerate(widths[:-1]):
        wide, left, right = max(wide, neck), min(left, runs[row][0]), max(right, runs[row][1])
        if right - left > _LEANING * wide or not _TALL[0] * wide <= row + 1 <= _TALL[1] * wide:
            continue
        below = max(widths[row + 1 : row + 2 + wide // 2]) / neck
        if below >= _BELOW and (best is None or below >= best[0]):
            best = below, wide, row + 1
    return None if best is None else best[1:]
