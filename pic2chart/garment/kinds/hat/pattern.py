"""The written pattern of a hat."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.garment.design import Design
from pic2chart.garment.kinds.hat import HatOptions
from pic2chart.garment.kinds.hat.plan import HatPlan
from pic2chart.garment.piece import Piece
from pic2chart.garment.sections import (
    around_line,
    closing_yarn,
    eased,
    size_name,
    spread_words,
    whole_pattern,
)
from pic2chart.garment.written import Pattern, Section, ordinal, rounds_words, sts
from pic2chart.model.gauge import Gauge


def hat_pattern(
    design: Design, title: str, plan: HatPlan, options: HatOptions, pieces: Sequence[Piece]
) -> Pattern:
    """From the cast-on to the drawn-up crown, every count for this size."""
    n, ground = plan.stitches, design.ground_yarn.name
    brim = (
        f"With {ground} and the smaller needles, cast on {n} sts loosely. Join to work in the "
        "round without twisting, and mark the beginning of the round: it is at the back.",
        *plan.ribbing.lines(design, design.gauge),
    )
    body = (
        "Change to the larger needles.",
        f"Rounds 1–{plan.rounds}: work the chart. {sts(n)}.",
    )
    finishing = (
        *plan.ribbing.finishing,
        f"Cut the yarns, draw the end of {closing_yarn(pieces[0].chart)} twice through the remaining "
        f"{sts(plan.wedges)}, pull up tight and fasten off inside.",
        "Weave in the ends. Wash, and dry over a bowl or a balloon of the head's size.",
    )
    return whole_pattern(
        design,
        title,
        pieces,
        (
            Section("Brim", brim),
            Section("Body", body),
            _crown(plan),
            Section("Finishing", finishing),
        ),
        size=_size(plan, options, design.gauge),
        needles="a short circular one, and double-pointed ones for the crown; and a circular one a size "
        "smaller for the ribbing",
        begins="Round 1 is the first above the brim.",
        used=("k2tog", "ssk", "CDD") if plan.kinds else ("k2tog", "ssk"),
        shaped=True,
    )


def _size(plan: HatPlan, options: HatOptions, gauge: Gauge) -> tuple[str, ...]:
    h, body = gauge.round_height, plan.body
    crown = plan.crown
    depth = (plan.brim + plan.rounds + crown) * h
    return (
        f"{size_name(body)}: head {body.girth:g} cm round above the ears, {body.length:g} cm from crown to "
        "ear.",
        around_line(plan.counts, "Round the hat", eased("the head", options.ease)),
        f"Depth {depth:.1f} cm: brim {plan.brim * h:.1f}, body {plan.rounds * h:.1f}, crown {crown * h:.1f} "
        "cm.",
        *spread_words(body),
    )


def _crown(plan: HatPlan) -> Section:
    shape = plan.shape()
    spine = (
        f"each with its spine, the {ordinal(plan.spine + 1)} st, in the middle"
        if plan.kinds
        else "each begun by its spine st, the line between the wedges"
    )
    return Section(
        "Crown",
        (
            f"Place a marker after every {plan.wedge} sts: {plan.wedges} wedges, {spine}. Work the colours of "
            "the chart, and change to the double-pointed needles when needed.",
            *rounds_words(shape, plan.rounds, shape.rounds, plan.wedges),
        ),
    )
