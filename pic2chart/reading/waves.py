"""The waves of stitches and rounds in fabric: the lean of the yarn, its spectra, where the cloth is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats

PER_MM = 4.0
"""Pixels a millimetre of the pictures in which fabric is looked at."""
SLOW = 4
"""Pixels that are averaged into one pixel of the maps of phase and of the cloth."""

Waves = NDArray[np.complex64]
PatchSlices = tuple[slice, slice]


def slope(wave: Waves) -> Floats:
    """Mean slope of the phase, waves a mm (x, y), from its steps between neighbouring pixels."""
    steps = (wave[:, 1:] * np.conj(wave[:, :-1]), wave[1:] * np.conj(wave[:-1]))
    return np.array([np.angle(step.sum()) / (2 * np.pi) * PER_MM / SLOW for step in steps])


# Spectra of fabric: the lean of the yarn, and the power of its waves averaged over patches.

_PATCH = 128
_MOST_PATCHES = 30


def lean_of(gray: NDArray[np.uint8], seen: NDArray[np.bool_], scale_mm: float) -> Waves:
    """Direction of the yarn as a complex number of double angle, at most 1 in size; 0 where unseen."""
    import cv2

    sigma = scale_mm * PER_MM
    smooth = cv2.GaussianBlur(gray.astype(np.float32), (0, 0), max(sigma, 0.6))
    gx, gy = (
        cv2.Sobel(smooth, cv2.CV_32F, 1, 0, ksize=3),
        cv2.Sobel(smooth, cv2.CV_32F, 0, 1, ksize=3),
    )
    soft = [
        cv2.GaussianBlur(part, (0, 0), 1.2 * max(sigma, 0.6))
        for part in (gx * gx - gy * gy, 2 * gx * gy, gx * gx + gy * gy)
    ]
    inside = cv2.erode(seen.astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    floor = 0.1 * float(np.median(soft[2][inside])) + 0.5 if inside.any() else 1.0
    lean = (soft[0] + 1j * soft[1]) / (soft[2] + floor)
    return np.asarray(np.where(inside, lean, 0), dtype=np.complex64)


def power_of(real: Floats32, imaginary: Floats32 | None = None) -> Floats:
    """Mean power of overlapping patches, float [2 · _PATCH, 2 · _PATCH], zero frequency in the middle.

    With an imaginary part, the power of the lean against each wave's own direction: the imaginary
    part of the double angle turned back by twice the wave's direction.
    """
    window = np.hanning(_PATCH).astype(np.float32)
    window = window[:, None] * window[None, :]
    size = 2 * _PATCH
    sums = [np.zeros((size, size // 2 + 1), np.float32) for _ in range(3)]
    for part in _patches(real):
        first = _spectrum(real[part], window, size)
        sums[0] += first.real**2 + first.imag**2
        if imaginary is not None:
            second = _spectrum(imaginary[part], window, size)
            sums[1] += second.real**2 + second.imag**2
            sums[2] += first.real * second.real + first.imag * second.imag
    plain, crossed, both = (_whole_plane(part) for part in sums)
    if imaginary is None:
        return plain
    cos, sin = np.cos(2 * _directions(size)), np.sin(2 * _directions(size))
    return np.asarray(crossed * cos**2 + plain * sin**2 - 2 * sin * cos * both)


def _patches(values: Floats32) -> list[tuple[slice, slice]]:
    """Patches with something in them, at most about a hundred."""
    rows, columns = values.shape
    step = max(_PATCH // 2, int(np.sqrt(rows * columns / _MOST_PATCHES)))
    found = []
    for y in range(0, rows - _PATCH + 1, step):
        for x in range(0, columns - _PATCH + 1, step):
            part = (slice(y, y + _PATCH), slice(x, x + _PATCH))
            if np.count_nonzero(values[part]) > 0.7 * _PATCH**2:
                found.append(part)
    return found


def _spectrum(patch: Floats32, window: Floats32, size: int) -> NDArray[np.complex64]:
    from scipy.fft import rfft2

    return np.asarray(rfft2((patch - patch.mean()) * window, (size, size)), dtype=np.complex64)


def _whole_plane(half: Floats32) -> Floats:
    """A half plane of power as the whole one, zero frequency in the middle."""
    size = half.shape[0]
    mirrored = np.roll(half[::-1], 1, axis=0)[:, size // 2 - 1 : 0 : -1]
    return np.fft.fftshift(np.hstack([half, mirrored]).astype(np.float64))


def _directions(size: int) -> Floats:
    k = np.arange(size) - size // 2
    return np.arctan2(k[:, None], k[None, :])


def frequencies(size: int) -> tuple[Floats, Floats]:
    """Waves a mm (x, y) of a shifted spectrum."""
    k = (np.arange(size) - size // 2) / size * PER_MM
    x, y = np.meshgrid(k, k)
    return x, y


def refined(power: Floats, peak: tuple[int, ...]) -> Floats:
    """The peak's place to parts of a step, by parabolas through the logarithms."""
    logs = np.log(np.maximum(power, 0) + 1e-12)
    place = []
    for axis in (1, 0):
        step = np.eye(2, dtype=int)[axis]
        low, mid, high = (logs[tuple(np.array(peak) + k * step)] for k in (-1, 0, 1))
        curvature = low - 2 * mid + high
        off = 0.5 * (low - high) / curvature if curvature < 0 else 0.0
        place.append(peak[axis] + float(np.clip(off, -1, 1)))
    return np.asarray((np.array(place) - power.shape[0] // 2) / power.shape[0] * PER_MM)


def spread_out(parts: list[PatchSlices], most: int) -> list[PatchSlices]:
    """At most so many of the patches, evenly chosen."""
    if len(parts) <= most:
        return parts
    return [parts[k] for k in np.linspace(0, len(parts) - 1, most).astype(int)]


# Where the stitches' wave is, and the periods that were followed over the cloth.

_SOFT = 1.4
_STRONG = 0.45

Floats32 = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Periods:
    """`across`, `up`: waves a mm as vectors (x, y) of one stitch and one round, for every patch
    [patches, 2]. `waves`: the two waves that were followed; `phase`: complex maps of what is left of
    each; `cloth`: where the fabric is, bool, both at PER_MM / SLOW. `apart`: how far independent
    signs of the rounds differ, relative."""

    across: Floats
    up: Floats
    waves: tuple[Floats, Floats]
    phase: tuple[Waves, Waves]
    cloth: NDArray[np.bool_]
    apart: float

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


def cloth_of(turned: Waves, across: Floats, seen: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Where the stitches' wave is strong: the largest connected part, at PER_MM / SLOW.

    `turned`: the yarn's direction as a double angle against the stitches' wave, at PER_MM.
    """
    strength, open_ = strength_of(turned, across, seen)
    if not open_.any():
        return np.zeros_like(open_)
    strong = open_ & (strength > _STRONG * float(np.percentile(strength[open_], 95)))
    return largest(strong, int(2 * PER_MM / SLOW / float(np.hypot(*across))))


def strength_of(
    turned: Waves, across: Floats, seen: NDArray[np.bool_]
) -> tuple[Floats32, NDArray[np.bool_]]:
    """How strong the stitches' wave is, and where it may be looked at, at PER_MM / SLOW."""
    strength = np.abs(_residual(turned.imag, across, 1 / float(np.hypot(*across))))
    rows, width = strength.shape
    return strength, seen[: rows * SLOW : SLOW, : width * SLOW : SLOW]


def _residual(signal: Floats32, wave: Floats, stitch: float) -> Waves:
    """What is left of the signal's part at a wave, as a slowly turning map at PER_MM / SLOW."""
    boxes = mixed(signal, wave / PER_MM, SLOW)
    return blurred(boxes, _SOFT * stitch * PER_MM / SLOW)


def mixed(signal: Floats32, wave: Floats, side: int) -> Waves:
    """The signal times a wave (x, y) a pixel, backwards, averaged over boxes of `side` pixels."""
    rows, columns = (n // side * side for n in signal.shape)
    x, y = (
        np.exp(-2j * np.pi * step * np.arange(n)).astype(np.complex64) / np.float32(side)
        for step, n in zip(wave, (columns, rows), strict=True)
    )
    part = signal[:rows, :columns]
    across = sum(part[:, k::side] * x[None, k::side] for k in range(side))
    return np.asarray(sum(across[k::side] * y[k::side, None] for k in range(side)), np.complex64)


def blurred(wave: Waves, sigma: float) -> Waves:
    """A complex map blurred by a Gaussian of `sigma` pixels."""
    import cv2

    real, imaginary = (
        cv2.GaussianBlur(np.ascontiguousarray(part), (0, 0), sigma)
        for part in (wave.real, wave.imag)
    )
    return np.asarray(real + 1j * imaginary, dtype=np.complex64)


def largest(mask: NDArray[np.bool_], grow: int) -> NDArray[np.bool_]:
    """The largest connected part of a mask, thin parts dropped."""
    import cv2

    kernel = np.ones((max(3, grow | 1),) * 2, np.uint8)
    tidy = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, kernel)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(tidy)
    if count < 2:
        return np.zeros_like(mask)
    return np.asarray(labels == 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA])))


def followed_patches(cloth: NDArray[np.bool_], stitch: float, stitches: int) -> list[PatchSlices]:
    """Whole patches of cloth of so many stitches of `stitch` mm, half overlapping."""
    side = int(max(stitches * stitch, 16) * PER_MM / SLOW)
    found: list[PatchSlices] = []
    for y in range(0, cloth.shape[0] - side + 1, max(1, side // 2)):
        for x in range(0, cloth.shape[1] - side + 1, max(1, side // 2)):
            part = (slice(y, y + side), slice(x, x + side))
            if cloth[part].mean() > 0.95:
                found.append(part)
    return found
