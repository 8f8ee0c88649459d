"""A band: a tube with ribbing at both edges (headband, cowl, cuff)."""

from __future__ import annotations

from collections.abc import Mapping

from pic2chart.core.messages import message
from pic2chart.garment.build import DrawnGarment, GarmentOrder
from pic2chart.garment.design import Design
from pic2chart.garment.kinds.band import BandOptions
from pic2chart.garment.kinds.band.pattern import band_pattern
from pic2chart.garment.outline import tube_view
from pic2chart.garment.sections import measures
from pic2chart.garment.shape import rounds_for
from pic2chart.garment.sizes import HANDS, HEADS, Body, body_of
from pic2chart.garment.wrap import Tube, wrapped
from pic2chart.model.construction import PlainPart

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
    drawn = wrapped(making, _tube(options, body, rounds))
    counts = drawn.counts
    shape = drawn.shape
    fit = {"body": measures(body), "around": counts.to_dict(), "rounds": shape.rounds} | drawn.facts
    title, ground = order.title(design), design.ground_yarn.colour
    piece = making.piece(
        "band",
        title,
        drawn.stitches,
        shape,
        fit=fit,
        plain=_edges(design, options, counts.stitches),
        repeat=drawn.repeat,
        places=drawn.places,
        units=drawn.units,
    )
    return DrawnGarment(
        design,
        [piece],
        fit,
        lambda pieces: band_pattern(design, title, options, drawn, body, pieces),
        lambda charts: [
            tube_view(charts["band"], "Front, laid flat", ground, options.edge, options.edge)
        ],
        drawn.remarks,
    )


def _tube(options: BandOptions, body: Body, rounds: int) -> Tube:
    return Tube(
        body.eased(options.ease),
        rounds,
        message("this-band"),
        ("girth", 1 / (1 + options.ease / 100)),
        ("height", 1.0),
        options,
    )


def _edges(design: Design, options: BandOptions, around: int) -> list[PlainPart]:
    """The ribbing at both edges, the upper one after a plain round."""
    rounds = rounds_for(options.edge, design.gauge)
    return [
        PlainPart("lower edge", design.ground, around * rounds, edge=around),
        PlainPart("upper edge", design.ground, around * (rounds + 1), edge=around),
    ]
