"""Where a chart folds: named parts of the round, and what stands side by side and is told once.

Everything counts from 0, as the chart does. A fold is a help for readers and never changes what is
knitted: a unit that the squares no longer keep is passed over.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pic2chart.model.chart import Chart


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """`count` squares from `stitch` on that have a name of their own ('back', 'palm', 'picture')."""

    stitch: int
    count: int
    name: str

    @property
    def past(self) -> int:
        return self.stitch + self.count

    def mirrored(self, width: int) -> Place:
        """The same in the mirror image of a chart `width` squares across."""
        return replace(self, stitch=width - self.past)


@dataclass(frozen=True, slots=True, order=True)
class Unit:
    """`rounds` rounds from `round` on that are `times` alike units of `count` squares from `stitch` on.

    Stitches, catches and shaping are the same in each, and no stitch stands beside them. `up`: how
    often those rounds stand one above another.
    """

    round: int
    rounds: int
    stitch: int
    count: int
    times: int
    up: int = 1

    @property
    def past(self) -> int:
        """The first round after all of them."""
        return self.round + self.rounds * self.up

    def mirrored(self, width: int) -> Unit:
        """The same in the mirror image of a chart `width` squares across."""
        return replace(self, stitch=width - self.stitch - self.count * self.times)


def folds_of(chart: Chart) -> tuple[Unit, ...]:
    """The chart's units that its squares keep, from the first round up, none over another.

    They are those that its construction tells; else the chart's repeat, where it goes evenly into the
    chart.
    """
    told = chart.construction.units or _of_repeat(chart)
    kept: list[Unit] = []
    for unit in sorted(told):
        if (not kept or unit.round >= kept[-1].past) and keeps(chart, unit):
            kept.append(unit)
    return tuple(kept)


def _of_repeat(chart: Chart) -> tuple[Unit, ...]:
    """The repeat as a unit, where whole repeats make up the chart."""
    if chart.repeat is None:
        return ()
    (across, up), (high, wide) = chart.repeat, chart.stitches.shape
    if wide % across or high % up:
        return ()
    return (Unit(0, up, 0, across, wide // across, high // up),)


def keeps(chart: Chart, unit: Unit) -> bool:
    """Whether a chart's squares, catches, shaping and openings repeat as a unit says."""
    high, wide = chart.stitches.shape
    end = unit.stitch + unit.count * unit.times
    inside = 0 <= unit.round < unit.past <= high and 0 <= unit.stitch < end <= wide
    if not inside or unit.times * unit.up < 2 or unit.count < 1:
        return False
    rounds = slice(unit.round, unit.past)
    beside = chart.live[rounds].copy()
    beside[:, unit.stitch : end] = False
    rows = {row.round for row in chart.rows}
    if beside.any() or any(unit.round <= r < unit.past for r in rows):
        return False
    grid = chart.stitches.astype(np.int64)
    for catch in (*chart.catches, *chart.rungs):
        if not (0 <= catch.round < high and 0 <= catch.stitch < wide):
            return False
        grid[catch.round, catch.stitch] += 1000 * (catch.yarn + 1)
    kinds = {
        kind: n for n, kind in enumerate(sorted({s.kind for s in chart.construction.marks}), 1)
    }
    for s in chart.construction.marks:
        if 0 <= s.round < high and 0 <= s.stitch < wide:
            grid[s.round, s.stitch] += 100_000 * kinds[s.kind] + 10_000_000 * s.count
    if any(unit.round <= opening.round < unit.past for opening in chart.construction.openings):
        return False
    blocks = grid[rounds, unit.stitch : end]
    blocks = blocks.reshape(unit.up, unit.rounds, unit.times, unit.count)
    return bool((blocks == blocks[:1, :, :1]).all())
