"""A band: a tube with ribbing at both edges (headband, cowl, cuff)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pic2chart.garment.around import all_round, closing_counts, least_jog, once, repeat_width, tube
from pic2chart.garment.cloth import Cloth
from pic2chart.garment.common import (
    abbreviations,
    around_line,
    cautions,
    colourwork,
    materials,
    measures,
    rib,
    rib_rounds,
)
from pic2chart.garment.counts import Counts, rounds_for
from pic2chart.garment.design import Design
from pic2chart.garment.flat_view import tube_view
from pic2chart.garment.options import BandOptions
from pic2chart.garment.outline import outline_sheet
from pic2chart.garment.piece import Garment, Making
from pic2chart.garment.read_design import read_design
from pic2chart.garment.sizes import HEADS, Body, body_of
from pic2chart.garment.words import Pattern, Section, sts
from pic2chart.gauge import Gauge
from pic2chart.settings import Settings
from pic2chart.solving import Progress, silent


def make_band(
    path: Path, settings: Settings, options: BandOptions, progress: Progress | None = None
) -> Garment:
    """A band with the motif once at the front or side by side all round.

    Raises SettingError, naming the nearest that works, when the motif does not fit.
    """
    body = body_of(HEADS, options.size, options.girth, None, options.for_child)
    rounds = rounds_for(options.height, _gauge(settings), 4)
    design = read_design(path, settings, (120, rounds))
    making = Making.of(design, options, "band", body.child, progress or silent)
    cm = body.girth * (1 + options.ease / 100)
    draw = _repeated if options.repeat else _once
    counts, stitches, unit = draw(making, options, cm, rounds)
    shape = tube(len(stitches), counts.stitches)
    rounds = shape.rounds
    fit = {"body": measures(body), "around": counts.to_dict(), "rounds": rounds}
    pattern = _pattern(design.knitted_in(stitches), options, counts, rounds, body)
    title = f"{design.name}: band"
    piece = making.piece(
        "band",
        title,
        stitches,
        shape,
        sections=pattern.sections,
        fit=fit,
        repeat=None if unit is None else (unit, rounds),
    )
    colour = design.yarns[design.ground].colour
    outline = outline_sheet(
        title, [tube_view(piece.chart, "Front, laid flat", colour, options.edge, options.edge)]
    )
    return Garment("band", design.name, (piece,), pattern, outline, fit, design.remarks)


def _gauge(settings: Settings) -> Gauge:
    return Gauge.parse(settings.gauge)


def _repeated(
    making: Making, options: BandOptions, cm: float, rounds: int
) -> tuple[Counts, NDArray[np.uint8], int | None]:
    """The motif side by side: counts, stitches, and the stitches of one repeat."""
    design = making.design
    if design.chart is not None:
        high = design.chart.round_count
        rounds = max(1, round(rounds / high)) * high
    unit = repeat_width(design, options.across, rounds, round(cm / design.gauge.stitch_width))
    counts = closing_counts(design, cm, unit)
    one = all_round(making, unit, rounds)
    return counts, np.tile(one, (1, counts.stitches // unit)), unit


def _once(
    making: Making, options: BandOptions, cm: float, rounds: int
) -> tuple[Counts, NDArray[np.uint8], int | None]:
    """The motif once, opposite the join, with filler round the rest."""
    design = making.design
    counts = closing_counts(design, cm, None)
    motif = once(design, options.across, counts.stitches - 8, rounds, "this band")
    cloth = Cloth(design, tube(rounds, counts.stitches))
    cloth.fill(cloth.live, np.arange(counts.stitches))
    across, up = motif.size
    cloth.paste(motif, (rounds - up) // 2, (counts.stitches - across) // 2)
    return counts, least_jog(making.solve(cloth).stitches, design.filler.width), None


def _pattern(
    design: Design, options: BandOptions, counts: Counts, rounds: int, body: Body
) -> Pattern:
    """The written pattern."""
    n, gauge = counts.stitches, design.gauge
    high = rounds * gauge.round_height
    edge = rib_rounds(design, options.edge)
    ground = design.yarns[design.ground].name
    limit = Making.of(design, options, "band", body.child, silent).rules.float_limit
    size = (
        f"To fit {body.girth:g} cm round.",
        around_line(counts, "Round the band"),
        f"Height: {high:.1f} cm patterned and ribbing of {edge} at each edge.",
    )
    return Pattern(
        f"{design.name}: band",
        (
            *materials(design, size),
            abbreviations(),
            colourwork(design, limit),
            Section(
                "Lower edge",
                (
                    f"With {ground} and the smaller needles, cast on {n} sts. Join to work in the "
                    "round without twisting; the round begins at the back.",
                    f"Work {rib(n)} rib for {edge}. {sts(n)}.",
                ),
            ),
            Section(
                "Band",
                (
                    "Change to the larger needles.",
                    f"Rounds 1–{rounds}: work the chart. {sts(n)}.",
                ),
            ),
            Section(
                "Upper edge",
                (
                    f"With {ground} and the smaller needles, knit 1 round. Work {rib(n)} rib for {edge}. "
                    f"{sts(n)}.",
                    "Bind off loosely in rib.",
                ),
            ),
            Section("Finishing", ("Weave in the ends. Wash, and dry flat.",)),
            cautions("band", body.child),
        ),
    )
