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
from pic2chart.reading.stitch_view import LEAST_MIRRORED, ROUNDS_PER_STITCH, Judged, judge, upright
from pic2chart.reading.waves import (
    SLOW,
    Waves,
    cloth_of,
    frequencies,
    lean_of,
    power_of,
    refined,
)

Unclear = Literal["no-fabric", "small-swatch", "unclear-rounds", "two-fabrics", "other-stitch"]
"""Why nothing was counted: no wave of stitches; too few of them; no rounds with them; two waves that
explain the picture as well; stitches that have no long upright legs."""

_STITCHES = (7.0, 45.0)
"""Stitches in 10 cm that are looked for: from super bulky to lace (Craft Yarn Council, weights 0-6)."""
_SCALES = (0.22, 0.45, 0.9)
_CLEAR = 3.5
_MOST_WAVES = 7
_LIKE, _MADE = 0.06, 0.08
_ROUNDS_CLEAR, _ROUNDS_RIVAL, _MOST_SLANT = 5.0, 0.7, 9.0
_RIVAL, _FINER, _HALVED = 0.65, 0.4, 3.0
_STITCHES_SEEN = 0.12
"""Share of the lean's strength from which stitches are surely there, if no rounds are."""
_MOST_BARS, _LEAST_LEGS = 0.34, 0.33


def find_fabric(gray: NDArray[np.uint8], seen: NDArray[np.bool_]) -> Followed | Unclear:
    """The fabric in a picture at PER_MM, its stitches followed, or why there is none that is clear.

    `seen`: where the picture may be looked at (not the card, nor outside the photo).
    """
    waves = candidates(gray, seen)
    found = [judged_wave(gray, seen, lean, wave) for lean, wave in waves]
    chosen = choose([one for one in found if one is not None])
    if not isinstance(chosen, Judged):
        return "small-swatch" if waves and not any(found) else chosen
    followed = follow(chosen)
    return followed if is_stocking_stitch(chosen, followed) else "other-stitch"


def is_stocking_stitch(judged: Judged, followed: Followed) -> bool:
    """Whether there are long upright legs, not bars or bows along rounds as wrong sides, garter and
    crochet have."""
    return followed.bars < _MOST_BARS and followed.legs + judged.steep / 2 > _LEAST_LEGS


def choose(found: list[Judged]) -> Judged | Unclear:
    """The wave that is the stitches', or why none is."""
    likely = [one for one in found if one.mirrored > LEAST_MIRRORED]
    sure = [one for one in likely if _has_rounds(one)]
    if not sure:
        plain = any(one.mirrored > _STITCHES_SEEN for one in likely)
        return "unclear-rounds" if plain else "no-fabric"
    basic = [one for one in sure if not any(_made_of(one, other) for other in sure)]
    best = max(basic or sure, key=lambda one: one.quality)
    rivals = [one for one in likely if _differ(best, one) and not _made_of(one, best)]
    if any(one.quality > _RIVAL * best.quality for one in rivals):
        return "two-fabrics"
    if any(one.mirrored > _HALVED * best.mirrored and _twice(best, one) for one in likely):
        return "unclear-rounds"
    return best


def _has_rounds(one: Judged) -> bool:
    low, high = ROUNDS_PER_STITCH
    slant = np.degrees(np.arctan2(abs(one.up[0]), one.up[1]))
    return bool(
        one.clear > _ROUNDS_CLEAR
        and one.rival < _ROUNDS_RIVAL
        and low < one.up[1] < high
        and slant < _MOST_SLANT
    )


def _made_of(one: Judged, other: Judged) -> bool:
    """Whether the waves of one are but sums of the other's, such as the two diagonals of its squares.

    The stitches' and rounds' own waves make up all others. A small pattern has slower waves that make
    up the stitches' in turn; the stitch is told from it by a lean that is nearly as strong.
    """
    parts = one.waves @ np.linalg.inv(other.waves)
    whole = np.rint(parts)
    made = np.abs(parts - whole).max() < _MADE and abs(np.linalg.det(whole)) > 1.5
    return bool(made and one.quality < other.quality / _FINER)


def _twice(one: Judged, other: Judged) -> bool:
    """Whether one has two waves for one of the other."""
    wave, slower = one.view.across, 2 * other.view.across
    return _near(wave, slower) or _near(wave, -slower)


def _differ(one: Judged, other: Judged) -> bool:
    wave, against = one.view.across, other.view.across
    return not (_near(wave, against) or _near(wave, -against))


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
