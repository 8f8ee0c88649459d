"""A band: a tube with ribbing at both edges (headband, cowl, cuff)."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.messages import Message, message
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
from pic2chart.garment.build import DrawnGarment, GarmentOrder
from pic2chart.garment.design import Design
from pic2chart.garment.kinds.band import BandOptions
from pic2chart.garment.kinds.band.pattern import band_pattern
from pic2chart.garment.legible import legible
from pic2chart.garment.outline import tube_view
from pic2chart.garment.piece import Cloth, Making
from pic2chart.garment.sections import measures
from pic2chart.garment.shape import Counts, rounds_for, up_to_tenth
from pic2chart.garment.sizes import HANDS, HEADS, Body, body_of
from pic2chart.model.construction import PlainPart

_AT_JOIN = 8
"""Stitches of filler at least where the round begins."""
Drawn = tuple[Counts, NDArray[np.uint8], int | None, tuple[Message, ...]]
"""Counts, stitches, the stitches of one repeat, and what the knitter should know of the motif."""

BANDS: Mapping[str, Body] = {**HEADS, **{n: hand for n, hand in HANDS.items() if n not in HEADS}}
"""What a band goes round: heads (headband, cowl) and hands over the knuckles (cuff, wristlet)."""


def draw_band(order: GarmentOrder[BandOptions]) -> DrawnGarment:
    """A band with the motif once at the front or side by side all round.

    Raises SettingError, naming the nearest that works, when the motif does not fit.
    """
    options = order.options
    body = body_of(BANDS, options.size, options.girth, None, options.for_child)
    rounds = rounds_for(options.height, order.gauge, 4)
    design = order.design(120, rounds)
    making = order.making(design, body.child)
    draw = _repeated if options.repeat else _once
    counts, stitches, unit, remarks = draw(making, options, body.eased(options.ease), rounds)
    shape = tube(len(stitches), counts.stitches)
    fit = {"body": measures(body), "around": counts.to_dict(), "rounds": shape.rounds}
    title, ground = order.title(design), design.ground_yarn.colour
    piece = making.piece(
        "band",
        title,
        stitches,
        shape,
        fit=fit,
        plain=_edges(design, options, counts.stitches),
        repeat=None if unit is None else (unit, shape.rounds),
    )
    return DrawnGarment(
        design,
        [piece],
        fit,
        lambda pieces: band_pattern(design, title, options, counts, body, pieces),
        lambda charts: [
            tube_view(charts["band"], "Front, laid flat", ground, options.edge, options.edge)
        ],
        remarks,
    )


def _edges(design: Design, options: BandOptions, around: int) -> list[PlainPart]:
    """The ribbing at both edges, the upper one after a plain round."""
    rounds = rounds_for(options.edge, design.gauge)
    return [
        PlainPart("lower edge", design.ground, around * rounds, edge=around),
        PlainPart("upper edge", design.ground, around * (rounds + 1), edge=around),
    ]


def _repeated(making: Making, options: BandOptions, cm: float, rounds: int) -> Drawn:
    """The motif side by side."""
    design = making.design
    if design.chart is not None:
        high = design.chart.round_count
        rounds = max(1, round(rounds / high)) * high
    unit = repeat_width(design, options.across, rounds, round(cm / design.gauge.stitch_width))
    counts = closing_counts(design, cm, unit)
    one = all_round(making, unit, rounds)
    return counts, np.tile(one, (1, counts.stitches // unit)), unit, legible(design, unit)


def _once(making: Making, options: BandOptions, cm: float, rounds: int) -> Drawn:
    """The motif once, opposite the join, with filler round the rest."""
    design = making.design
    counts = closing_counts(design, cm, None)
    motif = once(design, options.across, _front(design, options, counts, rounds))
    cloth = Cloth(design, tube(rounds, counts.stitches))
    cloth.fill(cloth.live, np.arange(counts.stitches))
    across, up = motif.size
    cloth.paste(motif, (rounds - up) // 2, (counts.stitches - across) // 2)
    stitches = least_jog(making.solve(cloth).stitches, design.filler.width)
    return counts, stitches, None, legible(design, across)


def _front(design: Design, options: BandOptions, counts: Counts, rounds: int) -> Room:
    """The whole round but for a few stitches at the join."""
    gauge = design.gauge

    def wider(stitches: int) -> Message:
        girth = (stitches + _AT_JOIN) * gauge.stitch_width / (1 + options.ease / 100)
        return make_it("girth", up_to_tenth(girth))

    def higher(needed: int) -> Message:
        return make_it("height", up_to_tenth(needed * gauge.round_height))

    return Room(message("this-band"), counts.stitches - _AT_JOIN, rounds, wider, higher)
