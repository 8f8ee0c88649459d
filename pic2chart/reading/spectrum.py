"""Spectra of fabric: the lean of the yarn, and the power of its waves averaged over patches."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.cloth import Floats32
from pic2chart.reading.perspective import Floats
from pic2chart.reading.signs import PER_MM, Waves

_PATCH = 128
_MOST_PATCHES = 48


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


def refined(power: Floats, peak: tuple[np.intp, ...]) -> Floats:
    """The peak's place to parts of a step, by parabolas through the logarithms."""
    logs = np.log(np.maximum(power, 0) + 1e-12)
    place = []
    for axis in (1, 0):
        step = np.eye(2, dtype=int)[axis]
        low, mid, high = (logs[tuple(np.array(peak) + k * step)] for k in (-1, 0, 1))
        bend = low - 2 * mid + high
        off = 0.5 * (low - high) / bend if bend < 0 else 0.0
        place.append(peak[axis] + float(np.clip(off, -1, 1)))
    return np.asarray((np.array(place) - power.shape[0] // 2) / power.shape[0] * PER_MM)


def smoothed(power: Floats) -> Floats:
    """Power blurred by less than a step, so that a peak between steps counts in full."""
    import cv2

    return np.asarray(cv2.GaussianBlur(power, (0, 0), 0.8))
