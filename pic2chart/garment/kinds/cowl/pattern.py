"""The written pattern of a cowl."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.garment.design import Design
from pic2chart.garment.kinds.cowl import CowlOptions
from pic2chart.garment.piece import Piece
from pic2chart.garment.sections import around_line, eased, rib_words, size_name, whole_pattern
from pic2chart.garment.shape import rounds_for
from pic2chart.garment.sizes import Body
from pic2chart.garment.wrap import WrappedTube
from pic2chart.garment.written import Pattern, Section, sts


def cowl_pattern(
    design: Design,
    title: str,
    options: CowlOptions,
    drawn: WrappedTube,
    body: Body,
    pieces: Sequence[Piece],
) -> Pattern:
    """From the cast-on to the binding off or grafting, every count for this size."""
    gauge, counts = design.gauge, drawn.counts
    rounds = pieces[0].chart.round_count
    edge = 0 if options.doubled else rounds_for(options.edge, gauge)
    high, ribbed = rounds * gauge.round_height, edge * gauge.round_height
    beside = (
        "and a lining as high"
        if options.doubled
        else f"and {ribbed:.1f} cm of ribbing at each edge"
    )
    size = (
        f"{size_name(body)}: head {body.girth:g} cm round, which it goes over.",
        around_line(counts, "Round the cowl", eased("the head", options.ease)),
        f"Height {high + 2 * ribbed:.1f} cm: {high:.1f} cm of pattern, {beside}.",
    )
    n = counts.stitches
    lines = drawn.words()
    work = _lined(design, n, lines, rounds) if options.doubled else _edged(design, n, lines, edge)
    tools = "waste yarn, a crochet hook, " if options.doubled else ""
    return whole_pattern(
        design,
        title,
        pieces,
        (*work, Section("Finishing", ("Weave in the ends. Wash, and dry flat.",))),
        size=size,
        needles="a circular one"
        + ("" if options.doubled else "; and the same a size smaller for the ribbing"),
        begins=f"Round 1 is the first above the {'fold' if options.doubled else 'lower ribbing'}.",
        used=drawn.used,
        shaped=bool(drawn.used),
        notions=f"Stitch markers, {tools}a blunt needle.",
    )


def _edged(design: Design, n: int, lines: Sequence[str], edge: int) -> tuple[Section, ...]:
    ground, ribbing = design.ground_yarn.name, rib_words(n, edge, design.gauge)
    return (
        Section(
            "Lower edge",
            (
                f"With {ground} and the smaller needles, cast on {n} sts loosely. Join to work in the "
                "round without twisting, and mark the beginning of the round: it is at the back.",
                f"Work {ribbing}. {sts(n)}.",
            ),
        ),
        Section(
            "Cowl",
            ("Change to the larger needles.", *lines),
        ),
        Section(
            "Upper edge",
            (
                f"With {ground} and the smaller needles, knit 1 round. {sts(n)}.",
                f"Work {ribbing}. {sts(n)}.",
                f"Bind off all {n} sts loosely in rib.",
            ),
        ),
    )


def _lined(design: Design, n: int, lines: Sequence[str], rounds: int) -> tuple[Section, ...]:
    """The lining first, from a cast-on that is opened again; purled rounds make the folds."""
    ground, high = design.ground_yarn.name, rounds * design.gauge.round_height
    return (
        Section(
            "Lining",
            (
                f"With {ground}, cast on {n} sts over a crochet chain of waste yarn, so that they can be "
                "put back on a needle. Join to work in the round without twisting, and mark the "
                "beginning of the round: it is at the back.",
                f"Knit {rounds} rounds ({high:.1f} cm). {sts(n)}.",
                f"Purl 1 round, the lower fold. {sts(n)}.",
            ),
        ),
        Section("Cowl", tuple(lines)),
        Section(
            "Closing",
            (
                f"With {ground}, purl 1 round, the upper fold. {sts(n)}.",
                "Weave in the ends. Fold the lining inside, take out the chain and put its sts on a needle.",
                f"Graft the {n} sts of the cowl to the {n} sts of the lining.",
            ),
        ),
    )
