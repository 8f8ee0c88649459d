"""The names beside the squares of a chart's key, read with the extra `letters`.

Beside a square, right of it or below it, the first line of ink is cut out of the photo and read. What
is read is anybody's: only a short line of letters that the network is sure of is a name.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.settings import MAX_YARNS
from pic2chart.model.keys import clean_title
from pic2chart.model.yarn import MAX_NAME
from pic2chart.reading.chart_grid import ChartGrid
from pic2chart.reading.chart_key import Key
from pic2chart.reading.lattice import Lattice
from pic2chart.reading.line_text import can_read, read_line
from pic2chart.reading.perspective import Floats

_SURE, _WIDER = (0.7, 0.9), 1.3
"""How sure the least sure letter of a name must be in both views of it and in one, and how much wider one
is: what is guessed wrong is seldom guessed alike twice."""
_SHORTEST = 2
_MOST_SQUARES = 2 * MAX_YARNS
"""Of a key whose names are read: each may take four readings of up to a tenth of a second."""
_REACH, _MARGIN = 12.0, 0.3
"""Heights of a square that a name may reach to its right, and by which it may be higher."""
_HIGH = 48
"""Pixels of a square's height in what is cut out."""
_BEFORE, _BETWEEN, _APART, _LOWEST = 2.0, 0.75, 0.12, 0.2
"""Heights of a square before a name right of it at most, between words of one name at most, between
lines at least, and of a line at least."""
_INK, _PART = 22, 0.35
"""Grey levels, and part of the darkest ink, by which a letter is darker than its paper."""
_FULL = 0.95
"""Part of a column's height that no letter fills: the edge of the paper, a line."""
_BESIDE = " -'.&"
"""What a name may have beside letters and numbers."""


def named(rgb: NDArray[np.uint8], grid: ChartGrid, key: Key, quarters: int) -> Key:
    """The key with the names beside its squares, as far as they are read.

    `quarters`: clockwise quarters by which the photo must be turned to be upright.
    """
    if len(key.boxes) > _MOST_SQUARES or not can_read():
        return key
    boxes = _turned(key.boxes, grid, quarters)
    read = [_name(rgb, grid, boxes, n, quarters) for n in range(len(boxes))]
    return replace(key, names=named_once(key.yarns, read))


def named_once(yarns: Sequence[int], read: Sequence[str]) -> dict[int, str]:
    """The name of each group that one square of a key shows (-1: none), where no other has that name."""
    often, shown = Counter(name.casefold() for name in read), Counter(yarns)
    return {
        group: name
        for group, name in zip(yarns, read, strict=True)
        if group >= 0 and name and shown[group] == often[name.casefold()] == 1
    }


def _name(rgb: NDArray[np.uint8], grid: ChartGrid, boxes: Floats, n: int, quarters: int) -> str:
    """The name beside one square; '' where none is read for sure."""
    for part, before in ((_right_of(boxes, n), _BEFORE), (_below(boxes, n), np.inf)):
        strip = _cut(rgb, grid, part, boxes[n, 3], quarters)
        line = None if strip is None else _line(strip, before * _HIGH)
        name = "" if line is None else _sure_name(line)
        if name:
            return name
    return ""


def _sure_name(line: NDArray[np.uint8]) -> str:
    """The name in a line of ink, '' unless it reads the same when it is drawn wider."""
    import cv2

    wider = cv2.resize(line, None, fx=_WIDER, fy=1, interpolation=cv2.INTER_CUBIC)
    first, second = read_line(line), read_line(np.asarray(wider, dtype=np.uint8))
    sure = sorted((first.sure, second.sure))
    agreed = first.text == second.text and sure[0] >= _SURE[0] and sure[1] >= _SURE[1]
    return _cleaned(first.text) if agreed else ""


def _right_of(boxes: Floats, n: int) -> Floats:
    """Left, top, right, foot of where a name right of a square may stand, up to the next square's."""
    left, top, wide, high = boxes[n]
    others = np.delete(boxes, n, axis=0)
    level = np.abs(others[:, 1] - top) < 0.5 * high
    ends = others[level & (others[:, 0] > left), 0]
    above = others[(others[:, 1] < top) & ~level]
    under = others[(others[:, 1] > top) & ~level]
    # Lines of a key that stand close together leave half of what is between them to each.
    room = [_MARGIN * high, _MARGIN * high]
    if len(above):
        room[0] = min(room[0], max(0.0, (top - (above[:, 1] + above[:, 3]).max()) / 2))
    if len(under):
        room[1] = min(room[1], max(0.0, (under[:, 1].min() - top - high) / 2))
    return np.array(
        [
            left + 1.12 * wide,
            top - room[0],
            min([left + wide + _REACH * high, *(ends - 0.1 * wide)]),
            top + high + room[1],
        ]
    )


def _below(boxes: Floats, n: int) -> Floats:
    """Left, top, right, foot of where a name below a square of a row may stand."""
    left, top, wide, high = boxes[n]
    others = np.delete(boxes, n, axis=0)
    level = others[np.abs(others[:, 1] - top) < 0.5 * high]
    between = np.abs(level[:, 0] - left).min() if len(level) else 0.0
    middle = left + wide / 2
    return np.array(
        [middle - between / 2, top + 1.12 * high, middle + between / 2, top + 2.4 * high]
    )


def _turned(boxes: Floats, grid: ChartGrid, quarters: int) -> Floats:
    """Boxes of the photo's lattice as they lie when the photo is turned clockwise."""
    ends = np.stack([boxes[:, :2], boxes[:, :2] + boxes[:, 2:]], axis=1)
    size = (grid.columns, grid.rows)
    for _ in range(quarters % 4):
        ends = np.stack([size[1] - ends[..., 1], ends[..., 0]], axis=-1)
        size = (size[1], size[0])
    first = ends.min(axis=1)
    return np.hstack([first, ends.max(axis=1) - first])


def _in_photo(places: Floats, grid: ChartGrid, quarters: int) -> Floats:
    """Pixels of the photo of places [..., 2] of the turned chart."""
    turns = quarters % 4
    size = (grid.columns, grid.rows) if turns % 2 == 0 else (grid.rows, grid.columns)
    for _ in range(turns):
        places = np.stack([places[..., 1], size[0] - places[..., 0]], axis=-1)
        size = (size[1], size[0])
    lattice: Lattice = grid.lattice
    return lattice.to_photo(places)


def _cut(
    rgb: NDArray[np.uint8], grid: ChartGrid, part: Floats, high: float, quarters: int
) -> NDArray[np.uint8] | None:
    """A part of the turned chart's plane, upright, cut off at the photo's edge; None where it is empty."""
    import cv2

    left, top, right, foot = part
    inside = _within(_in_photo(np.array([[left, top], [left, foot]]), grid, quarters), rgb)
    if right - left < 0.3 * high or foot - top < 0.3 * high or not inside:
        return None
    # A photo that ends within the strip ends it.
    while not _within(_in_photo(np.array([[right, top], [right, foot]]), grid, quarters), rgb):
        right -= 0.1 * (right - left)
        if right - left < 0.3 * high:
            return None
    corners = np.array([[left, top], [right, top], [right, foot], [left, foot]])
    seen = _in_photo(corners, grid, quarters).astype(np.float32)
    wide, tall = (max(1, round(_HIGH * side / high)) for side in (right - left, foot - top))
    into = np.array([[0, 0], [wide, 0], [wide, tall], [0, tall]], np.float32) - 0.5
    view = cv2.getPerspectiveTransform(seen, into)
    return np.asarray(
        cv2.warpPerspective(rgb, view, (wide, tall), flags=cv2.INTER_CUBIC), dtype=np.uint8
    )


def _within(points: Floats, rgb: NDArray[np.uint8]) -> bool:
    size = np.array([rgb.shape[1], rgb.shape[0]])
    return bool(np.isfinite(points).all() and (points >= 0).all() and (points < size).all())


def _line(strip: NDArray[np.uint8], before: float) -> NDArray[np.uint8] | None:
    """The line of ink in a strip, begun within `before` pixels, cut out closely; None without one."""
    import cv2

    gray = cv2.cvtColor(strip, cv2.COLOR_RGB2GRAY)
    paper = cv2.morphologyEx(gray, cv2.MORPH_CLOSE, np.ones((_HIGH, _HIGH), np.uint8))
    ink = cv2.subtract(paper, gray).astype(np.float64)
    dark = ink > max(_INK, _PART * float(np.quantile(ink, 0.995)))
    edge = np.flatnonzero(dark.mean(axis=0) > _FULL)
    if len(edge):
        dark = dark[:, : edge[0]]
    # Of lines one above another the darkest is this square's; of words along it, those that follow.
    bands = _runs(np.any(dark, axis=1), _APART * _HIGH)
    if not bands:
        return None
    top, foot = max(bands, key=lambda band: int(dark[slice(*band)].sum()))
    left, right = _runs(np.any(dark[top:foot], axis=0), _BETWEEN * _HIGH)[0]
    if foot - top < _LOWEST * _HIGH or left > before:
        return None
    beyond = max(2, (foot - top) // 6)
    return strip[max(0, top - beyond) : foot + beyond, max(0, left - beyond) : right + beyond]


def _runs(inked: Any, between: float) -> list[tuple[int, int]]:
    """First and last but one place of what has ink, gaps of up to `between` places counted in."""
    places = np.flatnonzero(inked)
    parts = np.split(places, np.flatnonzero(np.diff(places) > between) + 1)
    return [(int(part[0]), int(part[-1]) + 1) for part in parts if len(part)]


def _cleaned(text: str) -> str:
    """A name of letters, numbers and little else, on one line; '' where it is none."""
    text = re.sub(r"(?<=\d) (?=\d)", "", text)  # figures stand far apart in some faces
    plain = clean_title(unicodedata.normalize("NFKC", text[:MAX_NAME])).strip(_BESIDE + "=:,;–—_|")
    letters = sum(c.isalpha() for c in plain)
    allowed = all(c.isalnum() or c in _BESIDE for c in plain)
    return plain if allowed and letters >= _SHORTEST and len(text) <= MAX_NAME else ""
