"""The counts of a cushion cover or a bag.

Common practice: a cover is a little smaller than its pad, so that it stays full; a bag is not. A strap
of eight stitches in garter stitch does not roll, and stretches least when it is sewn down both sides.
"""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.garment.kinds.cushion import CushionOptions
from pic2chart.garment.shape import Counts, nearest_counts, rounds_for
from pic2chart.model.construction import PlainPart
from pic2chart.model.gauge import Gauge

SNUG = 0.97
"""The cover's measures over the pad's."""
STRAP, HEM_CM = 8, 2.5
"""Stitches of a strap, and the hem of a bag."""


@dataclass(frozen=True, slots=True)
class CushionPlan:
    """`counts`: stitches round, of which the front has half; `rounds` of the chart; rounds of a bag's hem
    and rows of its strap, 0 for a cushion.
    """

    counts: Counts
    rounds: int
    hem: int
    strap: int

    @property
    def half(self) -> int:
        """Stitches of the front, with the side's line before it."""
        return self.counts.stitches // 2

    @property
    def bag(self) -> bool:
        """Whether it is a bag."""
        return self.strap > 0


def plan_cushion(options: CushionOptions, gauge: Gauge) -> CushionPlan:
    """Counts for the pad or the bag asked for."""
    bag = options.strap is not None
    share = 1.0 if bag else SNUG
    high = share * (options.height or options.width)
    counts = nearest_counts(
        2 * share * options.width, gauge, lambda n: n % 2 == 0, "alike on front and back", 16
    )
    strap = rounds_for(options.strap, gauge) if options.strap is not None else 0
    return CushionPlan(
        counts, rounds_for(high, gauge, 8), rounds_for(HEM_CM, gauge, 2) if bag else 0, strap
    )


def plain_parts(plan: CushionPlan, ground: int) -> list[PlainPart]:
    """What is knitted in the ground's yarn below, above and beside the chart."""
    n = plan.counts.stitches
    parts = [PlainPart("lower edge", ground, n, edge=n)]
    if not plan.bag:
        return [*parts, PlainPart("upper edge", ground, n, edge=n)]
    return [
        *parts,
        PlainPart("hem", ground, n * (plan.hem + 1), edge=n),
        PlainPart("strap", ground, STRAP * plan.strap, edge=2 * STRAP, ends=2),
    ]
