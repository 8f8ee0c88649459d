"""The written pattern of a cushion cover or a bag."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.garment.design import Design
from pic2chart.garment.kinds.cushion import CushionOptions
from pic2chart.garment.kinds.cushion.plan import SNUG, STRAP, CushionPlan
from pic2chart.garment.piece import Piece
from pic2chart.garment.sections import around_line, whole_pattern
from pic2chart.garment.written import Pattern, Section, per_cent, sts


def cushion_pattern(
    design: Design,
    title: str,
    plan: CushionPlan,
    options: CushionOptions,
    pieces: Sequence[Piece],
) -> Pattern:
    """From the cast-on to the closed edges, every count for this size."""
    n, ground = plan.counts.stitches, design.ground_yarn.name
    begun = (
        f"With {ground}, cast on {n} sts loosely. Join to work in the round without twisting, and mark the "
        "beginning of the round: it is at the side, before the front.",
        f"Knit 1 round. {sts(n)}.",
    )
    one, two = ("back", "front") if design.settings.left_handed else ("front", "back")
    middle = (
        f"The first {plan.half} sts of every round are the {one}, the other {plan.half} the {two}: place a "
        "marker between them. Each face begins with its side's line.",
        f"Rounds 1–{plan.rounds}: work the chart. {sts(n)}.",
    )
    return whole_pattern(
        design,
        title,
        pieces,
        (
            Section("Lower edge", begun),
            Section("Bag" if plan.bag else "Cover", middle),
            *(_bag(design, plan) if plan.bag else _cover(design, n)),
        ),
        size=_size(design, plan, options),
        needles="a circular one",
        begins="Round 1 is the second after the cast-on.",
        notions="Stitch markers, a blunt needle"
        + (", a lining if the bag shall carry weight." if plan.bag else ", a pad."),
    )


def _size(design: Design, plan: CushionPlan, options: CushionOptions) -> tuple[str, ...]:
    w, h = design.gauge.stitch_width, design.gauge.round_height
    wide, high = options.width, options.height or options.width
    asked = (
        f"A bag of {wide:g} × {high:g} cm" if plan.bag else f"For a pad of {wide:g} × {high:g} cm"
    )
    from_ = "twice the width" if plan.bag else f"twice the pad's width less {per_cent(1 - SNUG)}"
    return (
        f"{asked}: {plan.half * w:.1f} cm wide and {plan.rounds * h:.1f} cm high.",
        around_line(plan.counts, "Round both faces", from_),
    )


def _cover(design: Design, n: int) -> tuple[Section, ...]:
    return (
        Section(
            "Upper edge",
            (
                f"With {design.ground_yarn.name}, knit 1 round. {sts(n)}.",
                f"Bind off all {n} sts.",
            ),
        ),
        Section(
            "Finishing",
            (
                "Weave in the ends inside. Wash, and dry flat, the side's lines at the folds.",
                "Sew the lower edge shut, put the pad in and sew the upper edge shut; for a child's "
                "cushion sew it so that no filling comes out.",
            ),
        ),
    )


def _bag(design: Design, plan: CushionPlan) -> tuple[Section, ...]:
    n, ground, h = plan.counts.stitches, design.ground_yarn.name, design.gauge.round_height
    return (
        Section(
            "Hem",
            (
                f"With {ground}, purl 1 round, the fold. {sts(n)}.",
                f"Knit {plan.hem} rounds ({plan.hem * h:.1f} cm). {sts(n)}.",
                f"Bind off all {n} sts loosely.",
            ),
        ),
        Section(
            "Strap",
            (
                f"With {ground}, cast on {STRAP} sts. Knit {plan.strap} rows, about {plan.strap * h:.1f} cm. "
                f"{sts(STRAP)}.",
                f"Bind off all {STRAP} sts.",
            ),
        ),
        Section(
            "Finishing",
            (
                "Weave in the ends inside. Wash, and dry flat, the side's lines at the folds.",
                "Sew the lower edge shut, fold the hem inside and sew it down loosely. Sew the strap to "
                "both sides, firmly, over the whole hem. A bag with a strap is no toy for small children.",
            ),
        ),
    )
