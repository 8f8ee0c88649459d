"""Counting stitches and rounds in a picture of stocking-stitch fabric of known scale.

The two legs of a stitch lean opposite ways, so the lean of the yarn changes sign twice a stitch and
comes back once a stitch: its period across is a stitch, never half of one and never two, whatever
the colours. The lean is the off-diagonal part of the structure tensor (Bigün & Granlund 1987) in
the fabric's own direction, divided by its trace, so that light and colour drop out. Its waves are
peaks of a 2-D Fourier transform averaged over patches; each is tried for the stitches', in a view
turned upright (`stitch_view.py`), and the one that explains most of the lean is followed.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.follow import Followed, follow
from pic2chart.reading.perspective import Floats
from pic2chart.reading.stitch_view import ROUNDS_PER_STITCH, Judged, judge, upright
from pic2chart.reading.waves import (
    SLOW,
    Waves,
    cloth_of,
    frequencies,
    lean_of,
    power_of,
    refined,
)

Unclear = Literal["no-fabric", "small-swatch", "unclear-rounds", "two-fabrics"]
"""Why nothing was counted: no wave of stitches; too few of them; no rounds with them; two waves that
explain the picture as well."""

_STITCHES = (7.0, 45.0)
"""Stitches in 10 cm that are looked for: from super bulky to lace (Craft Yarn Council, weights 0-6)."""
_SCALES = (0.22, 0.45, 0.9)
_CLEAR = 5.0
_MOST_WAVES = 6
_LIKE = 0.06
_SAME = 0.04
_MIRRORED = 0.15
"""Share of the lean's strength that must have the period of a stitch: stocking stitch has 0.16 to
0.8, the wrong side 0.07 (measured)."""
_ROUNDS_CLEAR, _ROUNDS_RIVAL = 2.5, 0.7
_RIVAL, _FINER = 0.7, 0.4


def find_fabric(gray: NDArray[np.uint8], seen: NDArray[np.bool_]) -> Followed | Unclear:
    """The fabric in a picture at PER_MM, its stitches followed, or why there is none that is clear.

    `seen`: where the picture may be looked at (not the card, nor outside the photo).
    """
    waves = candidates(gray, seen)
    found = [judged_wave(gray, seen, lean, wave) for lean, wave in waves]
    chosen = choose([one for one in found if one is not None])
    if isinstance(chosen, Judged):
        return follow(chosen)
    return "small-swatch" if waves and not any(found) else chosen


def choose(found: list[Judged]) -> Judged | Unclear:
    """The wave that is the stitches', or why none is."""
    likely = sorted(
        (one for one in found if one.mirrored > _MIRRORED), key=lambda one: -one.mirrored
    )
    sure = [one for one in likely if _has_rounds(one)]
    if not sure:
        return "unclear-rounds" if likely else "no-fabric"
    # A small pattern has a wave of two stitches; a stitch has next to none of half a stitch.
    best = next(
        (one for one in sure if _twice(one, sure[0]) and one.mirrored > _FINER * sure[0].mirrored),
        sure[0],
    )
    rivals = [one for one in sure if not _twice(best, one) and _differ(best, one)]
    if any(one.mirrored > _RIVAL * best.mirrored for one in rivals):
        return "two-fabrics"
    return best


def _has_rounds(one: Judged) -> bool:
    low, high = ROUNDS_PER_STITCH
    return (
        one.clear > _ROUNDS_CLEAR and one.rival < _ROUNDS_RIVAL and low < float(one.up[1]) < high
    )


def _twice(one: Judged, other: Judged) -> bool:
    """Whether one has two waves for one of the other."""
    away = one.view.across - 2 * other.view.across
    back = one.view.across + 2 * other.view.across
    size = _LIKE * float(np.hypot(*one.view.across))
    return bool(min(np.hypot(*away), np.hypot(*back)) < size)


def _differ(one: Judged, other: Judged) -> bool:
    sizes = [float(np.hypot(*judged.view.across)) for judged in (one, other)]
    return abs(sizes[0] / sizes[1] - 1) > _SAME


def judged_wave(
    gray: NDArray[np.uint8], seen: NDArray[np.bool_], lean: Waves, across: Floats
) -> Judged | None:
    """What speaks for taking a wave of the lean for the stitches'; None where too little has it."""
    import cv2

    turned = lean * np.exp(-2j * np.arctan2(across[1], across[0])).astype(np.complex64)
    cloth = cloth_of(turned, across, seen)
    if not cloth.any():
        return None
    size = (gray.shape[1], gray.shape[0])
    large = cv2.resize(cloth.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST)
    rows, columns = np.nonzero(cloth)
    middle = np.array([np.median(columns), np.median(rows)]) * SLOW + (SLOW - 1) / 2
    return judge(upright(gray, np.asarray((large > 0) & seen), across, middle))


def candidates(gray: NDArray[np.uint8], seen: NDArray[np.bool_]) -> list[tuple[Waves, Floats]]:
    """Waves (x, y) a mm that may be the stitches', the clearest first, with the lean that shows each."""
    found = []
    for scale in _SCALES:
        lean = lean_of(gray, seen, scale)
        found += [(clear, lean, wave) for clear, wave in _waves_of(lean)]
    chosen: list[tuple[Waves, Floats]] = []
    for _, lean, wave in sorted(found, key=lambda one: -one[0]):
        if not any(_near(wave, other) or _near(wave, -other) for _, other in chosen):
            chosen.append((lean, wave))
    return chosen[:_MOST_WAVES]


def _near(wave: Floats, other: Floats) -> bool:
    return bool(np.linalg.norm(wave - other) < _LIKE * np.linalg.norm(wave))


def _waves_of(lean: Waves) -> list[tuple[float, Floats]]:
    """How clear, and the waves (x, y) a mm along which the yarn's lean against them turns most."""
    import cv2

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
    peaks = np.argwhere((clear == cv2.dilate(clear, np.ones((7, 7)))) & (clear > _CLEAR))
    waves = [(float(clear[tuple(p)]), refined(power, tuple(map(int, p)))) for p in peaks]
    return sorted(waves, key=lambda one: -one[0])[:_MOST_WAVES]
