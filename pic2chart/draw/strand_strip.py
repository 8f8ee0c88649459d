"""A strip of a strand sheet: a stretch of one round, and where its views lie."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pic2chart.chart import Catch, Chart

LEFT, RIGHT = 15.0, 20.0
"""Room beside a strip for the names of its views and lanes, mm."""
LANE = 4.7
"""Distance between two lanes, mm."""
_TELLING = 24
"""Stitches of a round that repeats which are shown at the least."""
CIRCLE = tuple((math.cos(a * math.pi / 12), math.sin(a * math.pi / 12)) for a in range(24))
"""Places on a circle of radius 1."""


def closed(chart: Chart, round_: int) -> tuple[Chart, tuple[int, ...] | None]:
    """The chart without the columns in which a round has no stitch, as on the needle.

    With it come the numbers of the columns left; None when every column is.
    """
    live = chart.live[round_]
    if live.all() or not live.any():
        return chart, None
    column = np.cumsum(live) - 1
    catches = tuple(
        Catch(c.round, int(column[c.stitch]), c.yarn) for c in chart.catches if live[c.stitch]
    )
    numbers = tuple((np.flatnonzero(live) + 1).tolist())
    stitches = chart.stitches[:, live]
    return chart.with_(stitches=stitches, catches=catches, fixed=None, extra={}), numbers


def repeats(chart: Chart, round_: int) -> tuple[int, int]:
    """The repeat of a round, and how many stitches of it are worth showing, both in stitches.

    `chart` has a stitch in every column of the round. A round that does not repeat three times, or is
    short, is shown whole.
    """
    count = chart.stitch_count
    code = chart.stitches[round_].astype(np.int64)
    for c in chart.catches:
        code[c.stitch] += 1000 * (c.yarn + 1) * (c.round == round_)
    for unit in range(1, count // 3 + 1):
        if np.array_equal(code[unit:], code[:-unit]):
            shown = unit * math.ceil(_TELLING / unit)
            return (unit, shown) if 2 * shown <= count else (count, count)
    return count, count


@dataclass(frozen=True, slots=True)
class Strip:
    """A stretch of one round on the sheet: stitches `first` to before `past`, from `left`, at `top`.

    `order` are the round's yarns from the lowest lane to the highest; `stitch` the size in mm.
    `numbers` are those of the chart's columns, for the knitter; None counts them from 1.
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
    numbers: tuple[int, ...] | None = None

    def number(self, stitch: int) -> int:
        """What the knitter calls a stitch."""
        return stitch + 1 if self.numbers is None else self.numbers[stitch]

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
