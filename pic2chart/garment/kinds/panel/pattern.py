"""The written pattern of a panel, flat or with a steek."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.garment.design import Design
from pic2chart.garment.kinds.panel import PanelOptions
from pic2chart.garment.kinds.panel.plan import PanelPlan
from pic2chart.garment.piece import Piece
from pic2chart.garment.sections import (
    around_line,
    whole_pattern,
)
from pic2chart.garment.steek import steek_lines, steek_tools
from pic2chart.garment.written import Pattern, Section, sts


def panel_pattern(
    design: Design, title: str, plan: PanelPlan, options: PanelOptions, pieces: Sequence[Piece]
) -> Pattern:
    """From the cast-on to the binding off, and the steek cut open, every count for this size."""
    w, h = design.gauge.stitch_width, design.gauge.round_height
    across, flat = plan.stitches - plan.steek, not plan.steek
    size = [
        f"{across * w:.1f} cm wide and {plan.rounds * h:.1f} cm high, with {plan.edges} edge sts at each "
        f"side: {plan.edges} + {plan.inner} + {plan.edges} = {across} sts."
    ]
    if plan.counts is not None:
        size.append(
            around_line(
                plan.counts, "Between the edges", "the width without the edges", tube=False
            ),
        )
    finishing = (
        "Weave in the ends. Wash, and pin out to size to dry.",
        "Plain knitting rolls at its edges: sew the panel onto a cushion or a bag, line it, or "
        "pick up sts for an edging.",
    )
    return whole_pattern(
        design,
        title,
        pieces,
        (
            Section("Panel", _flat(design, plan) if flat else _round(design, plan)),
            *([] if flat else [_steek(plan, options, design.settings.left_handed)]),
            Section("Finishing", finishing),
        ),
        size=size,
        needles="straight or circular ones" if flat else "a circular one",
        begins="Row 1 is a right-side row."
        if flat
        else "Round 1 is the first after the cast-on; the steek is in it.",
        notions="A blunt needle, pins." if flat else _notions(options),
    )


def _notions(options: PanelOptions) -> str:
    return f"Stitch markers, a blunt needle, {steek_tools(options.steek or '')}, pins."


def _flat(design: Design, plan: PanelPlan) -> tuple[str, ...]:
    n, ground = plan.stitches, design.ground_yarn.name
    return (
        f"With {ground}, cast on {n} sts. Purl 1 row (wrong side). {sts(n)}.",
        f"Rows 1–{plan.rounds}: work the chart. {sts(n)}.",
        "Work the first and the last st of every row with both yarns held together, so that the strands "
        "are held at the edges.",
        f"With {ground}, bind off all {n} sts.",
    )


def _round(design: Design, plan: PanelPlan) -> tuple[str, ...]:
    n, ground = plan.stitches, design.ground_yarn.name
    left = design.settings.left_handed
    before, after = (
        (f"{plan.steek} for the steek", f"{n - plan.steek} for the panel")
        if left
        else (f"{n - plan.steek} for the panel", f"{plan.steek} for the steek")
    )
    place = "before" if left else "after"
    return (
        f"With {ground}, cast on {n} sts: {before} and {after}. Join to work in the round without "
        f"twisting, and mark the beginning of the round: it is just {place} the steek. Mark where the "
        "steek meets the panel too.",
        f"Rounds 1–{plan.rounds}: work the chart. {sts(n)}.",
        f"With {ground}, bind off all {n} sts.",
    )


def _steek(plan: PanelPlan, options: PanelOptions, left: bool) -> Section:
    n = plan.steek
    return Section(
        "Steek",
        (
            f"The {'first' if left else 'last'} {n} sts of every round are the steek, in both yarns by turns, "
            f"or in the one yarn of a round that has no other; they are counted 1 to {n} here.",
            *steek_lines(n, options.steek or ""),
            "Turn the cut edges inside and sew them down.",
        ),
    )
