"""A strip of a strand sheet: a stretch of one round, and where its views lie."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pic2chart.chart import Chart

LEFT, RIGHT = 15.0, 20.0
"""Room beside a strip for the names of its views and lanes, mm."""
LANE = 4.7
"""Distance between two lanes, mm."""
CIRCLE = tuple((math.cos(a * math.pi / 12), math.sin(a * math.pi / 12)) for a in range(24))
"""Places on a circle of radius 1."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A stretch of one round on the sheet: stitches `first` to before `past`, from `left`, at `top`.

    `order` are the round's yarns from the lowest lane to the highest; `stitch` the size in mm.
    """

    chart: Chart
    round: int
    first: int
    past: int
    left: float
    top: float
    stitch: tuple[float, float]
    order: tuple[int, ...]
    scale: float

    @property
    def width(self) -> float:
        return (self.past - self.first) * self.stitch[0]

    @property
    def above_top(self) -> float:
        """Top of the view from above."""
        return self.top + 4.5 * self.scale + self.stitch[1] * 1.25 + 1.5

    @property
    def needle(self) -> float:
        """Height of the needle's middle in the view from above."""
        return self.above_top + 1 + LANE * self.scale * len(self.order) + 0.75 * self.stitch[0]

    @property
    def back_top(self) -> float:
        return self.needle + 0.75 * self.stitch[0] + 1.5

    @property
    def bottom(self) -> float:
        return self.back_top + self.stitch[1] * 1.45

    def lane(self, yarn: int) -> float:
        """Height of a yarn's lane on the sheet: the under yarn's is the lowest."""
        place = self.order.index(yarn)
        return self.needle - 0.75 * self.stitch[0] - LANE * self.scale * (place + 0.7)

    def across(self, stitch: float) -> float:
        """Where a place along the round lies, mm from the left of the sheet."""
        if self.chart.hand == "left":
            return self.left + (stitch - self.first) * self.stitch[0]
        return self.left + (self.past - stitch) * self.stitch[0]
