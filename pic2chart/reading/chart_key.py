"""The key beside a chart: small squares with a colour or a symbol, in a row or a column.

They are looked for round the chart in the view that its lattice gives, as closed outlines of about the
size of its squares that do not touch it. What each shows is compared with the yarns of the chart; the
names beside them are read elsewhere (`key_names.py`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.cells import Cells, Sorted, colour_of, features
from pic2chart.reading.chart_grid import ChartGrid
from pic2chart.reading.lattice import FINE, fine_image
from pic2chart.reading.marks import marks_of
from pic2chart.reading.perspective import Floats

_AROUND, _CLEAR = 12, 0.4
"""Squares round the chart that are looked at, and how far from it a key lies at least."""
_SMALLEST, _LARGEST = 0.6, 2.2
_SQUARE, _FILLED = 0.75, 0.88
"""Sides' ratio of a square at least, and the part of its box that an outline takes up."""
_RIM = 0.9
"""Part of its rim along which an outline is seen."""
_ALIKE = 0.12
"""Part by which sizes of one key's squares differ, and by which they lie off one line."""
_INKS = (50, 25, 12)
"""Grey levels by which an outline is darker than the paper about it, one after the other: where it is
faint, what lies close together runs into one."""
_FAR = 0.5
"""Distance from a yarn, in that to the yarn nearest to it, from which on a square shows none."""


@dataclass(frozen=True, slots=True, eq=False)
class Key:
    """`boxes`: left, top, width and height in squares of the chart [n, 4], from its top left corner;
    `yarns`: the group of the chart that each shows, -1 for none; `names`: of groups, where they were
    read."""

    boxes: Floats
    yarns: tuple[int, ...]
    names: Mapping[int, str] = field(default_factory=dict)

    @property
    def known(self) -> frozenset[int]:
        """The groups of the chart that it shows."""
        return frozenset(self.yarns) - {-1}


def find_key(rgb: NDArray[np.uint8], grid: ChartGrid, cells: Cells, found: Sorted) -> Key | None:
    """The key beside a chart whose squares were sorted; None where none is seen."""
    columns, rows = grid.columns, grid.rows
    span = (-_AROUND, -_AROUND, columns + _AROUND, rows + _AROUND)
    image = fine_image(rgb, grid.lattice, span)
    boxes = _outlines(image, columns, rows)
    if len(boxes) < 2:
        return None
    shown = np.array([_shown(image, box, cells) for box in boxes])
    yarns = dict(zip(map(tuple, boxes.tolist()), _nearest(shown, cells, found), strict=True))
    best: Key | None = None
    for line in _in_line(boxes):
        key = Key(
            line / FINE - [_AROUND, _AROUND, 0, 0], tuple(yarns[tuple(b)] for b in line.tolist())
        )
        if len(key.known) > 1 and (best is None or len(key.known) > len(best.known)):
            best = key
    return best


def _outlines(image: NDArray[np.uint8], columns: int, rows: int) -> Floats:
    """Left, top, width, height of square outlines outside the chart, in pixels of the view."""
    import cv2

    gray = cv2.cvtColor(image, cv2.COLOR_RGB2GRAY)
    paper = cv2.morphologyEx(gray, cv2.MORPH_CLOSE, np.ones((3 * FINE, 3 * FINE), np.uint8))
    ink = cv2.subtract(paper, gray)
    # What touches the chart belongs to it.
    near = round((_AROUND - _CLEAR) * FINE)
    far = (round((_AROUND + rows + _CLEAR) * FINE), round((_AROUND + columns + _CLEAR) * FINE))
    ink[near : far[0], near : far[1]] = 0
    kept: list[tuple[int, int, int, int]] = []
    for least in _INKS:
        dark = (ink > least).astype(np.uint8)
        for contour in cv2.findContours(dark, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)[0]:
            x, y, w, h = cv2.boundingRect(contour)
            middle = (x + w / 2, y + h / 2)
            known = any(
                np.hypot(middle[0] - a - c / 2, middle[1] - b - d / 2) < FINE / 2
                for a, b, c, d in kept
            )
            if not known and _is_square(dark, np.asarray(contour), (x, y, w, h)):
                kept.append((x, y, w, h))
    return np.array(kept, dtype=np.float64).reshape(-1, 4)


def _is_square(
    dark: NDArray[np.uint8], contour: NDArray[Any], box: tuple[int, int, int, int]
) -> bool:
    """Whether a contour with that box is the outline of a square, drawn all round."""
    import cv2

    x, y, w, h = box
    inside = min(w, h) >= _SMALLEST * FINE and max(w, h) <= _LARGEST * FINE
    if not inside or min(w, h) < _SQUARE * max(w, h):
        return False
    rim = np.ones((h, w), dtype=bool)
    rim[2:-2, 2:-2] = False
    near = cv2.dilate(dark[y : y + h, x : x + w], np.ones((3, 3), np.uint8))
    whole = cv2.contourArea(contour) >= _FILLED * (w - 1) * (h - 1)
    return bool(whole and near[rim].mean() >= _RIM)


def _in_line(boxes: Floats) -> list[Floats]:
    """Boxes of one size whose middles lie in one column or row, each line from the top left."""
    lines: list[Floats] = []
    for one in boxes:
        size = one[2:].mean()
        alike = boxes[np.abs(boxes[:, 2:] - one[2:]).max(axis=1) <= max(2.0, _ALIKE * size)]
        middles = alike[:, :2] + alike[:, 2:] / 2
        for axis in (0, 1):
            off = np.abs(middles[:, axis] - (one[axis] + one[2 + axis] / 2))
            line = alike[off <= max(2.0, 2 * _ALIKE * size)]
            if len(line) > 1:
                lines.append(line[np.argsort(line[:, 1 - axis], kind="stable")])
    return lines


def _shown(image: NDArray[np.uint8], box: Floats, cells: Cells) -> Floats:
    """What is in a box as the numbers of a square of the chart."""
    import cv2

    left, top, width, height = (int(v) for v in box)
    part = image[top : top + height, left : left + width]
    square = cv2.resize(part, (FINE, FINE), interpolation=cv2.INTER_AREA)[None, None]
    rows, columns = cells.light.shape
    row = int(np.clip(top / FINE - _AROUND, 0, rows - 1))
    column = int(np.clip(left / FINE - _AROUND, 0, columns - 1))
    light = cells.light[row : row + 1, column : column + 1]
    colour, grey = colour_of(square.astype(np.float32), light)
    return np.asarray(features(colour, marks_of(grey))[0], dtype=np.float64)


def _nearest(shown: Floats, cells: Cells, found: Sorted) -> list[int]:
    """The group of each square of a key, -1 where it is like none."""
    values = features(cells.colour, cells.shape)
    groups = found.yarn.ravel()
    middles = np.array([values[groups == g].mean(axis=0) for g in range(found.count)])
    far = np.linalg.norm(shown[:, None] - middles[None], axis=2)
    between = np.linalg.norm(middles[:, None] - middles[None], axis=2)
    between += np.diag(np.full(len(middles), np.inf))
    nearest = far.argmin(axis=1)
    limit = _FAR * np.minimum(between.min(axis=1), 2.0)[nearest]
    return [
        int(g) if d <= most else -1
        for g, d, most in zip(nearest, far.min(axis=1), limit, strict=True)
    ]
