"""The shape of a piece: which squares hold stitches in each round, and the shaping between rounds.

A shaped round is made of parts that stand side by side (the back and palm of a mitten, the wedges
of a hat). Each tapers from its own sides: decreases stand just inside its edge stitches, an ssk on
the right and a k2tog on the left, so that both lean with the edge and the edge runs on unbroken.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.model.construction import Shaping
from pic2chart.model.gauge import Gauge

# Centimetres to stitches and rounds, and the nearest counts at which repeats close.

FARTHEST = 0.15
"""A count farther than this share from the measure asked for does not fit."""
_SHOWN = 2


@dataclass(frozen=True, slots=True)
class Count:
    """Stitches round (or across) and what they measure, cm."""

    stitches: int
    cm: float

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {"stitches": self.stitches, "cm": round(self.cm, 1)}


@dataclass(frozen=True, slots=True)
class Counts:
    """The count chosen for a measure of `asked_cm`, and the nearest others, fewest stitches first."""

    asked_cm: float
    chosen: Count
    others: tuple[Count, ...]
    why: str = ""

    @property
    def stitches(self) -> int:
        return self.chosen.stitches

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "asked_cm": round(self.asked_cm, 1),
            **self.chosen.to_dict(),
            "why": self.why,
            "nearest": [other.to_dict() for other in self.others],
        }


def nearest_counts(
    cm: float,
    gauge: Gauge,
    fits: Callable[[int], bool],
    why: str,
    least: int = 8,
    instead: str = "a smaller motif",
) -> Counts:
    """The count nearest `cm` that `fits`, and up to two others on each side.

    `why` says what the counts must do ('a multiple of 12'). Raises SettingError, naming the nearest
    that fits and what to choose `instead`, when it is more than 15% away.
    """
    wanted = cm / gauge.stitch_width
    good = [n for n in range(least, int(2 * wanted) + 2 * least + 200) if fits(n)]
    if not good:
        raise SettingError(message("no-stitch-count-near", wanted=wanted, why=why))
    best = min(good, key=lambda n: (abs(n - wanted), n))
    if abs(best - wanted) > max(FARTHEST * wanted, 1.0):
        raise SettingError(
            message(
                "nearest-stitch-count",
                cm=cm,
                wanted=wanted,
                why=why,
                best=best,
                best_cm=best * gauge.stitch_width,
                instead=instead,
            )
        )
    place = good.index(best)
    others = [*good[max(0, place - _SHOWN) : place], *good[place + 1 : place + 1 + _SHOWN]]
    return Counts(cm, _count(best, gauge), tuple(_count(n, gauge) for n in others), why)


def _count(stitches: int, gauge: Gauge) -> Count:
    return Count(stitches, stitches * gauge.stitch_width)


def rounds_for(cm: float, gauge: Gauge, least: int = 1) -> int:
    """Rounds nearest to a height of `cm`."""
    return max(least, round(cm / gauge.round_height))


def up_to_tenth(cm: float) -> float:
    """A length that will do, told in tenths of a cm."""
    return ceil(10 * cm - 1e-6) / 10


def spread(total: int, parts: int) -> list[int]:
    """Split `total` into `parts` whole numbers that differ by one at the most, evenly mixed."""
    return [(i + 1) * total // parts - i * total // parts for i in range(parts)]


def decreases(before: int, after: int) -> list[int]:
    """Places (from 0) in the round after of k2togs spread evenly; each comes last in its share."""
    places, at = [], 0
    for share in spread(after, before - after):
        at += share
        places.append(at - 1)
    return places


def increases(before: int, after: int) -> list[int]:
    """Places (from 0) in the round after of stitches made, spread evenly; each comes last in its share."""
    places, at = [], 0
    for share in spread(before, after - before):
        at += share + 1
        places.append(at - 1)
    return places


Bools = NDArray[np.bool_]
Sides = tuple[int, int]
"""Decreases at the right and at the left of a part in one round: 0 or 1 each."""


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """`live`: bool [rounds, squares], read-only; `shaping` counts from 0 in knitting order."""

    live: Bools
    shaping: tuple[Shaping, ...] = ()

    def __post_init__(self) -> None:
        self.live.setflags(write=False)

    @property
    def counts(self) -> list[int]:
        """Stitches in each round."""
        return [int(n) for n in self.live.sum(axis=1)]

    @property
    def rounds(self) -> int:
        return int(self.live.shape[0])

    @property
    def width(self) -> int:
        """Squares across, with those that hold no stitch."""
        return int(self.live.shape[1])

    def at(self, round: int) -> tuple[Shaping, ...]:
        """The shaping of one round, in knitting order."""
        return tuple(s for s in self.shaping if s.round == round)

    def mirrored(self) -> Shape:
        """The shape of the other hand."""
        flipped = tuple(sorted(s.mirrored(self.width) for s in self.shaping))
        return Shape(self.live[:, ::-1].copy(), flipped)

    def followed_by(self, upper: Shape) -> Shape:
        """This piece with another of the same width knitted on."""
        moved = (s.moved(0, self.rounds) for s in upper.shaping)
        return Shape(np.vstack([self.live, upper.live]), (*self.shaping, *moved))


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the round: squares across, and edge stitches that stay outside the decreases."""

    width: int
    right: int = 0
    left: int = 0


def straight(rounds: int, live: Bools) -> Shape:
    """Rounds that all hold the stitches of `live`, bool [squares]."""
    return Shape(np.tile(live, (rounds, 1)))


def taper(parts: Sequence[Part], schedule: Sequence[Sides]) -> Shape:
    """Rounds of decreases, alike in every part; `schedule` has the sides of each round."""
    live = np.zeros((len(schedule), sum(part.width for part in parts)), bool)
    shaping: list[Shaping] = []
    start = 0
    for part in parts:
        low, high = 0, part.width
        for r, (right, left) in enumerate(schedule):
            low, high = low + right, high - left
            live[r, start + low : start + high] = True
            if right:
                place = min(low + part.right, high - 1)
                shaping.append(Shaping(r, start + place, "ssk"))
            if left:
                place = max(high - 1 - part.left, low)
                shaping.append(Shaping(r, start + place, "k2tog"))
        start += part.width
    return Shape(live, tuple(sorted(shaping)))


def taper_inwards(width: int, parts: int, kinds: Sequence[str]) -> Shape:
    """Rounds in which each of so many parts shrinks from its middle stitch, which stays.

    `kinds`: the decrease of each round: 'centred', 'k2tog' or 'ssk' (which take the stitch before or
    after the middle), or ''.
    """
    middle = width // 2
    one = np.ones((len(kinds), width), bool)
    shaping: list[Shaping] = []
    low, high = middle, middle + 1
    for r, kind in enumerate(kinds):
        low, high = low - (kind in ("centred", "k2tog")), high + (kind in ("centred", "ssk"))
        one[r, low:middle] = one[r, middle + 1 : high] = False
        if kind:
            shaping += [Shaping(r, part * width + middle, kind) for part in range(parts)]
    return Shape(np.tile(one, (1, parts)), tuple(sorted(shaping)))


def on_columns(shape: Shape, columns: Sequence[int], width: int) -> Shape:
    """The shape with its squares put on other columns, in the same order; the rest hold no stitch."""
    live = np.zeros((shape.rounds, width), bool)
    live[:, list(columns)] = shape.live
    return Shape(live, tuple(replace(s, stitch=columns[s.stitch]) for s in shape.shaping))
