"""A scarf: a tube with the motif at both ends, upright as it hangs, or all over."""

from __future__ import annotations

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE
from pic2chart.garment.build import DrawnGarment, GarmentOrder
from pic2chart.garment.design import Design, Motif
from pic2chart.garment.kinds.scarf import ScarfOptions
from pic2chart.garment.kinds.scarf.pattern import scarf_pattern
from pic2chart.garment.outline import View, fabric, front_columns, rib_layer
from pic2chart.garment.shape import Counts, rounds_for
from pic2chart.garment.wrap import Tube, wrapped
from pic2chart.model.chart import Chart
from pic2chart.model.construction import PlainPart

_FROM_END = 4
"""Rounds of filler between an end's ribbing and the motif."""
_SHORTEST = 2.5
"""Length over the motif's height at the least, so that two of them have room."""


def draw_scarf(order: GarmentOrder[ScarfOptions]) -> DrawnGarment:
    """A scarf. Raises SettingError, naming the nearest that works, when the motif does not fit."""
    options, gauge = order.options, order.gauge
    rounds = rounds_for(options.length, gauge, 20)
    if rounds > MAX_SIDE:
        raise SettingError(
            message(
                "scarf-too-long",
                rounds=rounds,
                most=MAX_SIDE,
                length=int(MAX_SIDE * gauge.round_height),
                options=("length",),
            )
        )
    room = int(rounds / _SHORTEST) - _FROM_END
    design = order.design(200, room)
    making = order.making(design, options.for_child)
    asked = Tube(
        2 * options.width, rounds, message("this-scarf"), ("width", 0.5), ("length", _SHORTEST),
        options, room,
    )  # fmt: skip
    drawn = wrapped(making, asked, _both_ends)
    n, high = drawn.counts.stitches, len(drawn.stitches)
    fit = {
        "around": drawn.counts.to_dict(),
        "width_cm": round(n / 2 * gauge.stitch_width, 1),
        "rounds": high,
        "length_cm": round(high * gauge.round_height, 1),
    } | drawn.facts
    title = order.title(design)
    piece = making.piece(
        "scarf", title, drawn.stitches, drawn.shape, fit=fit, repeat=drawn.repeat,
        places=drawn.places, units=drawn.units,
        plain=_edges(design, options, n),
    )  # fmt: skip
    return DrawnGarment(
        design,
        [piece],
        fit,
        lambda pieces: scarf_pattern(design, title, options, drawn, pieces),
        lambda charts: [_view(charts["scarf"], options, design.ground_yarn.colour)],
        drawn.remarks,
    )


def _both_ends(motif: Motif, counts: Counts, rounds: int) -> list[tuple[Motif, int, int]]:
    """At both ends of the front, upside down at the end that is cast on: so both hang upright."""
    across, up = motif.size
    first = (counts.stitches - across) // 2
    return [(motif.turned(), _FROM_END, first), (motif, rounds - _FROM_END - up, first)]


def _edges(design: Design, options: ScarfOptions, around: int) -> list[PlainPart]:
    """The ribbing at both ends, the upper one after a plain round."""
    high = rounds_for(options.edge, design.gauge)
    return [
        PlainPart("lower edge", design.ground, around * high, edge=around),
        PlainPart("upper edge", design.ground, around * (high + 1), edge=around),
    ]


def _view(chart: Chart, options: ScarfOptions, colour: str) -> View:
    """The front, laid flat."""
    w, h = chart.gauge.stitch_width, chart.gauge.round_height
    width, high = chart.stitch_count / 2 * w, chart.round_count * h
    layers = (
        rib_layer(0.96 * width, -options.edge, 0.0, colour),
        fabric(chart, front_columns(chart)),
        rib_layer(0.96 * width, high, high + options.edge, colour),
    )
    facts = (f"{width:.1f} cm wide", f"{high + 2 * options.edge:.1f} cm long with its edges")
    return View("Front, laid flat", layers, facts)
