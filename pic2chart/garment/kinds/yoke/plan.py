"""The counts of a jumper with a round yoke: yoke, body, sleeves and neck, to the last round.

Published (Zimmermann, *Knitting Without Tears* and *Knitting Around*, seen second-hand): K stitches
round the body; sleeves of a third of K above, underarms of 8% of K on body and sleeves; of the yoke's
stitches a quarter is decreased at half its depth, a third at three quarters, and two fifths at the
neck, which leaves 40% of K.

No share of the chest is the same at every size. The depth follows published listings of graded yokes
(22 to 30% of small chests, 17 to 21% near 140 cm; the back 2.5 to 3.5 cm deeper than the front), the
neck is capped between the neck base of ANSUR II's men (43.5 cm at a chest of 105.9) and such
listings' (64 at 188; the line between is worked out).

From memory: a body of two fifths of the chest up to 38 cm below the yoke, where the knitter does not
say; ribbing of 5 cm, of 3 cm at the neck, less where it is short.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.garment.chests import Wearer
from pic2chart.garment.kinds.yoke import YokeOptions
from pic2chart.garment.kinds.yoke.short_rows import ShortRows
from pic2chart.garment.shape import Counts, Shape, decreases, nearest_counts, rounds_for
from pic2chart.garment.sizes import Points, along
from pic2chart.garment.sleeve import RIB_CM, Sleeve, plan_sleeve
from pic2chart.model.construction import PlainPart, Shaping
from pic2chart.model.gauge import Gauge

SLEEVE, UNDERARM = 0.33, 0.08
DEPTH: Points = (
    *(
        (30, 9.0),
        (40, 12.0),
        (60, 16.4),
        (86, 22.4),
        (107.5, 24.5),
        (121.5, 25.75),
        (143, 26.5),
        (190, 28.0),
    ),
)
"""Round the body and depth of the yoke at the back, cm."""
RISE = 0.12
"""What the back is deeper than the front, over its depth."""
NECK_MOST: Points = ((40, 16.0), (100, 40.0), (128, 44.2), (150, 47.5), (190, 53.0))
"""Round the body and the widest neck before its ribbing, cm."""
KEPT = (0.75, 2 / 3, 0.6)
"""Shares of the stitches that stay at half depth, three quarters and the neck."""
NECK_LEAST = 0.33
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
            message("sleeves-out-of-proportion", unit=unit, sleeve=sleeve, body=body)
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
        raise SettingError(message("no-multiple-for-yoke", unit=unit, least=least, most=most))
    return min(good, key=lambda n: (abs(n - aim), n))


def _neck(body: int, third: int, head: float, w: float) -> int:
    """Neck stitches: two fifths fewer than the third band, but enough to pull over the head."""
    usual = min(max(KEPT[2] * third, NECK_LEAST * body), along(NECK_MOST, body * w) / w)
    wanted = max(usual, head / STRETCH / w)
    neck = 4 * int(wanted / 4)
    while neck * w * STRETCH < head:
        neck += 4
    if neck >= third:
        least = head / STRETCH / (third * w) * body * w
        raise SettingError(
            message(
                "neck-too-narrow",
                neck=neck,
                cm=neck * w,
                stretched=neck * w * STRETCH,
                head=head,
                stitches=third,
                least=least,
            )
        )
    return max(neck, 4 * -(-third // 8))


NECK_CM = 3.0
_NECK_RIB = 0.13
"""Height of the neck's ribbing over the yoke's depth, at the most."""
_BODY = (0.40, 38.0)
"""Share of the chest, and the most in cm."""


@dataclass(frozen=True, slots=True)
class Below:
    """Rounds of the body's ribbing, of the body above it, and of the neck's ribbing; a sleeve."""

    rib: int
    body: int
    neck: int
    arm: Sleeve


def plan_below(plan: YokePlan, options: YokeOptions, wearer: Wearer, gauge: Gauge) -> Below:
    """Rounds and counts below the yoke. Raises SettingError when a sleeve is too short to grow."""
    long, arm = lengths(options, wearer)
    rib = rounds_for(min(RIB_CM, long / 3, arm / 3), gauge)
    return Below(
        rib,
        max(1, rounds_for(long, gauge) - rib),
        rounds_for(min(NECK_CM, _NECK_RIB * plan.rounds * gauge.round_height), gauge, 2),
        plan_sleeve(arm, rib, plan.sleeve, wearer, gauge),
    )


def lengths(options: YokeOptions, wearer: Wearer) -> tuple[float, float]:
    """Length of the body and of the sleeves below the yoke, cm."""
    return (
        options.body_length or min(_BODY[0] * wearer.chest, _BODY[1]),
        options.sleeve_length or wearer.sleeve,
    )


def plain_parts(plan: YokePlan, below: Below, short: ShortRows, ground: int) -> list[PlainPart]:
    """All that the charts do not show, for the yarn it takes."""
    return [
        PlainPart("body", ground, plan.body * (below.rib + below.body), edge=plan.body, ends=2),
        PlainPart("sleeves", ground, 2 * below.arm.stitches, edge=2 * below.arm.wrist, ends=4),
        PlainPart("joining round", ground, plan.bands[0]),
        PlainPart("to the shoulder", ground, short.before),
        PlainPart("neck", ground, plan.neck * below.neck, edge=plan.neck),
    ]
