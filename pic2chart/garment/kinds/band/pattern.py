"""The written pattern of a band."""

from __future__ import annotations

from pic2chart.garment.design import Design
from pic2chart.garment.options import BandOptions
from pic2chart.garment.piece import Piece
from pic2chart.garment.sections import (
    abbreviations,
    around_line,
    colourwork,
    eased,
    ground_name,
    materials,
    rib_words,
    size_name,
    take_care,
)
from pic2chart.garment.shape import Counts, rounds_for
from pic2chart.garment.sizes import Body
from pic2chart.garment.written import Pattern, Section, sts


def band_pattern(
    design: Design, options: BandOptions, counts: Counts, body: Body, piece: Piece
) -> Pattern:
    """From the cast-on to the binding off, every count for this size."""
    gauge, ground, n = design.gauge, ground_name(design), counts.stitches
    rounds = piece.chart.round_count
    edge = rounds_for(options.edge, gauge)
    high, ribbed = rounds * gauge.round_height, edge * gauge.round_height
    ribbing = rib_words(n, edge, gauge)
    size = (
        f"{size_name(body)}: {body.girth:g} cm round where it is worn.",
        around_line(counts, "Round the band", eased("the girth", options.ease)),
        f"Height {high + 2 * ribbed:.1f} cm: {high:.1f} cm of pattern, and {ribbed:.1f} cm of ribbing at each "
        "edge.",
    )
    return Pattern(
        f"{design.name}: band",
        (
            *materials(
                [piece.chart], size, "a circular one; and the same a size smaller for the ribbing"
            ),
            abbreviations(left_handed=design.settings.left_handed),
            colourwork(
                [piece],
                "Round 1 is the first above the lower ribbing.",
                left_handed=design.settings.left_handed,
            ),
            Section(
                "Lower edge",
                (
                    f"With {ground} and the smaller needles, cast on {n} sts loosely. Join to work in the "
                    "round without twisting, and mark the beginning of the round: it is at the back.",
                    f"Work {ribbing}. {sts(n)}.",
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
                    f"With {ground} and the smaller needles, knit 1 round. {sts(n)}.",
                    f"Work {ribbing}. {sts(n)}.",
                    f"Bind off all {n} sts loosely in rib.",
                ),
            ),
            Section("Finishing", ("Weave in the ends. Wash, and dry flat.",)),
            take_care(piece.chart),
        ),
    )
