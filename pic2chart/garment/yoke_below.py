"""What a jumper has below and above its yoke: body, sleeves and neck, in one yarn, to the last round.

From memory, all of it: a body of two fifths of the chest up to 38 cm and sleeves of 0.47 of it up to
45 cm below the yoke, where the knitter does not say; ribbing of 5 cm, of 3 cm at the neck; the last
5 cm of a sleeve without increases.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from pic2chart.chart.plain_parts import PlainPart
from pic2chart.errors import SettingError
from pic2chart.garment.counts import rounds_for
from pic2chart.garment.options import YokeOptions
from pic2chart.garment.yoke_plan import WRIST, YokePlan
from pic2chart.gauge import Gauge

RIB_CM, NECK_CM, EVEN_CM = 5.0, 3.0, 5.0
_BODY, _SLEEVE = (0.40, 38.0), (0.47, 45.0)
"""Shares of the chest, and the most in cm."""


@dataclass(frozen=True, slots=True)
class Below:
    """Rounds of the body's and the sleeves' ribbing, and of each above it; the neck's ribbing.

    `wrist`: stitches cast on for a sleeve. `steps`: (rounds apart, times) of its increase rounds, two
    stitches each, from the ribbing up.
    """

    rib: int
    body: int
    sleeve: int
    neck: int
    wrist: int
    steps: tuple[tuple[int, int], ...]

    def sleeve_counts(self) -> list[int]:
        """Stitches of every round of a sleeve above its ribbing."""
        counts, now = [], self.wrist
        for apart, times in self.steps:
            for _ in range(times):
                counts += [now] * (apart - 1) + [now + 2]
                now += 2
        return counts + [now] * (self.sleeve - len(counts))


def plan_below(plan: YokePlan, options: YokeOptions, gauge: Gauge) -> Below:
    """Rounds and counts below the yoke. Raises SettingError when a sleeve is too short to grow."""
    long, arm = lengths(options)
    rib = rounds_for(min(RIB_CM, long / 3, arm / 3), gauge)
    wrist = round(WRIST * plan.body)
    wrist -= (wrist - plan.sleeve) % 2
    sleeve = max(1, rounds_for(arm, gauge) - rib)
    return Below(
        rib,
        max(1, rounds_for(long, gauge) - rib),
        sleeve,
        rounds_for(NECK_CM, gauge),
        wrist,
        _steps((plan.sleeve - wrist) // 2, sleeve, gauge, arm),
    )


def lengths(options: YokeOptions) -> tuple[float, float]:
    """Length of the body and of the sleeves below the yoke, cm."""
    return (
        options.body_length or min(_BODY[0] * options.chest, _BODY[1]),
        options.sleeve_length or min(_SLEEVE[0] * options.chest, _SLEEVE[1]),
    )


def _steps(increases: int, rounds: int, gauge: Gauge, arm: float) -> tuple[tuple[int, int], ...]:
    """Increase rounds in so many rounds, the wider apart first, the last few rounds even."""
    if increases < 1:
        return ()
    even = min(rounds_for(EVEN_CM, gauge), rounds // 5)
    apart, wider = divmod(rounds - even, increases)
    if apart < 1:
        grown = (ceil(increases * 5 / 4) + 1) * gauge.round_height
        least = min(1.5 * grown, grown + RIB_CM)  # the ribbing is a third of so short a sleeve
        raise SettingError(
            f"A sleeve of {arm:g} cm has {rounds - even} rounds for {increases} increase rounds; it needs "
            f"--sleeve-length {ceil(least)} at the least."
        )
    steps = ((apart + 1, wider), (apart, increases - wider))
    return tuple(step for step in steps if step[1])


def plain_parts(plan: YokePlan, below: Below, ground: int) -> list[PlainPart]:
    """All that the chart does not show, for the yarn it takes."""
    sleeve = below.rib * below.wrist + sum(below.sleeve_counts())
    return [
        PlainPart("body", ground, plan.body * (below.rib + below.body), edge=plan.body, ends=2),
        PlainPart("sleeves", ground, 2 * sleeve, edge=2 * below.wrist, ends=4),
        PlainPart("joining round", ground, plan.bands[0]),
        PlainPart("neck", ground, plan.neck * below.neck, edge=plan.neck),
    ]
