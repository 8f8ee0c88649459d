"""The repeat of a chart: the smallest unit whose copies, side by side, make the whole.

Every shift of the chart on itself is scored at once: the stitches that keep their yarn are counted
by a Fourier transform of each yarn's own map. Shifts that agree propose units; the unit chosen
describes the chart in the fewest bits, its own stitches and the exceptions counted, and no copy of
it may be far worse than the others (that would be a picture that merely resembles itself).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from pic2chart.model.chart import NO_STITCH, Stitches

MIN_AGREEMENT = 0.92
"""Least share of stitches that must equal the unit's: room for some misread or mended stitches."""
_ABOVE_PLAIN = 0.6
"""The unit must explain this much of what one plain yarn leaves unexplained."""
_PROPOSED = 0.8
_MOST_SHIFTS = 14
_MIRRORED = 0.97

Kind = Literal["once", "straight", "half-drop"]
Floats = NDArray[np.float64]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Repeat:
    """A unit of `stitches` × `rounds` and how its copies lie.

    `kind`: `once` (the whole chart is the unit), `straight` (copies side by side), or `half-drop`
    (every next column of copies is shifted by half the rounds). `agreement`: share of live
    stitches that equal the unit, 0–1. `mirrored`: the repeat has an upright axis, left and right
    of which it is the same.
    """

    stitches: int
    rounds: int
    kind: Kind
    agreement: float
    mirrored: bool = False

    @property
    def drop(self) -> int:
        """Rounds by which each next column of copies is shifted."""
        return self.rounds // 2 if self.kind == "half-drop" else 0

    @property
    def box(self) -> tuple[int, int]:
        """Stitches and rounds of the smallest upright unit that repeats without a drop."""
        return self.stitches * (2 if self.drop else 1), self.rounds


def find_repeat(stitches: Stitches, *, circular: bool = True) -> Repeat:
    """The smallest repeat of uint8 [rounds, stitches] (255 = no stitch).

    `circular`: the rounds close, so the unit must divide the stitches of a round. Worked flat the
    unit must be seen at least twice in every direction it repeats in. Exact charts and charts
    with a few wrong stitches are both served; the same chart always gives the same repeat.
    """
    live = stitches != NO_STITCH
    yarns = np.unique(stitches[live])
    if yarns.size <= 1:
        return Repeat(1, 1, "straight", 1.0, True)
    best = Repeat(stitches.shape[1], stitches.shape[0], "once", 1.0)
    least = _bits(best, 0, int(live.sum()), yarns.size)
    for unit in _proposals(stitches, circular):
        judged = _judged(stitches, live, unit, yarns.size)
        if judged is not None and judged[0] < least - 1e-9:
            least, best = judged
    return _with_mirror(stitches, best, circular)


def fold(stitches: Stitches, repeat: Repeat) -> Stitches:
    """The unit, uint8 [rounds, stitches]: the yarn that most copies have at each place.

    Copies are counted from stitch 0 of round 0; a place no copy fills has no stitch.
    """
    place, _ = _places((stitches.shape[0], stitches.shape[1]), repeat)
    counts = _counts(stitches, repeat, place)
    unit = np.where(counts.any(axis=1), counts.argmax(axis=1), NO_STITCH).astype(np.uint8)
    return unit.reshape(repeat.rounds, repeat.stitches)


def shift_agreement(stitches: Stitches, *, circular: bool) -> tuple[Floats, Floats]:
    """Share of stitches that keep their yarn, and how many are compared, for every shift.

    Both float [rounds, 2·stitches - 1] (or [rounds, stitches] in the round): row = rounds shifted
    up, column = stitches shifted, from -(stitches - 1) when flat, from 0 in the round.
    """
    rounds, width = stitches.shape
    shape = (2 * rounds, width if circular else 2 * width)
    live = (stitches != NO_STITCH).astype(np.float64)
    same = sum(
        _correlation((stitches == y).astype(float), shape) for y in np.unique(stitches[live > 0])
    )
    both = _correlation(live, shape)
    if not circular:
        order = np.r_[width + 1 : 2 * width, 0:width]
        same, both = np.asarray(same)[:, order], both[:, order]
    same, both = np.asarray(same)[:rounds], both[:rounds]
    return np.divide(same, both, out=np.zeros_like(both), where=both > 0.5), both


def _correlation(values: Floats, shape: tuple[int, int]) -> Floats:
    spectrum = np.fft.rfft2(values, shape)
    return np.asarray(np.rint(np.fft.irfft2(np.abs(spectrum) ** 2, shape)))


def _proposals(stitches: Stitches, circular: bool) -> list[Repeat]:
    """Units made of the shifts that agree best along a round, up the rounds, and by half a drop."""
    rounds, width = stitches.shape
    agreement, _ = shift_agreement(stitches, circular=circular)
    zero = 0 if circular else width - 1
    widths = [w for w in range(1, width // 2 + 1) if not circular or width % w == 0]
    heights = [*range(1, rounds // 2 + 1)]
    across = _best_shifts(widths, [agreement[0, zero + w] for w in widths])
    up = _best_shifts(heights, [agreement[h, zero] for h in heights])
    units = [Repeat(w, h, "straight", 0.0) for w in [*across, width] for h in [*up, rounds]]
    drops = [
        (w, 2 * h)
        for w in widths
        for h in heights
        if 2 * h in up and (not circular or width % (2 * w) == 0)
    ]
    found = _best_shifts(drops, [agreement[h // 2, zero + w] for w, h in drops])
    return [u for u in units if (u.stitches, u.rounds) != (width, rounds)] + [
        Repeat(w, h, "half-drop", 0.0) for w, h in found
    ]


def _best_shifts(shifts: list[T], agreement: list[np.float64]) -> list[T]:
    ranked = sorted(zip(shifts, agreement, strict=True), key=lambda pair: -round(float(pair[1]), 9))
    return [shift for shift, share in ranked[:_MOST_SHIFTS] if share >= _PROPOSED]


def _places(shape: tuple[int, int], unit: Repeat) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """For every stitch: its place within the unit, and the number of its copy."""
    rows, columns = np.indices(shape)
    tile = columns // unit.stitches
    shifted = rows + tile * unit.drop
    place = shifted % unit.rounds * unit.stitches + columns % unit.stitches
    copy = shifted // unit.rounds * (shape[1] // unit.stitches + 1) + tile
    return place, copy


def _counts(stitches: Stitches, unit: Repeat, place: NDArray[np.intp]) -> NDArray[np.intp]:
    """How many copies have each yarn at each place: [places, yarns]; `place`: of each stitch."""
    live = stitches != NO_STITCH
    yarns = int(stitches[live].max()) + 1
    flat = place[live] * yarns + stitches[live]
    return np.bincount(flat, minlength=unit.stitches * unit.rounds * yarns).reshape(-1, yarns)


def _judged(
    stitches: Stitches, live: NDArray[np.bool_], unit: Repeat, yarns: int
) -> tuple[float, Repeat] | None:
    """The bits that describe the chart by this unit, or None when the unit does not hold."""
    place, copy = _places((stitches.shape[0], stitches.shape[1]), unit)
    majority = _counts(stitches, unit, place).argmax(axis=1)
    wrong = (majority[place] != stitches) & live
    total, errors = int(live.sum()), int(wrong.sum())
    agreement = 1 - errors / total
    plain = np.bincount(stitches[live]).max() / total
    if agreement < max(MIN_AGREEMENT, plain + _ABOVE_PLAIN * (1 - plain)):
        return None
    if not (_even(wrong[live], copy[live]) and _scattered(wrong)):
        return None
    found = Repeat(unit.stitches, unit.rounds, unit.kind, agreement)
    return _bits(found, errors, total, yarns), found


def _even(wrong: NDArray[np.bool_], copy: NDArray[np.intp]) -> bool:
    """Whether the errors are spread over the copies as chance would spread them (4 sigma)."""
    cells = np.bincount(copy).astype(np.float64)
    errors = np.bincount(copy, weights=wrong)
    expected = cells * wrong.mean()
    return bool((errors <= expected + 4 * np.sqrt(expected) + 1).all())


def _scattered(wrong: NDArray[np.bool_]) -> bool:
    """Whether errors touch no more often than chance: clumps are the picture, not mistakes."""
    touching = int((wrong[1:] & wrong[:-1]).sum()) + int((wrong[:, 1:] & wrong[:, :-1]).sum())
    expected = 2 * wrong.size * float(wrong.mean()) ** 2
    return touching <= expected + 4 * math.sqrt(expected) + 2


def _bits(unit: Repeat, errors: int, total: int, yarns: int) -> float:
    """Bits for the unit's own stitches and for where the exceptions are and what they show."""
    own = min(unit.stitches * unit.rounds, total) * math.log2(yarns)
    share = errors / total
    if errors == 0:
        return own
    where = -total * (share * math.log2(share) + (1 - share) * math.log2(1 - share))
    return own + where + errors * math.log2(max(yarns - 1, 1))


def _with_mirror(stitches: Stitches, found: Repeat, circular: bool) -> Repeat:
    """Look for an upright axis within the upright unit."""
    box = Repeat(*found.box, "straight", found.agreement) if found.kind != "once" else found
    unit = fold(stitches, box)
    around = circular or box.stitches < stitches.shape[1]
    flipped = unit[:, ::-1]
    width = unit.shape[1]
    twice = np.concatenate([flipped, flipped], axis=1)
    turns = range(box.stitches) if around else [0]
    best = max(float((twice[:, width - turn :][:, :width] == unit).mean()) for turn in turns)
    return Repeat(found.stitches, found.rounds, found.kind, found.agreement, best >= _MIRRORED)
