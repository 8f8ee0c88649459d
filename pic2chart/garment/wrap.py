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
    least_jog_at,
    make_it,
    once,
    repeat_width,
    tube,
)
from pic2chart.garment.arranged import arranged, arrangement, needed_rounds
from pic2chart.garment.design import Design, Motif
from pic2chart.garment.kind import TubeOptions
from pic2chart.garment.legible import legible
from pic2chart.garment.piece import Cloth, Making
from pic2chart.garment.shape import Counts, Shape, up_to_tenth
from pic2chart.garment.written import rounds_words
from pic2chart.model.construction import CALLED
from pic2chart.model.folds import Place, Unit

AT_JOIN = 8
"""Stitches of filler at least where the round begins."""


@dataclass(frozen=True, slots=True)
class Tube:
    """What a tube is asked for: `cm` round with its ease and `rounds` high, and the motif on it.

    `where`: what it is called when the motif does not fit. `wider`, `higher`: the option, its value
    per cm, that gives the motif room. `options`: how the motif is set. `room`: rounds
    that a motif which stands alone may have, None for all. `downwards`: it is worked from the top down,
    so that the motif stands on its head. `also`: what else divides the count. `most`: rounds it may
    have where bands need more than `rounds`; None where it may not grow.
    """

    cm: float
    rounds: int
    where: Message
    wider: tuple[str, float]
    higher: tuple[str, float]
    options: TubeOptions
    room: int | None = None
    downwards: bool = False
    also: int = 1
    most: int | None = None


@dataclass(frozen=True, slots=True)
class WrappedTube:
    """Counts, stitches uint8 [rounds, squares] and the shape that holds them, the repeat's stitches (None
    where the motif does not go round by itself), where pictures stand that run once, and what the
    knitter should know of the motif.
    """

    counts: Counts
    stitches: NDArray[np.uint8]
    shape: Shape
    unit: int | None
    places: tuple[Place, ...]
    remarks: tuple[Message, ...]
    bands: tuple[tuple[str, int], ...] = ()

    @property
    def units(self) -> tuple[Unit, ...]:
        """What is told once."""
        if self.unit is None:
            return ()
        rounds, around = self.stitches.shape
        return (Unit(0, rounds, 0, self.unit, around // self.unit),)

    @property
    def repeat(self) -> tuple[int, int] | None:
        """As a chart tells it."""
        return None if self.unit is None else (self.unit, len(self.stitches))

    @property
    def facts(self) -> dict[str, object]:
        """The bands with their counts as plain data, nothing where there are none."""
        told = [{"name": name, "stitches": count} for name, count in self.bands]
        return {"bands": told} if told else {}

    @property
    def used(self) -> tuple[str, ...]:
        """Abbreviations that its rounds need."""
        kinds = {s.kind for s in self.shape.shaping}
        return tuple(CALLED[kind] for kind in ("k2tog", "increase-left") if kind in kinds)

    def words(self) -> list[str]:
        """How the chart's rounds are worked."""
        return rounds_words(self.shape, 0, self.shape.rounds)


Placing = Callable[[Motif, Counts, int], Sequence[tuple[Motif, int, int]]]
"""Where a motif stands on so many rounds: motifs with their first round and stitch."""


def in_front(motif: Motif, counts: Counts, rounds: int) -> list[tuple[Motif, int, int]]:
    """Once, opposite the join and in the middle of the height."""
    across, up = motif.size
    return [(motif, (rounds - up) // 2, (counts.stitches - across) // 2)]


def wrapped(making: Making, asked: Tube, place: Placing = in_front) -> WrappedTube:
    """The tube with its motif solved. Raises SettingError, naming what works, when it does not fit."""
    if asked.options.arranged:
        return _in_bands(making, asked)
    return _repeated(making, asked) if asked.options.repeat else _placed(making, asked, place)


def _repeated(making: Making, asked: Tube) -> WrappedTube:
    """The motif side by side."""
    design, rounds = making.design, asked.rounds
    if design.chart is not None:
        high = design.chart.round_count
        rounds = max(1, round(rounds / high)) * high
    about = round(asked.cm / design.gauge.stitch_width)
    unit = repeat_width(design, asked.options.across, rounds, about, lambda n: n % asked.also == 0)
    counts = _counts(design, asked, unit)
    one = all_round(making, unit, rounds)
    if asked.downwards:
        one = least_jog(one[::-1, ::-1].copy(), unit)
    stitches = np.tile(one, (1, counts.stitches // unit))
    return WrappedTube(counts, stitches, tube(*stitches.shape), unit, (), legible(design, unit))


def _in_bands(making: Making, asked: Tube) -> WrappedTube:
    """Bands one above another, each with its own count."""
    counts, options = _counts(making.design, asked, None), asked.options
    strips = arrangement(making, options, counts.stitches, asked.rounds, asked.most or asked.rounds)
    if asked.downwards:
        strips = [strip.turned() for strip in reversed(strips)]
    rounds = asked.rounds
    if asked.most is not None:
        rounds = max(rounds, min(asked.most, needed_rounds(strips, options.between)))
    drawn = arranged(making, strips, counts.stitches, rounds, options.between)
    name = making.design.name
    across = next(strip.unit.shape[1] for strip in strips if strip.name == name)
    remarks = legible(making.design, across - (options.apart or 0))
    return WrappedTube(counts, drawn.stitches, drawn.shape, None, (), remarks, drawn.bands)


def _placed(making: Making, asked: Tube, place: Placing) -> WrappedTube:
    """The motif where it is placed, with filler round the rest."""
    design, rounds = making.design, asked.rounds
    counts = _counts(design, asked, None)
    motif = once(design, asked.options.across, _room(design, asked, counts))
    cloth = Cloth(design, tube(rounds, counts.stitches))
    cloth.fill(cloth.live, np.arange(counts.stitches))
    motif = motif.turned() if asked.downwards else motif
    placed = place(motif, counts, rounds)
    for one, low, first in placed:
        cloth.paste(one, low, first)
    solved = making.solve(cloth).stitches
    start = least_jog_at(solved, design.filler.width)
    columns = sorted({((first - start) % counts.stitches, one.size[0]) for one, _, first in placed})
    return WrappedTube(
        counts,
        np.roll(solved, -start, axis=1),
        tube(*solved.shape),
        None,
        tuple(Place(first, across, "picture") for first, across in columns),
        legible(design, motif.size[0]),
    )


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
