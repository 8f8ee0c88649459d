"""The written pattern of a hat."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pic2chart.garment.common import (
    abbreviations,
    around_line,
    cautions,
    colourwork,
    materials,
    rib,
    size_line,
)
from pic2chart.garment.design import Design
from pic2chart.garment.shape import Shape
from pic2chart.garment.words import Pattern, Section, rounds_words, sts

if TYPE_CHECKING:
    from pic2chart.garment.hat import HatPlan


def hat_pattern(design: Design, plan: HatPlan, shape: Shape, limit: int) -> Pattern:
    """From the cast-on to the drawn-up crown, every count for this size."""
    h = design.gauge.round_height
    n, ground = plan.stitches, design.yarns[design.ground].name
    depth = (plan.brim + plan.rounds + len(plan.sides)) * h
    size = (
        size_line(plan.body, "head").replace(" long.", " from crown to ear."),
        around_line(plan.counts, "Round the hat"),
        f"Depth from the middle of the crown to the edge: {depth:.1f} cm.",
    )
    return Pattern(
        f"{design.name}: hat",
        (
            *materials(design, size),
            abbreviations("k2tog", "ssk", left_handed=design.settings.left_handed),
            colourwork(design, limit, shaped=True),
            Section(
                "Brim",
                (
                    f"With {ground} and the smaller needles, cast on {n} sts. Join to work in the "
                    "round without twisting; the round begins at the back.",
                    f"Work {rib(n)} rib for {plan.brim} rounds ({plan.brim * h:.1f} cm). {sts(n)}.",
                ),
            ),
            Section(
                "Body",
                (
                    "Change to the larger needles.",
                    f"Rounds 1–{plan.rounds}: work the chart. {sts(n)}.",
                ),
            ),
            _crown(plan, shape),
            Section(
                "Finishing",
                (
                    f"Cut the yarns, draw the end of {ground} twice through the remaining "
                    f"{sts(plan.wedges)}, pull up tight and fasten off inside.",
                    "Weave in the ends. Wash, and dry over a bowl or a balloon of the head's size.",
                ),
            ),
            cautions("hat", plan.body.child),
        ),
    )


def _crown(plan: HatPlan, shape: Shape) -> Section:
    return Section(
        "Crown",
        (
            f"Place a marker before every {plan.wedge}th st: {plan.wedges} wedges, each begun by a "
            "spine st. Change to a shorter needle or double-pointed needles when needed.",
            *rounds_words(shape, plan.rounds, shape.rounds, plan.wedges),
        ),
    )
