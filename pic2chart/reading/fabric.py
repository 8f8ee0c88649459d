"""Counting stitches and rounds in a picture of stocking-stitch fabric of known scale.

The two legs of a stitch lean opposite ways, so the lean of the yarn changes sign twice a stitch and
comes back once a stitch: its period across is a stitch, never half of one and never two, whatever
the colours. The lean is the off-diagonal part of the structure tensor (Bigün & Granlund 1987) in
the fabric's own direction, divided by its trace, so that light and colour drop out. Its waves are
peaks of a 2-D Fourier transform averaged over patches; each is tried for the stitches', in a view
turned upright (`stitch_view.py`), and the one that explains most of the lean is followed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
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

Unclear = Literal[
    "no-fabric", "small-swatch", "unclear-rounds", "two-fabrics", "other-stitch", "lying-stitch"
]
"""Why nothing was counted: no wave of stitches; too few of them; no rounds with them; two waves that
explain the picture as well; stitches that are not all legs of the right side; yarn that lies along the
rounds."""

_STITCHES = (7.0, 45.0)
"""Stitches in 10 cm that are looked for: from super bulky to lace (Craft Yarn Council, weights 0-6)."""
_SCALES = (0.22, 0.45, 0.9)
_CLEAR = 3.5
_MOST_WAVES = 7
_LIKE = 0.06
_ROUNDS_CLEAR, _MOST_SLANT = 3.0, 9.0
_SLANTED, _MOST_LEGS = 5.5, 0.87
"""Degrees that rounds may be off a right angle with the columns, once followed; and the most of the
gaps' strength that has twice the stitches' period alone, as the diagonals of garter have."""
_ROUNDS_RIVAL, _SURELY_PAIRED, _AS_PAIRED = 0.5, 0.63, 0.85
"""Strength of another period of rounds, over theirs, from which the legs must come in pairs so surely:
stripes have such periods, and so have right and wrong sides by turns; and from where another explains
as much."""
_STITCHES_SEEN = 0.12
"""Share of the lean's strength from which stitches are surely there, if no rounds are."""
_LEAST_STEEP, _LIES, _STEEPER = 0.3, -0.05, 0.2
"""How upright the yarn of stocking stitch lies at the least; from where it may be another fabric's that
lies along rounds; and what is added for weighing."""
_LEAST_LIKE, _LEAST_PAIRED, _MOST_BARS, _MOST_FINER = 0.014, 0.3, 0.55, 0.2
"""What stocking stitch has at the least, and at the most, of what other stitches show; real knitting that
is seen small has more bars than drawn one."""
_FLAT, _MOST_FLAT, _FLATTER = -0.7, 0.3, 2.0
"""How flat yarn lies along rounds in crochet, and how much of the lean it has there at the least, whole
and against the stitches'."""
_ELSEWHERE, _SHORT_ELSEWHERE, _OFF_LATTICE, _SURELY_UP = 0.75, 0.55, 0.2, 0.9
"""Share of the stitches' part of the lean that another wave may have which is no sum of whole stitches
and rounds, where legs are long or short; how far off such sums it is then, in stitches and rounds; and
how upright legs are from where it does not matter."""
_LONG, _SHORT, _LONG_OR_UP = 0.45, 0.3, 0.95
"""Share of the gaps' strength that long legs have, and short ones; and the least of it together with
how upright they lie: bumps of the wrong side may have either."""
_RIVAL, _LYING, _ALIKE = 0.6, 0.95, 0.08
"""Share of the best from which another count, and a fabric whose yarn lies along its rounds, are as
likely; and how near waves are that count the same stitches."""


def find_fabric(gray: NDArray[np.uint8], seen: NDArray[np.bool_]) -> Followed | Unclear:
    """The fabric in a picture at PER_MM, its stitches followed, or why there is none that is clear.

    `seen`: where the picture may be looked at (not the card, nor outside the photo).
    """
    waves = candidates(gray, seen)
    judged = [judged_wave(gray, seen, lean, wave) for lean, wave in waves]
    found = [one for one in judged if one is not None]
    chosen = choose(found) if found or not waves else "small-swatch"
    return chosen.followed if isinstance(chosen, Chosen) else chosen


@dataclass(frozen=True, slots=True, eq=False)
class Chosen:
    """A wave that was followed as the stitches'."""

    judged: Judged
    followed: Followed

    @property
    def explained(self) -> float:
        """How much of the lean and of the gaps it explains, whatever way the yarn lies, 0-1."""
        return self.judged.mirrored * self.followed.paired * (1 - self.followed.bars)

    @property
    def like(self) -> float:
        """How much it is like stocking stitch, whose yarn lies up the columns, 0-1."""
        return self.explained * _upright(self.judged)

    @property
    def alone(self) -> bool:
        """Whether no other period may be the rounds'."""
        paired = self.followed.paired * (1 - self.followed.bars)
        return self.judged.rival < _ROUNDS_RIVAL or paired > _SURELY_PAIRED

    @property
    def area(self) -> float:
        """Of the cloth where both waves are firm, in square mm but for a factor."""
        return float(self.followed.firm.sum() / (self.judged.view.across**2).sum())


def choose(
    found: list[Judged], *, near: float = _ALIKE, any_stitch: bool = False
) -> Chosen | Unclear:
    """The wave that is the stitches', or why none is; `near`: how far waves of one fabric differ,
    relative; `any_stitch`: whatever they are.

    The legs of a stitch lean to both sides, so that the gaps' waves come in pairs; a wave that is but
    the sum of stitches and rounds has one of each pair.
    """
    rounds = [one for one in found if _has_rounds(one)]
    standing = [one for one in rounds if one.steep > _LEAST_STEEP]
    tried = [one for one in _followed(standing) if one.alone]
    if not tried:
        return _without_rounds(found, rounds)
    best = max(tried, key=lambda one: one.like)
    likely = [one for one in tried if one.like > _RIVAL * best.like]
    alike = [one for one in likely if _counts_as(one, best, near)]
    chosen = max(alike, key=lambda one: one.area)
    if not any_stitch and _is_other(found, best, chosen):
        return _other(found)
    return chosen if len(alike) == len(likely) else "two-fabrics"


def _is_other(found: list[Judged], best: Chosen, chosen: Chosen) -> bool:
    """Whether something else explains the cloth as well, or its yarn does not stand."""
    lying = [
        Chosen(one, follow(one))
        for one in found
        if _has_rounds(one)
        and one.steep < _LIES
        and one.mirrored > _LYING * best.like
        and one is not best.judged
    ]
    other = any(
        one.explained > _LYING * best.like and not _counts_as(one, best, _ALIKE) for one in lying
    )
    flat = any(
        one.steep < _FLAT and one.mirrored > max(_MOST_FLAT, _FLATTER * best.judged.mirrored)
        for one in found
    )
    return (
        other
        or flat
        or any(_is_elsewhere(one, chosen) for one in found)
        or not is_stocking_stitch(chosen.judged, chosen.followed)
    )


def _is_elsewhere(one: Judged, chosen: Chosen) -> bool:
    """Whether a wave as strong as the stitches' is no sum of stitches and rounds.

    The right and the wrong side by turns, as in garter and moss stitch, have waves of two rounds or
    stitches, and a diagonal of theirs may pass for the stitches'; it slants, where the legs of tight
    stitches in a small pattern, whose colours have such waves too, stand upright.
    """
    legs = chosen.followed.legs
    allowed = _ELSEWHERE if legs > _LONG else _SHORT_ELSEWHERE
    weak = one.mirrored < allowed * chosen.judged.mirrored
    if weak or (chosen.judged.steep > _SURELY_UP and legs > _SHORT):
        return False
    sums = one.view.across @ np.linalg.inv(chosen.followed.waves)
    return bool((np.abs(sums - np.rint(sums)) > _OFF_LATTICE).any())


def is_stocking_stitch(judged: Judged, followed: Followed) -> bool:
    """Whether the yarn leans to both sides in pairs, and not along rounds as in wrong sides, garter
    and crochet."""
    return (
        Chosen(judged, followed).like > _LEAST_LIKE
        and followed.paired > _LEAST_PAIRED
        and followed.bars < _MOST_BARS
        and judged.finer < _MOST_FINER
        and judged.steep + followed.legs > _LONG_OR_UP
        and followed.legs < _MOST_LEGS
        and followed.slant < _SLANTED
    )


def _without_rounds(found: list[Judged], rounds: list[Judged]) -> Unclear:
    """Why no wave has rounds across its yarn."""
    strong = max((one.mirrored for one in found), default=0.0)
    if any(one.mirrored > strong / 2 for one in rounds):
        return _other(found)
    return "unclear-rounds" if strong > _STITCHES_SEEN else "no-fabric"


def _other(found: list[Judged]) -> Unclear:
    """What kind of other fabric it is: bumps of the wrong side, crochet and ribbing lie along rounds."""
    strongest = max(found, key=lambda one: one.mirrored)
    return "lying-stitch" if strongest.steep < _LEAST_STEEP else "other-stitch"


def _followed(likely: list[Judged]) -> list[Chosen]:
    """Those that may be most like stocking stitch, followed; the others cannot come near the best."""
    tried: list[Chosen] = []
    for one in sorted(likely, key=lambda one: -one.mirrored * _upright(one)):
        best = max((other.like for other in tried), default=0.0)
        if one.mirrored * _upright(one) > _RIVAL * best:
            tried += _by_rounds(one)
    return tried


def _by_rounds(one: Judged) -> list[Chosen]:
    """The wave followed with that of its likely rounds whose legs come in pairs most, and with those
    that do as well: stripes have periods of their own, stronger than the rounds', but their legs lie
    along them."""
    periods = [replace(one, up=up) for up in (one.up, *one.also)]
    tried = [Chosen(each, follow(each)) for each in periods]
    best = max(each.explained for each in tried)
    return [each for each in tried if each.explained >= _AS_PAIRED * best]


def _upright(one: Judged) -> float:
    return one.steep + _STEEPER


def _counts_as(one: Chosen, other: Chosen, near: float) -> bool:
    """Whether both have the same stitches and rounds, but for a share."""
    waves, against = one.followed.waves, other.followed.waves
    signs = np.sign((waves * against).sum(axis=1))[:, None]
    apart = np.linalg.norm(waves * signs - against, axis=1)
    return bool((apart < near * np.linalg.norm(against, axis=1)).all())


def _has_rounds(one: Judged) -> bool:
    low, high = ROUNDS_PER_STITCH
    slant = np.degrees(np.arctan2(abs(one.up[0]), one.up[1]))
    return bool(
        one.mirrored > LEAST_MIRRORED
        and one.clear > _ROUNDS_CLEAR
        and low < one.up[1] < high
        and slant < _MOST_SLANT
    )


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
