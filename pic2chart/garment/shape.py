"""The shape of a piece: which squares hold stitches in each round, and the shaping between rounds.

A shaped round is made of parts that stand side by side (the back and palm of a mitten, the wedges
of a hat). Each tapers from its own sides: decreases stand just inside its edge stitches, an ssk on
the right and a k2tog on the left, so that both lean with the edge and the edge runs on unbroken.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart.shaping import Shaping

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


def on_columns(shape: Shape, columns: Sequence[int], width: int) -> Shape:
    """The shape with its squares put on other columns, in the same order; the rest hold no stitch."""
    live = np.zeros((shape.rounds, width), bool)
    live[:, list(columns)] = shape.live
    return Shape(live, tuple(replace(s, stitch=columns[s.stitch]) for s in shape.shaping))
