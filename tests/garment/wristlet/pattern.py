"""The written pattern of a pair of wristlets."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pic2chart.garment.design import Design
from pic2chart.garment.piece import Piece
from pic2chart.garment.sections import around_line, rib_words, size_name, whole_pattern
from pic2chart.garment.shape import rounds_for
from pic2chart.garment.written import Pattern, Section, rounds_words, sts

if TYPE_CHECKING:
    from pic2chart.garment.kinds.wristlet.drawing import WristletPlan

EDGE = 3.0
"""Height of the ribbing at each end, cm."""


def wristlet_pattern(
    design: Design, title: str, plan: WristletPlan, pieces: Sequence[Piece]
) -> Pattern:
    """From the arm to the hand, every count for this size."""
    gauge, ground, n = design.gauge, design.ground_yarn.name, plan.counts.stitches
    edge, shape = rounds_for(EDGE, gauge), plan.shape()
    arm = (
        f"With {ground} and the smaller needles, cast on {plan.arm} sts loosely. Join to work in the "
        "round without twisting, and mark the beginning of the round: it is under the arm.",
        f"Work {rib_words(plan.arm, edge, gauge)}. {sts(plan.arm)}.",
    )
    hand = (
        f"With {ground} and the smaller needles, knit 1 round. {sts(n)}.",
        f"Work {rib_words(n, edge, gauge)}. {sts(n)}.",
        f"Bind off all {n} sts loosely in rib.",
    )
    return whole_pattern(
        design,
        title,
        pieces,
        (
            Section("Arm edge", arm),
            Section(
                "Wristlet",
                ("Change to the larger needles.", *rounds_words(shape, 0, shape.rounds)),
            ),
            Section("Hand edge", hand),
            Section("The other wristlet", ("Work it in the same way from its own chart.",)),
            Section("Finishing", ("Weave in the ends. Wash, and dry flat.",)),
        ),
        size=(
            f"{size_name(plan.body)}: hand {plan.body.girth:g} cm round the knuckles.",
            around_line(plan.counts, "Round the wrist", "the hand"),
        ),
        needles="double-pointed; and the same a size smaller for the ribbing",
        begins="Round 1 is the first above the arm edge.",
        used=("k2tog", "ssk"),
        shaped=True,
    )
