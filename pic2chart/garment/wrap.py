"""A motif on a tube of one width: once at the front with filler round the rest, or side by side.

What bands, cowls and all other plain tubes share.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.messages import Message
from pic2chart.garment.around import (
    Room,
    all_round,
    closing_counts,
    least_jog,
    make_it,
    once,
    repeat_width,
    tube,
)
from pic2chart.garment.design import Design, Motif
from pic2chart.garment.legible import legible
from pic2chart.garment.piece import Cloth, Making
from pic2chart.garment.shape import Counts, up_to_tenth

AT_JOIN = 8
"""Stitches of filler at least where the round begins."""


@dataclass(frozen=True, slots=True)
class Tube:
    """What a tube is asked for: `cm` round with its ease and `rounds` high, and the motif on it.

    `where`: what it is called when the motif does not fit. `wider`, `higher`: the option, its value
    per cm, that gives the motif room. `across`, `repeat`: as the options of every kind. `room`: rounds
    that a motif which stands alone may have, None for all. `downwards`: it is worked from the top down,
    so that the motif stands on its head. `also`: what else divides the count.
    """

    cm: float
    rounds: int
    where: Message
    wider: tuple[str, float]
    higher: tuple[str, float]
    across: int | None = None
    repeat: bool = False
    room: int | None = None
    downwards: bool = False
    also: int = 1


@dataclass(frozen=True, slots=True)
class WrappedTube:
    """Counts, stitches uint8 [rounds, around], the repeat's stitches (None where the motif stands once),
    and what the knitter should know of the motif.
    """

    counts: Counts
    stitches: NDArray[np.uint8]
    unit: int | None
    remarks: tuple[Message, ...]

    @property
    def repeat(self) -> tuple[int, int] | None:
        """As a chart tells it."""
        return None if self.unit is None else (self.unit, len(self.stitches))


Placing = Callable[[Motif, Counts, int], Sequence[tuple[Motif, int, int]]]
"""Where a motif stands on so many rounds: motifs with their first round and stitch."""


def in_front(motif: Motif, counts: Counts, rounds: int) -> list[tuple[Motif, int, int]]:
    """Once, opposite the join and in the middle of the height."""
    across, up = motif.size
    return [(motif, (rounds - up) // 2, (counts.stitches - across) // 2)]


def wrapped(making: Making, asked: Tube, place: Placing = in_front) -> WrappedTube:
    """The tube with its motif solved. Raises SettingError, naming what works, when it does not fit."""
    return _repeated(making, asked) if asked.repeat else _placed(making, asked, place)


def _repeated(making: Making, asked: Tube) -> WrappedTube:
    """The motif side by side."""
    design, rounds = making.design, asked.rounds
    if design.chart is not None:
        high = design.chart.round_count
        rounds = max(1, round(rounds / high)) * high
    about = round(asked.cm / design.gauge.stitch_width)
    unit = repeat_width(design, asked.across, rounds, about, lambda n: n % asked.also == 0)
    counts = _counts(design, asked, unit)
    one = all_round(making, unit, rounds)
    if asked.downwards:
        one = least_jog(one[::-1, ::-1].copy(), unit)
    stitches = np.tile(one, (1, counts.stitches // unit))
    return WrappedTube(counts, stitches, unit, legible(design, unit))


def _placed(making: Making, asked: Tube, place: Placing) -> WrappedTube:
    """The motif where it is placed, with filler round the rest."""
    design, rounds = making.design, asked.rounds
    counts = _counts(design, asked, None)
    motif = once(design, asked.across, _room(design, asked, counts))
    cloth = Cloth(design, tube(rounds, counts.stitches))
    cloth.fill(cloth.live, np.arange(counts.stitches))
    motif = motif.turned() if asked.downwards else motif
    for one, low, first in place(motif, counts, rounds):
        cloth.paste(one, low, first)
    stitches = least_jog(making.solve(cloth).stitches, design.filler.width)
    return WrappedTube(counts, stitches, None, legible(design, motif.size[0]))


def _counts(design: Design, asked: Tube, unit: int | None) -> Counts:
    also = "" if asked.also == 1 else f"and of {asked.also}"
    return closing_counts(design, asked.cm, unit, lambda n: n % asked.also == 0, also)


def _room(design: Design, asked: Tube, counts: Counts) -> Room:
    """The whole round but for a few stitches at the join."""
    gauge = design.gauge
    (wide, per_cm), (high, per_round) = asked.wider, asked.higher

    def wider(stitches: int) -> Message:
        return make_it(wide, up_to_tenth((stitches + AT_JOIN) * gauge.stitch_width * per_cm))

    def higher(needed: int) -> Message:
        return make_it(high, up_to_tenth(needed * gauge.round_height * per_round))

    room = counts.stitches - AT_JOIN
    return Room(asked.where, room, asked.room or asked.rounds, wider, higher)
