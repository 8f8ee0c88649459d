"""The mark in a square as numbers that its place, and mostly its size, do not change.

A hand hits the middle of no square, and makes no two marks of one size; a camera puts the same symbol
on other pixels in every square. So a mark is told by the moments of its ink about its own middle:
how far the ink reaches, along which axis, how like a cross, how like a ring, how heavy at its foot.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats

_INSIDE = slice(2, 14)
"""Pixels of a square, of 16, that its lines leave free."""
_RIM = np.zeros((12, 12), dtype=bool)
_RIM[[0, 1, -2, -1]] = _RIM[:, [0, 1, -2, -1]] = True
"""The inside's outermost pixels, of which no mark covers half: the ground of the square."""
_COUNTS = np.array([0.1, 0.5, 1, 1, 1, 1, 1, 1, 1, 1, 0.5, 0.1])
"""What ink counts from edge to edge: a line that is heavy or not quite straight reaches inside."""
_NOISE = 0.09
"""Logarithm of a grey level by which ink differs from its ground at least."""
_FAINT = 0.02
"""Mean ink of a mark that is half seen."""
_BAR, _FOOT = slice(9, 12), 8
"""Rows inside a square in which a bar along its foot lies, and the first that it may darken."""
_ACROSS, _BARS = slice(2, 10), 0.01
"""Columns that a bar fills, and the share of squares with one from which on bars are meant."""
NUMBERS = 7


def marks_of(grey: NDArray[np.float32]) -> Floats:
    """Logarithms of grey [rows, columns, 16, 16] → the mark of each square [rows, columns, NUMBERS].

    First how much ink there is, above 0 where it is darker than its ground; then moments, each about
    -1 to 1, and 0 where there is no ink.
    """
    inside = grey[:, :, _INSIDE, _INSIDE]
    ground = np.median(inside[:, :, _RIM], axis=2)[..., None, None]
    apart = (ground - inside).astype(np.float64)
    ink = np.maximum(np.abs(apart) - _NOISE, 0)
    ink *= np.minimum(_COUNTS[:, None], _COUNTS[None, :])
    _without_bars(ink)
    mass = ink.sum(axis=(2, 3)) + 1e-9
    size = ink.shape[2]
    y, x = np.mgrid[:size, :size] - (size - 1) / 2.0
    x = x - ((ink * x).sum(axis=(2, 3)) / mass)[..., None, None]
    y = y - ((ink * y).sum(axis=(2, 3)) / mass)[..., None, None]
    square = x**2 + y**2

    def share(weight: Floats, whole: Floats) -> Floats:
        return np.asarray((ink * weight).sum(axis=(2, 3)) / ((ink * whole).sum(axis=(2, 3)) + 1e-9))

    spread = share(square, np.ones_like(square))
    moments = (
        spread / (size / 2) ** 2 * 2 - 0.5,
        share(x**2 - y**2, square),
        share(2 * x * y, square),
        share(x**4 - 6 * x**2 * y**2 + y**4, square**2),
        share(3 * x**2 * y - y**3, square**1.5),
        share(square**2, np.ones_like(square)) / (spread**2 + 1e-9) - 1.5,
    )
    dark = np.where((apart * ink).sum(axis=(2, 3)) >= 0, 1.0, -1.0)
    amount = mass / size**2
    seen = amount / (amount + _FAINT)
    return np.stack([dark * amount, *(np.clip(m, -1, 1) * seen for m in moments)], axis=-1)


def _without_bars(ink: Floats) -> None:
    """Leave the foot of every square out where bars from side to side mark catches there."""
    bar = (ink[:, :, _BAR, _ACROSS].max(axis=2) > 0).all(axis=2)
    if bar.mean() > _BARS:
        ink[:, :, _FOOT:] = 0
