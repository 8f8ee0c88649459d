"""Counting stitches and rounds in a picture of stocking-stitch fabric of known scale.

The two legs of a stitch lean opposite ways, so the lean of the yarn changes sign twice a stitch and
comes back once a stitch: its period across is a stitch, never half of one and never two, whatever
the colours. The lean is the off-diagonal part of the structure tensor (Bigün & Granlund 1987) in
the fabric's own direction, divided by its trace, so that light and colour drop out. Periods are
peaks of a 2-D Fourier transform averaged over patches, checked against halves and doubles.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats
from pic2chart.reading.waves import (
    PER_MM,
    Periods,
    Waves,
    follow,
    frequencies,
    lean_of,
    power_of,
    refined,
    smoothed,
)

_STITCHES = (7.0, 45.0)
"""Stitches in 10 cm that are looked for: from super bulky to lace (Craft Yarn Council, weights 0-6)."""
_ROUNDS_PER_STITCH = (0.92, 1.72)
"""Rounds over stitches that are looked for: 1.00 to 1.57 are seen (common practice). The range is
less than one to two, so that half or twice the rounds cannot be mistaken for them."""
_SCALES = (0.22, 0.45, 0.9)
_CLEAR = 14.0
_CLEAR_ROUNDS = 1.5
_SOME, _WHOLE = 5.0, 0.25
"""How clear a wave of half the frequency must be to be tried, and, over the other, to replace it."""
_RIVAL = 0.4
_MOST_SLANT = 8.0
_SAME = 0.03
"""Share by which counts may differ that come of different waves."""
_LIKE = 0.08
_LOBE = 0.07
"""Waves a mm within which a peak is one peak: half the main lobe of a patch's window, and a bit."""


def find_periods(gray: NDArray[np.uint8], seen: NDArray[np.bool_]) -> Periods | None:
    """The periods of fabric in a picture at PER_MM; None when there is none that is clear.

    `seen`: where the picture may be looked at (not the card, nor outside the photo).
    """
    found = []
    for scale in _SCALES:
        lean = lean_of(gray, seen, scale)
        found += [(clear, lean, wave) for clear, wave in _strongest(lean)]
    come = [p for p in (_first(gray, seen, *one) for one in _whole_stitches(found)) if p]
    basic = [one for one in come if not any(_made_of(one, other) for other in come)]
    if not basic or _differ(basic):
        return None
    return basic[0]


def _first(
    gray: NDArray[np.uint8], seen: NDArray[np.bool_], leans: list[Waves], across: Floats
) -> Periods | None:
    """What comes of a wave at the clearest scale at which anything comes of it."""
    for lean in leans:
        periods = _followed(gray, seen, lean, across)
        if periods is not None:
            return periods
    return None


def _followed(
    gray: NDArray[np.uint8], seen: NDArray[np.bool_], lean: Waves, across: Floats
) -> Periods | None:
    """What comes of taking a wave for the stitches'."""
    turned = lean * np.exp(-2j * np.arctan2(across[1], across[0])).astype(np.complex64)
    up = _rounds_wave(gray, turned, across)
    return None if up is None else follow(turned, (across, up), seen)


def _made_of(one: Periods, other: Periods) -> bool:
    """Whether the waves of one are but sums of the other's, such as the two diagonals of its squares.

    The stitches' and rounds' own waves make up all others, and no others make up them.
    """
    parts = np.stack(one.waves) @ np.linalg.inv(np.stack(other.waves))
    whole = np.rint(parts)
    return bool(np.abs(parts - whole).max() < _LIKE and abs(np.linalg.det(whole)) > 1.5)


def _differ(come: list[Periods]) -> bool:
    """Whether different waves, each taken for the stitches', give different counts."""
    middles = np.array([np.median(periods.counts, axis=0) for periods in come])
    return bool((np.ptp(middles, axis=0) > _SAME * middles.mean(axis=0)).any())


def _whole_stitches(
    found: list[tuple[float, Waves, Floats]],
) -> list[tuple[list[Waves], Floats]]:
    """Waves that differ, the clearest first, each with the lean at the scales that show it: in stripes
    the clearest may be slanted. Those of half a stitch are left out where the whole is as clear."""
    chosen: list[tuple[list[Waves], Floats]] = []
    for clear, lean, wave in sorted(found, key=lambda one: -one[0]):
        if any(c > _WHOLE * clear and _near(wave, 2 * slower) for c, _, slower in found):
            continue
        same = next((leans for leans, other in chosen if _near(wave, other)), None)
        if same is None:
            chosen.append(([lean], wave))
        else:
            same.append(lean)
    return chosen


def _near(wave: Floats, other: Floats) -> bool:
    return bool(np.linalg.norm(wave - other) < 0.06 * np.linalg.norm(wave))


def _strongest(lean: Waves) -> list[tuple[float, Floats]]:
    """How clear, and the wave (x, y) a mm along which the yarn's lean against it turns most; and the
    one of half its frequency where that is seen too, since the strongest may be half a stitch."""
    power = power_of(np.ascontiguousarray(lean.real), np.ascontiguousarray(lean.imag))
    if not power.any():
        return []
    x, y = frequencies(power.shape[0])
    size = np.hypot(x, y)
    band = (size > _STITCHES[0] / 100) & (size < _STITCHES[1] / 100) & (x >= 0)
    ring = np.minimum((np.log(size + 1e-6) * 8).astype(int), 30)
    level = np.full(power.shape, np.inf)
    for number in np.unique(ring[band]):
        inside = band & (ring == number)
        level[inside] = np.median(power[inside]) + 0.02 * np.median(power[band])
    clear = np.where(band, power / level, 0)
    peak = np.unravel_index(int(np.argmax(clear)), power.shape)
    if clear[peak] < _CLEAR or _on_the_border(size[peak], _STITCHES):
        return []
    half = _half_of(clear, peak)
    peaks = [peak, half] if clear[half] > _SOME else [peak]
    return [(float(clear[p]), refined(power, p)) for p in peaks]


def _half_of(clear: Floats, peak: tuple[np.intp, ...]) -> tuple[np.intp, ...]:
    """The highest place near the wave of half the frequency."""
    middle = clear.shape[0] // 2
    row, column = (middle + round((int(p) - middle) / 2) for p in peak)
    window = clear[row - 2 : row + 3, column - 2 : column + 3]
    inner = np.unravel_index(int(np.argmax(window)), window.shape)
    return inner[0] + row - 2, inner[1] + column - 2


def _on_the_border(size: float, band: tuple[float, float]) -> bool:
    return bool(size < 1.04 * band[0] / 100 or size > 0.97 * band[1] / 100)


def _rounds_wave(gray: NDArray[np.uint8], turned: Waves, across: Floats) -> Floats | None:
    """The wave of the rounds: nearly across the stitches' wave, seen in five signs of it at once."""
    import cv2

    stitch = float(np.hypot(*across))
    lightness = gray.astype(np.float32)
    sigma = 0.5 * PER_MM / stitch
    flat = lightness - cv2.GaussianBlur(lightness, (0, 0), sigma)
    flat /= cv2.GaussianBlur(np.abs(flat), (0, 0), sigma) + 2
    flat = np.where(turned == 0, 0, np.clip(flat, -3, 3)).astype(np.float32)
    lean = np.ascontiguousarray(turned.imag)
    powers = [power_of(signal) for signal in (flat, np.ascontiguousarray(turned.real), lean)]
    size = powers[0].shape[0]
    x, y = frequencies(size)
    length = np.hypot(x, y)
    slant = np.abs(x * across[0] + y * across[1]) / (length * stitch + 1e-9)
    low, high = _ROUNDS_PER_STITCH
    near = (length > low * stitch) & (length < high * stitch) & (slant < np.sin(np.radians(12)))
    near &= (across[0] * y - across[1] * x) > 0
    rows, columns = np.nonzero(near)
    shift = np.rint(across / PER_MM * size).astype(int)
    level = [np.log(smoothed(p) + 1e-12) for p in powers]
    score = np.zeros(len(rows))
    # Stripes and motifs show in the lightness of whole rounds and little in the lean of the yarn.
    for log, move, share in (
        (level[1], 0, 2.0),
        (level[0], 1, 0.5),
        (level[0], -1, 0.5),
        (level[2], 1, 0.1),
        (level[2], -1, 0.1),
    ):
        at = log[(rows + move * shift[1]) % size, (columns + move * shift[0]) % size]
        score += share * np.maximum(at - np.median(at), 0)
    up = _only_peak(score, rows, columns, length[near] / stitch, powers, stitch)
    return None if up is None or _slant(across, up) > _MOST_SLANT else up


def _slant(across: Floats, up: Floats) -> float:
    """How far columns are from square to rounds, degrees; stripes make slanted waves as well."""
    return float(
        np.degrees(np.arcsin(abs(across @ up) / np.linalg.norm(across) / np.linalg.norm(up)))
    )


def _only_peak(
    score: Floats,
    rows: NDArray[np.intp],
    columns: NDArray[np.intp],
    ratio: Floats,
    powers: list[Floats],
    stitch: float,
) -> Floats | None:
    """The best place, unless another period does nearly as well or it lies on the border."""
    if not score.size:
        return None
    best = int(np.argmax(score))
    low, high = _ROUNDS_PER_STITCH
    if score[best] < _CLEAR_ROUNDS or not low * 1.03 < ratio[best] < high * 0.98:
        return None
    others = score[np.abs(ratio - ratio[best]) > _LOBE / stitch]
    if others.size and others.max() > _RIVAL * score[best]:
        return None
    peak = (rows[best], columns[best])
    mixed = powers[1]
    window = mixed[peak[0] - 2 : peak[0] + 3, peak[1] - 2 : peak[1] + 3]
    inner = np.unravel_index(int(np.argmax(window)), window.shape)
    return refined(np.asarray(mixed), (peak[0] - 2 + inner[0], peak[1] - 2 + inner[1]))
