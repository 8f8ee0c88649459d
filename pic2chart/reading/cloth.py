"""Following the stitches and rounds of fabric over the cloth, by the phase of their waves.

A signal is demodulated at the wave of a stitch or a round; what is left turns slowly, and the slope
of its phase over a patch says how far the wave there differs.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats
from pic2chart.reading.signs import PER_MM, SLOW, Patch, Signs, Waves, disagreement, slope

_SOFT = 1.4
_PATCH = 8
_STRONG = 0.45

Floats32 = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Periods:
    """`across`, `up`: waves a mm as vectors (x, y) of one stitch and one round, for every patch
    [patches, 2]. `waves`: the two waves that were followed; `phase`: complex maps of what is left of
    each; `cloth`: where the fabric is, bool, both at PER_MM / SLOW. `apart`: how far independent
    signs of the stitches and of the rounds differ, relative."""

    across: Floats
    up: Floats
    waves: tuple[Floats, Floats]
    phase: tuple[Waves, Waves]
    cloth: NDArray[np.bool_]
    apart: tuple[float, float]

    @property
    def counts(self) -> Floats:
        """Stitches and rounds in 10 cm of every patch [patches, 2].

        Stitches are counted along a round and rounds along a column of stitches.
        """
        row = np.column_stack([self.up[:, 1], -self.up[:, 0]])
        column = np.column_stack([self.across[:, 1], -self.across[:, 0]])
        stitches = np.abs((self.across * row).sum(axis=1)) / np.linalg.norm(row, axis=1)
        rounds = np.abs((self.up * column).sum(axis=1)) / np.linalg.norm(column, axis=1)
        return np.column_stack([stitches, rounds]) * 100


def follow(turned: Waves, waves: tuple[Floats, Floats], seen: NDArray[np.bool_]) -> Periods | None:
    """Follow the waves of stitches and rounds; None when no patch of cloth is whole or the waves are
    not coherent over it.

    `turned`: the yarn's direction as a double angle against the stitches' wave, at PER_MM.
    """
    across, up = waves
    stitch = 1 / float(np.hypot(*across))
    signs = Signs(
        _left(turned.imag, across, stitch),
        _left(turned.real, up, stitch),
        _left(turned.imag, across + up, stitch),
        _left(turned.imag, across - up, stitch),
        _left(turned.imag, across / 2, stitch),
    )
    cloth = _cloth(np.abs(signs.columns), seen, stitch)
    patches = _patches(cloth, stitch)
    if not patches:
        return None
    apart = disagreement(signs, waves, cloth, patches, _SOFT * stitch * PER_MM / SLOW)
    if apart is None:
        return None
    rounds = _steadier(signs.plain, signs.by_total, np.abs(signs.columns))
    phase = (signs.columns, rounds)
    local = [[w + slope(p[part]) for w, p in zip(waves, phase, strict=True)] for part in patches]
    across_all, up_all = np.array(local).swapaxes(0, 1)
    return Periods(across_all, up_all, waves, phase, cloth, apart)


def _cloth(strength: Floats32, seen: NDArray[np.bool_], stitch: float) -> NDArray[np.bool_]:
    """Where the stitches' wave is strong: the largest connected part."""
    rows, width = strength.shape
    open_ = seen[: rows * SLOW : SLOW, : width * SLOW : SLOW]
    if not open_.any():
        return np.zeros_like(open_)
    strong = open_ & (strength > _STRONG * float(np.percentile(strength[open_], 95)))
    return _largest(strong, int(2 * stitch * PER_MM / SLOW))


def _left(signal: Floats32, wave: Floats, stitch: float) -> Waves:
    """What is left of the signal's part at a wave, as a slowly turning map at PER_MM / SLOW."""
    import cv2

    rows, columns = (n // SLOW * SLOW for n in signal.shape)
    y = np.exp(-2j * np.pi * wave[1] / PER_MM * np.arange(rows)).astype(np.complex64)
    x = np.exp(-2j * np.pi * wave[0] / PER_MM * np.arange(columns)).astype(np.complex64)
    mixed = signal[:rows, :columns] * y[:, None] * x[None, :]
    boxes = mixed.reshape(rows // SLOW, SLOW, columns // SLOW, SLOW).mean(axis=(1, 3))
    sigma = _SOFT * stitch * PER_MM / SLOW
    real, imaginary = (
        cv2.GaussianBlur(np.ascontiguousarray(part), (0, 0), sigma)
        for part in (boxes.real, boxes.imag)
    )
    return np.asarray(real + 1j * imaginary, dtype=np.complex64)


def _steadier(first: Waves, second: Waves, weight: Floats32) -> Waves:
    """The one of two maps whose phase changes less from pixel to pixel."""

    def steadiness(wave: Waves) -> float:
        unit = wave / (np.abs(wave) + 1e-9) * weight
        return float(np.abs((unit[2:] * np.conj(unit[:-2])).sum()))

    return first if steadiness(first) >= steadiness(second) else second


def _largest(mask: NDArray[np.bool_], grow: int) -> NDArray[np.bool_]:
    """The largest connected part of a mask, thin parts dropped."""
    import cv2

    kernel = np.ones((max(3, grow | 1),) * 2, np.uint8)
    tidy = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, kernel)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(tidy)
    if count < 2:
        return np.zeros_like(mask)
    return np.asarray(labels == 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA])))


def _patches(cloth: NDArray[np.bool_], stitch: float) -> list[Patch]:
    """Whole patches of cloth of about eight stitches, half overlapping."""
    side = int(max(_PATCH * stitch, 16) * PER_MM / SLOW)
    found: list[Patch] = []
    for y in range(0, cloth.shape[0] - side + 1, max(1, side // 2)):
        for x in range(0, cloth.shape[1] - side + 1, max(1, side // 2)):
            part = (slice(y, y + side), slice(x, x + side))
            if cloth[part].mean() > 0.95:
                found.append(part)
    return found
