"""The written pattern of a band."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.garment.design import Design
from pic2chart.garment.kinds.band import BandOptions
from pic2chart.garment.piece import Piece
from pic2chart.garment.sections import (
    around_line,
    eased,
    rib_words,
    size_name,
    whole_pattern,
)
from pic2chart.garment.shape import rounds_for
from pic2chart.garment.sizes import Body
from pic2chart.garment.wrap import WrappedTube
from pic2chart.garment.written import Pattern, Section, sts


def band_pattern(
    design: Design,
    title: str,
    options: BandOptions,
    drawn: WrappedTube,
    body: Body,
    pieces: Sequence[Piece],
) -> Pattern:
    """From the cast-on to the binding off, every count for this size."""
    counts = drawn.counts
    gauge, ground, n = design.gauge, design.ground_yarn.name, counts.stitches
    rounds = pieces[0].chart.round_count
    edge = rounds_for(options.edge, gauge)
    high, ribbed = rounds * gauge.round_height, edge * gauge.round_height
    ribbing = rib_words(n, edge, gauge)
    size = (
        f"{size_name(body)}: {body.girth:g} cm round where it is worn.",
        around_line(counts, "Round the band", eased("the girth", options.ease)),
        f"Height {high + 2 * ribbed:.1f} cm: {high:.1f} cm of pattern, and {ribbed:.1f} cm of ribbing at each "
        "edge.",
    )
    lower = (
        f"With {ground} and the smaller needles, cast on {n} sts loosely. Join to work in the "
        "round without twisting, and mark the beginning of the round: it is at the back.",
        f"Work {ribbing}. {sts(n)}.",
    )
    middle = (
        "Change to the larger needles.",
        *drawn.words(),
    )
    upper = (
        f"With {ground} and the smaller needles, knit 1 round. {sts(n)}.",
        f"Work {ribbing}. {sts(n)}.",
        f"Bind off all {n} sts loosely in rib.",
    )
    return whole_pattern(
        design,
        title,
        pieces,
        (
            Section("Lower edge", lower),
            Section("Band", middle),
            Section("Upper edge", upper),
            Section("Finishing", ("Weave in the ends. Wash, and dry flat.",)),
        ),
        size=size,
        needles="a circular one; and the same a size smaller for the ribbing",
        begins="Round 1 is the first above the lower ribbing.",
        used=drawn.used,
        shaped=bool(drawn.used),
    )
