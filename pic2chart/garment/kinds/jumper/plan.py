"""The counts of a jumper with dropped shoulders, and the shape of its body.

Common practice: the body is a tube to the shoulders, with a steek at either side from the armholes up;
front and back are alike, with a straight neck over the middle; the shoulders are bound off together;
the sleeves are as wide above as the armholes are high twice. From memory: armholes of seven tenths of
the upper arm, a neck of 0.42 of the body's width and at most 24 cm, a shoulder that drops half of what
the body is wider than the shoulders, so that the sleeve is shorter by a tenth of the body's width.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.garment.chests import Wearer
from pic2chart.garment.kinds.jumper import JumperOptions
from pic2chart.garment.shape import Counts, Shape, rounds_for
from pic2chart.garment.sleeve import RIB_CM, Sleeve, plan_sleeve
from pic2chart.garment.steek import STEEKS
from pic2chart.model.construction import CAST_ON, PlainPart, Shaping
from pic2chart.model.gauge import Gauge

ARMHOLE, NECK, NECK_CM = 0.70, 0.42, 24.0
STRETCH = 1.6
"""How far a ribbed neck stretches over its measure (from memory)."""
_BODY = (0.40, 38.0)
_DROP = 0.1
_RIB_NECK_CM = 2.5
_LEAST_SHOULDER = 0.15
"""Fewest stitches of a shoulder over those of the front."""
FACING = 5
"""Rounds of a sleeve's facing, which covers the cut edge."""


@dataclass(frozen=True, slots=True)
class JumperPlan:
    """All counts. `rib`: rounds below the chart; `low`: rounds of the chart below the armholes, `high`
    above; `neck`: stitches of the front's neck, and of the back's; `neck_rib`: its rounds.
    """

    wearer: Wearer
    head: float
    counts: Counts
    rib: int
    low: int
    high: int
    steek: int
    neck: int
    neck_rib: int
    sleeve: Sleeve

    @property
    def around(self) -> int:
        return self.counts.stitches

    @property
    def half(self) -> int:
        """Stitches of the front, and of the back."""
        return self.around // 2

    @property
    def shoulder(self) -> int:
        """Stitches of each shoulder."""
        return (self.half - self.neck) // 2

    @property
    def rounds(self) -> int:
        return self.low + self.high

    @property
    def width(self) -> int:
        """Squares across: front, steek, back, steek."""
        return self.around + 2 * self.steek

    def body_columns(self) -> list[int]:
        """The squares that hold the body's stitches, in knitting order."""
        half = self.half
        return [*range(half), *range(half + self.steek, 2 * half + self.steek)]

    def shape(self) -> Shape:
        """The steeks' stitches are cast on in the first round above the armholes."""
        live = np.zeros((self.rounds, self.width), bool)
        live[:, self.body_columns()] = True
        live[self.low :] = True
        cast = (self.half, self.width - self.steek)
        return Shape(live, tuple(Shaping(self.low, at, CAST_ON, self.steek) for at in cast))


def armhole_rounds(wearer: Wearer, gauge: Gauge) -> int:
    """Rounds from the armhole to the shoulder."""
    return rounds_for(ARMHOLE * wearer.upper_arm, gauge, 8)


def low_rounds(options: JumperOptions, wearer: Wearer, gauge: Gauge) -> tuple[int, int]:
    """Rounds of the body's ribbing, and of the chart up to the armholes."""
    long = options.body_length or min(_BODY[0] * wearer.chest, _BODY[1])
    rib = rounds_for(min(RIB_CM, long / 3), gauge)
    return rib, max(4, rounds_for(long, gauge) - rib)


def plan_jumper(
    options: JumperOptions, wearer: Wearer, counts: Counts, low: int, gauge: Gauge
) -> JumperPlan:
    """All counts round a body of so many stitches. `low`: rounds of the chart below the armholes.

    Raises SettingError when the neck cannot go over the head, or a sleeve is too short to grow.
    """
    w, h = gauge.stitch_width, gauge.round_height
    head = options.head or wearer.head
    half = counts.stitches // 2
    neck = _neck(half, head, w)
    high = armhole_rounds(wearer, gauge)
    rib, _ = low_rounds(options, wearer, gauge)
    arm = options.sleeve_length or max(8.0, wearer.sleeve - _DROP * half * w)
    sleeve = plan_sleeve(
        arm, min(rib, rounds_for(arm / 3, gauge)), 2 * round(high * h / w), wearer, gauge
    )
    neck_rib = rounds_for(min(_RIB_NECK_CM, 0.17 * high * h), gauge, 2)
    steek = STEEKS[options.steek]
    return JumperPlan(wearer, head, counts, rib, low, high, steek, neck, neck_rib, sleeve)


def _neck(half: int, head: float, w: float) -> int:
    """Stitches of one face's neck, alike to the face's in being even or odd."""
    usual = min(NECK * half * w, NECK_CM)
    neck = round(max(usual, head / STRETCH / 2) / w)
    neck += (half - neck) % 2
    while 2 * neck * w * STRETCH < head:
        neck += 2
    if half - neck < 2 * _LEAST_SHOULDER * half:
        raise SettingError(
            message(
                "neck-leaves-no-shoulders",
                neck=neck,
                half=half,
                head=head,
                least=neck / (1 - 2 * _LEAST_SHOULDER) * 2 * w,
                options=("chest",),
            )
        )
    return neck


def plain_parts(plan: JumperPlan, ground: int) -> list[PlainPart]:
    """All that the chart does not show, to the last stitch."""
    n, arm = plan.around, plan.sleeve
    facing = arm.top * (FACING + 1)
    return [
        PlainPart("hem", ground, n * plan.rib, edge=n),
        PlainPart("last round", ground, n, edge=2 * plan.steek + 4 * plan.shoulder),
        PlainPart("neck", ground, 2 * plan.neck * plan.neck_rib, edge=2 * plan.neck, ends=2),
        PlainPart(
            "sleeves", ground, 2 * (arm.stitches + facing), edge=2 * (arm.wrist + arm.top), ends=4
        ),
    ]
