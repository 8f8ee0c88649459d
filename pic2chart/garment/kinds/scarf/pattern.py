"""The written pattern of a scarf."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.garment.design import Design
from pic2chart.garment.kinds.scarf import ScarfOptions
from pic2chart.garment.piece import Piece
from pic2chart.garment.sections import around_line, rib_words, whole_pattern
from pic2chart.garment.shape import rounds_for
from pic2chart.garment.wrap import WrappedTube
from pic2chart.garment.written import Pattern, Section, sts


def scarf_pattern(
    design: Design, title: str, options: ScarfOptions, drawn: WrappedTube, pieces: Sequence[Piece]
) -> Pattern:
    """From the cast-on to the sewn ends, every count for this size."""
    counts = drawn.counts
    gauge, ground, n = design.gauge, design.ground_yarn.name, counts.stitches
    rounds, edge = pieces[0].chart.round_count, rounds_for(options.edge, gauge)
    high, ribbed = rounds * gauge.round_height, edge * gauge.round_height
    size = (
        f"Length {high + 2 * ribbed:.1f} cm: {high:.1f} cm of pattern, and {ribbed:.1f} cm of ribbing at each "
        "end.",
        around_line(counts, "Round the tube", "twice the width"),
    )
    ribbing = rib_words(n, edge, gauge)
    lower = (
        f"With {ground} and the smaller needles, cast on {n} sts loosely. Join to work in the "
        "round without twisting, and mark the beginning of the round: it is in the middle of the back.",
        f"Work {ribbing}. {sts(n)}.",
    )
    middle = ("Change to the larger needles.", *drawn.words())
    upper = (
        f"With {ground} and the smaller needles, knit 1 round. {sts(n)}.",
        f"Work {ribbing}. {sts(n)}.",
        f"Bind off all {n} sts in rib.",
    )
    finishing = (
        "Weave in the ends inside the tube. Wash, and dry flat with the beginning of the rounds in the "
        "middle of the back.",
        "Sew both ends shut, front to back.",
    )
    return whole_pattern(
        design,
        title,
        pieces,
        (
            Section("Lower edge", lower),
            Section("Scarf", middle),
            Section("Upper edge", upper),
            Section("Finishing", finishing),
        ),
        size=size,
        needles="a short circular one; and the same a size smaller for the ribbing",
        begins="Round 1 is the first above the lower ribbing.",
        used=drawn.used,
        shaped=bool(drawn.used),
    )
