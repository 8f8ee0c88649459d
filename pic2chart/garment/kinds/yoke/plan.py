"""What a jumper has below and above its yoke: body, sleeves and neck, in one yarn, to the last round.

From memory, all of it: a body of two fifths of the chest up to 38 cm and sleeves of 0.47 of it up to
45 cm below the yoke, where the knitter does not say; ribbing of 5 cm, of 3 cm at the neck; the last
5 cm of a sleeve without increases.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.garment.kinds.yoke import YokeOptions
from pic2chart.garment.shape import Counts, Shape, nearest_counts, rounds_for, spread
from pic2chart.model.construction import PlainPart, Shaping
from pic2chart.model.gauge import Gauge

# The counts of a round yoke, by the percentage method.
#
# Published (Zimmermann, *Knitting Around*, seen second-hand): K stitches round the body; underarms of
# 8 % of K on body and sleeves; a yoke about a quarter of the body's circumference deep; a quarter of
# the stitches decreased at half its depth, a third at three quarters, and two fifths at the neck (the
# last from memory), which leaves 33 to 40 % of K at the neck. Sleeves of a third of K and wrists of a
# fifth are the method's usual shares (from memory).

SLEEVE, UNDERARM, WRIST, DEPTH = 0.33, 0.08, 0.20, 0.25
KEPT = (0.75, 2 / 3, 0.6)
"""Shares of the stitches that stay at half depth, three quarters and the neck."""
NECK = (0.33, 0.40)
STRETCH = 1.6
"""How far a ribbed neck stretches over its measure (from memory)."""


@dataclass(frozen=True, slots=True)
class YokePlan:
    """`bands`: stitches of the three bands; `neck` those left. `starts`: first round of each band;
    the decrease rounds are the first rounds of the second and third band and the last round of all.
    """

    counts: Counts
    body: int
    sleeve: int
    underarm: int
    bands: tuple[int, int, int]
    neck: int
    starts: tuple[int, int, int]
    rounds: int

    def shape(self) -> Shape:
        """Bands one above another, each in the middle of the squares; decreases between."""
        width = self.bands[0]
        live = np.zeros((self.rounds, width), bool)
        shaping: list[Shaping] = []
        spans = [*zip(self.bands, self.starts, strict=True), (self.neck, self.rounds - 1)]
        for count, start in spans:
            left = (width - count) // 2
            live[start:] = False
            live[start:, left : left + count] = True
            if start:
                before = int(live[start - 1].sum())
                shaping += [
                    Shaping(start, left + place, "k2tog") for place in decreases(before, count)
                ]
        return Shape(live, tuple(shaping))


def decreases(before: int, after: int) -> list[int]:
    """Places (from 0) in the round after of k2togs spread evenly; each comes last in its share."""
    places, at = [], 0
    for share in spread(after, before - after):
        at += share
        places.append(at - 1)
    return places


def plan_yoke(
    gauge: Gauge, around: float, depth: int, head: float, units: tuple[int, int, int]
) -> YokePlan:
    """Counts that the repeats `units` of the three bands divide.

    `around`: the body's circumference, cm; `depth`: rounds of the yoke; `head`: cm.

    Raises SettingError, naming what would do, when the neck cannot close over the head.
    """
    w = gauge.stitch_width
    body = 4 * round(around / w / 4)
    underarm = round(UNDERARM * body)
    aim = body + 2 * round(SLEEVE * body) - 4 * underarm
    unit = units[0]
    counts = nearest_counts(
        aim * w,
        gauge,
        lambda n: n % unit == 0 and n % 2 == 0,
        f"an even multiple of {unit} (the motif)",
    )
    first = counts.stitches
    sleeve = (first - body + 4 * underarm) // 2
    if not 0.25 * body <= sleeve <= 0.45 * body:
        raise SettingError(
            f"With a motif of {unit} stitches the sleeves would have {sleeve} of the body's {body} "
            "stitches; they should have about a third. Choose a narrower motif."
        )
    second = _multiple(first * KEPT[0], units[1], first)
    third = _multiple(second * KEPT[1], units[2], second)
    neck = _neck(body, third, head, w)
    return YokePlan(
        counts,
        body,
        sleeve,
        underarm,
        (first, second, third),
        neck,
        (0, depth // 2, depth * 3 // 4),
        depth,
    )


def _multiple(aim: float, unit: int, before: int) -> int:
    """The multiple of `unit` nearest to `aim` that one round of decreases can reach."""
    least, most = -(-before // 2), before - 1
    good = [n for n in range(unit, before, unit) if least <= n <= most]
    if not good:
        raise SettingError(
            f"No multiple of {unit} lies between {least} and {most} stitches, so this motif cannot go "
            "round the upper yoke; choose a narrower one."
        )
    return min(good, key=lambda n: (abs(n - aim), n))


def _neck(body: int, third: int, head: float, w: float) -> int:
    """Neck stitches: two fifths fewer than the third band, but enough to pull over the head."""
    usual = min(max(KEPT[2] * third, NECK[0] * body), NECK[1] * body)
    wanted = max(usual, head / STRETCH / w)
    neck = 4 * int(wanted / 4)
    while neck * w * STRETCH < head:
        neck += 4
    if neck >= third:
        least = head / STRETCH / (third * w) * body * w
        raise SettingError(
            f"The neck needs {neck} sts ({neck * w:.1f} cm, stretched {neck * w * STRETCH:.0f} cm) for "
            f"a head of {head:g} cm, and the yoke has only {third} there; it closes from a body of "
            f"about {least:.0f} cm on."
        )
    return max(neck, -(-third // 2))


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
