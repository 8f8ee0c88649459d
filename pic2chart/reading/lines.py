"""Where lines run in a picture of squared paper seen upright, and how far apart they are.

The pitch comes from the autocorrelation of a map of lines, averaged over narrow strips so that bent
lines do not blur it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats

_STRIP = 24
_LEVEL = 41
_UNBROKEN = (9, 18, 36)
"""Lengths a line must have to count, px: for small, middling and large squares."""
_CLEAR = 0.06
_MULTIPLES = 6
_BUSY = 0.02

Maps = NDArray[np.float32]


def line_map(flat: NDArray[np.uint8], axis: int, sigma: float, unbroken: int) -> Maps:
    """How strongly a line or an edge runs down (axis 0) or across (axis 1) at each pixel.

    `sigma` is the smoothing across the line. What is not `unbroken` for so many pixels along the
    line is wiped out, which leaves the lines of the paper and takes the marks within the squares.
    """
    return _opened(_strength(flat, axis, sigma), axis, unbroken)


def _strength(flat: NDArray[np.uint8], axis: int, sigma: float) -> Maps:
    """Slope and curvature together, which answer to edges and to fine lines alike."""
    import cv2

    smooth = cv2.blur(flat, (1, 5) if axis == 0 else (5, 1)).astype(np.float32)
    sigmas = (sigma, 0.3) if axis == 0 else (0.3, sigma)
    wide = cv2.GaussianBlur(smooth, (0, 0), sigmaX=sigmas[0], sigmaY=sigmas[1])
    dx, dy = (1, 0) if axis == 0 else (0, 1)
    slope = cv2.Sobel(wide, cv2.CV_32F, dx, dy, ksize=1)
    curve = cv2.Sobel(wide, cv2.CV_32F, 2 * dx, 2 * dy, ksize=1, scale=1.5 * sigma)
    return np.asarray(cv2.magnitude(slope, curve), dtype=np.float32)


def _opened(strength: Maps, axis: int, unbroken: int) -> Maps:
    import cv2

    bar = np.ones((unbroken, 1) if axis == 0 else (1, unbroken), np.uint8)
    return np.asarray(cv2.morphologyEx(strength, cv2.MORPH_OPEN, bar), dtype=np.float32)


def line_pitch(flat: NDArray[np.uint8], seen: NDArray[np.bool_], axis: int) -> float | None:
    """Pixels between lines, from the line maps for squares of several sizes; None without lines."""
    best: tuple[float, float] | None = None
    strength = _strength(flat, axis, 1.2)
    for unbroken in _UNBROKEN:
        echo = _echo(_opened(strength, axis, unbroken), seen, axis)
        found = None if echo is None else _smallest_pitch(echo)
        fits = found is not None and found[1] <= 2.4 * unbroken
        if found is not None and fits and (best is None or found[0] > 1.15 * best[0]):
            best = found
    return None if best is None else best[1]


def _echo(strength: Maps, seen: NDArray[np.bool_], axis: int) -> Floats | None:
    """Autocorrelation of the lines across, averaged over narrow strips; 1 at lag 0."""
    import cv2

    mean = cv2.blur(strength, (_LEVEL, _LEVEL))
    floor = float(np.percentile(mean[::4, ::4][seen[::4, ::4]], 75)) / 2 + 1e-3
    lines = np.where(seen, np.minimum(strength / (mean + floor), 2.5), 0.0).astype(np.float32)
    lines = lines - cv2.blur(lines, (_LEVEL, 1) if axis == 0 else (1, _LEVEL))
    lines = lines if axis == 0 else lines.T
    count = lines.shape[0] // _STRIP
    if count < 2 or lines.shape[1] < 40:
        return None
    strips = lines[: count * _STRIP].reshape(count, _STRIP, -1).mean(axis=1)
    power = (np.abs(np.fft.rfft(strips, 2 * strips.shape[1])) ** 2).sum(axis=0)
    echo = np.fft.irfft(power)[: strips.shape[1] // 3]
    return np.asarray(echo / (echo[0] + 1e-9))


def _smallest_pitch(echo: Floats) -> tuple[float, float] | None:
    """How clear it is, and the smallest lag at whose multiples the echo is high, halfway between low."""
    lags = np.arange(4.0, len(echo) / 2.6, 0.1)
    if not lags.size:
        return None
    x = np.arange(len(echo))
    at = np.array([np.interp(k * lags / 2, x, echo) for k in range(1, 2 * _MULTIPLES + 2)])
    inside = np.arange(1, 2 * _MULTIPLES + 2)[:, None] * lags / 2 < len(echo)
    peaks = at[1::2] - (at[0:-2:2] + at[2::2]) / 2
    counted = inside[2::2]
    score = (peaks * counted).sum(axis=0) / counted.sum(axis=0)
    score *= np.minimum(1.0, 0.6 + 0.1 * counted.sum(axis=0))  # few multiples may agree by chance
    best = float(score.max())
    if best < _CLEAR:
        return None
    high = score >= 0.6 * best
    first = int(np.argmax(high))
    last = first + int(np.argmin(high[first:])) if not high[first:].all() else len(lags)
    return best, _sharper(echo, float(lags[first + int(np.argmax(score[first:last]))]))


def _sharper(echo: Floats, pitch: float) -> float:
    """The pitch refined on ever higher multiples."""
    x = np.arange(len(echo))
    for times in (3, 6):
        if times * pitch * 1.05 < len(echo):
            near = pitch * (1 + np.linspace(-0.25, 0.25, 201) / times)
            sums = np.interp(np.outer(near, np.arange(1, times + 1)), x, echo).sum(axis=1)
            pitch = float(near[int(np.argmax(sums))])
    return pitch


def lined_part(flat: NDArray[np.uint8], pitch: tuple[float, float]) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of the largest part of the view where lines run both ways, px."""
    import cv2

    both: Maps = np.ones(flat.shape, np.float32)
    for axis in (0, 1):
        lines = line_map(flat, axis, 1.2, max(4, int(0.85 * pitch[1 - axis])))
        near = cv2.blur(lines, (int(2.5 * pitch[0]) | 1, int(2.5 * pitch[1]) | 1))
        both = np.asarray(both * near / (float(np.percentile(near[::4, ::4], 98)) + 1e-6))
    busy = (both > _BUSY).astype(np.uint8)
    parts, _, stats, _ = cv2.connectedComponentsWithStats(busy)
    if parts < 2:
        return 0, 0, flat.shape[1], flat.shape[0]
    x, y, w, h, _ = stats[1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))]
    across, up = 2 * pitch[0], 2 * pitch[1]
    return (
        max(0, int(x - across)),
        max(0, int(y - up)),
        min(flat.shape[1], int(x + w + across)),
        min(flat.shape[0], int(y + h + up)),
    )
