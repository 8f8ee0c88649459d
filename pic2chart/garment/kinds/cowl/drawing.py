"""A cowl: a tube with ribbed edges, or one with a lining in one yarn, folded in."""

from __future__ import annotations

from pic2chart.core.messages import message
from pic2chart.garment.build import DrawnGarment, GarmentOrder
from pic2chart.garment.design import Design
from pic2chart.garment.kinds.cowl import CowlOptions
from pic2chart.garment.kinds.cowl.pattern import cowl_pattern
from pic2chart.garment.outline import tube_view
from pic2chart.garment.sections import measures
from pic2chart.garment.shape import rounds_for
from pic2chart.garment.sizes import HEADS, body_of
from pic2chart.garment.wrap import Tube, wrapped
from pic2chart.model.construction import PlainPart


def draw_cowl(order: GarmentOrder[CowlOptions]) -> DrawnGarment:
    """A cowl with the motif once at the front or side by side all round.

    Raises SettingError, naming the nearest that works, when the motif does not fit.
    """
    options = order.options
    body = body_of(HEADS, options.size, options.girth, None, options.for_child)
    rounds = rounds_for(options.height, order.gauge, 4)
    design = order.design(200, rounds)
    making = order.making(design, body.child)
    per_cm = 1 / (1 + options.ease / 100)
    asked = Tube(
        body.eased(options.ease), rounds, message("this-cowl"), ("girth", per_cm), ("height", 1.0),
        options,
    )  # fmt: skip
    drawn = wrapped(making, asked)
    n, high = drawn.counts.stitches, len(drawn.stitches)
    fit = {
        "body": measures(body),
        "around": drawn.counts.to_dict(),
        "rounds": high,
        "doubled": options.doubled,
    } | drawn.facts
    title, ground = order.title(design), design.ground_yarn.colour
    piece = making.piece(
        "cowl", title, drawn.stitches, drawn.shape, fit=fit, repeat=drawn.repeat,
        places=drawn.places, units=drawn.units,
        plain=_plain(design, options, n, high),
    )  # fmt: skip
    edge = 0.0 if options.doubled else options.edge
    more = ("lined: no strands on its inside",) if options.doubled else ()
    return DrawnGarment(
        design,
        [piece],
        fit,
        lambda pieces: cowl_pattern(design, title, options, drawn, body, pieces),
        lambda charts: [tube_view(charts["cowl"], "Front, laid flat", ground, edge, edge, more)],
        drawn.remarks,
    )


def _plain(design: Design, options: CowlOptions, around: int, rounds: int) -> list[PlainPart]:
    """The ribbing at both edges, the upper one after a plain round; or the lining and its two folds."""
    ground = design.ground
    if options.doubled:
        return [
            PlainPart("lining", ground, around * (rounds + 1), edge=around, ends=2),
            PlainPart("closing", ground, around, edge=around),
        ]
    high = rounds_for(options.edge, design.gauge)
    return [
        PlainPart("lower edge", ground, around * high, edge=around),
        PlainPart("upper edge", ground, around * (high + 1), edge=around),
    ]
