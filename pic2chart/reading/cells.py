"""What each square of a photographed chart shows, as numbers that can be compared.

A square gives its mean colour, as logarithms so that light and shadow only add to it, and the shape
of what is drawn in it. The light over the page, a smooth surface, is told from the steps between
neighbours: those that are small are the light's, the large ones are other yarns.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.lattice import FINE, Lattice, fine_view
from pic2chart.reading.perspective import Floats

_DARK = 12.0
"""Added to grey levels before the logarithm, so that the noise of dark colours does not grow."""
_WAVES = 7
_SMALL_STEP = 0.05
_TOP, _FOOT = 3, 12
"""Pixel rows of a square that are looked at: the foot, where catches are marked, is left out."""
_SIDE = 3
_STRAY = 2
_CORNERS = [3, 4, 11, 12]
"""Rows and columns of a square whose crossings no printed symbol reaches."""


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """`colour`: log colours [rows, columns, 3] with the light taken out; `shape`: [rows, columns, 6]
    how light the parts of a square are against its own mean; `light`: [rows, columns] logarithm of
    the light that was taken out; `plain`: as `colour`, but of the corners, which marks leave free."""

    colour: Floats
    shape: Floats
    light: Floats
    plain: Floats

    @staticmethod
    def levels(logs: Floats) -> Floats:
        """Grey levels 0-255 of logarithms as in `colour`."""
        return np.asarray(np.exp(logs) - _DARK)


def read_cells(rgb: NDArray[np.uint8], lattice: Lattice, columns: int, rows: int) -> Cells:
    """The squares of a chart of that size whose top left corner is the lattice's origin."""
    view = fine_view(rgb, lattice, (0, 0, columns, rows)).astype(np.float32)
    squares = view.reshape(rows, FINE, columns, FINE, 3).swapaxes(1, 2)
    middle = squares[:, :, _TOP:_FOOT, _SIDE : FINE - _SIDE]
    mean = middle.mean(axis=(2, 3)).astype(np.float64)
    logs = np.log(mean + _DARK)
    grey = np.log(squares.mean(axis=4) + _DARK)
    light = _light(logs)
    corners = squares[:, :, _CORNERS][:, :, :, _CORNERS].reshape(rows, columns, -1, 3)
    ground = np.median(corners, axis=2).astype(np.float64)
    plain = np.log(ground + _DARK) - light[..., None]
    return Cells(logs - light[..., None], _shapes(grey), light, plain)


def paper_of(rgb: NDArray[np.uint8], lattice: Lattice, cells: Cells) -> Floats | None:
    """The blank paper round the chart as a log colour [3] with the light taken out, or None.

    The brighter half of the squares next to the chart; paper is no darker than the lightest yarn
    and has little colour of its own.
    """
    rows, columns = cells.light.shape
    view = fine_view(rgb, lattice, (-1, -1, columns + 1, rows + 1)).astype(np.float32)
    squares = view.reshape(rows + 2, FINE, columns + 2, FINE, 3).swapaxes(1, 2)
    mean = squares[:, :, _SIDE:-_SIDE, _SIDE:-_SIDE].mean(axis=(2, 3))
    logs = np.log(mean + _DARK) - np.pad(cells.light, 1, mode="edge")[..., None]
    outside = np.ones((rows + 2, columns + 2), dtype=bool)
    outside[1:-1, 1:-1] = False
    around = logs[outside]
    bright = around.mean(axis=1)
    paper = np.median(around[bright >= np.median(bright)], axis=0)
    lightest = float(np.percentile(cells.colour.mean(axis=2), 95))
    plain = float(paper.mean()) > lightest - 0.08 and float(np.ptp(paper)) < 0.3
    return np.asarray(paper, dtype=np.float64) if plain else None


def _shapes(grey: NDArray[np.float32]) -> Floats:
    """Log grey [rows, columns, 16, 16] → mean of the middle, the corners, above and below, the
    sides, and the two diagonals, less the whole's: [rows, columns, 6].

    The window follows the mark, so that a hand that does not hit the middle makes no other mark.
    """
    window = _following(grey)
    y = np.linspace(-1, 1, window.shape[2])[:, None]
    x = np.linspace(-1, 1, window.shape[3])[None, :]
    near_x, near_y = np.abs(x) < 0.34, np.abs(y) < 0.34
    parts = (
        near_x & near_y,
        ~near_x & ~near_y,
        near_x & ~near_y,
        ~near_x & near_y,
        (np.abs(y - x) < 0.34) & ~(near_x & near_y),
        (np.abs(y + x) < 0.34) & ~(near_x & near_y),
    )
    whole = window.mean(axis=(2, 3))
    return np.stack([window[:, :, p].mean(axis=2) - whole for p in parts], axis=-1).astype(float)


def _following(grey: NDArray[np.float32]) -> NDArray[np.float32]:
    """The window of each square moved by up to _STRAY pixels, to where its mark's weight lies."""
    inner = grey[:, :, _TOP:_FOOT, _SIDE : FINE - _SIDE]
    odd = np.abs(inner - np.median(inner, axis=(2, 3), keepdims=True))
    odd = np.maximum(odd - 0.06, 0)
    total = odd.sum(axis=(2, 3)) + 1.0
    y, x = (np.arange(n, dtype=np.float32) - (n - 1) / 2 for n in inner.shape[2:])
    down = np.clip(np.rint((odd.sum(axis=3) @ y) / total), -_STRAY, _STRAY).astype(int)
    over = np.clip(np.rint((odd.sum(axis=2) @ x) / total), -_STRAY, _STRAY).astype(int)
    out = inner.copy()
    for dy, dx in product(range(-_STRAY, _STRAY + 1), repeat=2):
        moved = (down == dy) & (over == dx)
        out[moved] = grey[moved][:, _TOP + dy : _FOOT + dy, _SIDE + dx : FINE - _SIDE + dx]
    return out


def _light(logs: Floats) -> Floats:
    """The logarithm of the light over the page [rows, columns], mean 0: a few cosine waves.

    Fitted to the steps of brightness between neighbours, each weighing less the larger it is
    against what the light so far explains (Cauchy weights, with hue counting against it as well).
    """
    rows, columns = logs.shape[:2]
    waves = _cosines(rows, columns)
    bright = logs.mean(axis=2)
    hue = logs - bright[..., None]
    parts, values, apart = [], [], []
    for axis in (0, 1):
        parts.append(np.diff(waves, axis=axis).reshape(-1, waves.shape[2]))
        values.append(np.diff(bright, axis=axis).ravel())
        apart.append(np.abs(np.diff(hue, axis=axis)).max(axis=2).ravel())
    terms, steps, other = np.vstack(parts), np.concatenate(values), np.concatenate(apart)
    strength = np.zeros(waves.shape[2])
    for _ in range(6):
        rest = np.hypot(steps - terms @ strength, 2 * other) / _SMALL_STEP
        weight = 1 / (1 + rest**2) ** 2
        square = (terms * weight[:, None]).T @ terms
        damp = 1e-3 * np.trace(square) / len(square) + 1e-9
        strength = np.linalg.solve(
            square + damp * np.eye(len(square)), (terms * weight[:, None]).T @ steps
        )
    light = waves @ strength
    return np.asarray(light - light.mean())


def _cosines(rows: int, columns: int) -> Floats:
    """Products of cosines up to _WAVES half waves in all, without the constant [rows, columns, terms]."""
    y = (np.arange(rows) + 0.5)[:, None] / rows
    x = (np.arange(columns) + 0.5)[None, :] / columns
    pairs = [(i, j) for i in range(_WAVES) for j in range(_WAVES - i) if i or j]
    waves = [np.cos(np.pi * i * y) * np.cos(np.pi * j * x) / (1 + i + j) for i, j in pairs]
    return np.stack(waves, axis=-1)
