"""The counts of a sock worked from the cuff down: heel flap, turned heel, gusset, foot, toe.

Common practice, all of it: the flap takes half the stitches and has as many rows, slipped at every edge
and in every second stitch; the heel is turned from two stitches past its middle on, each row joining
the two stitches at its gap; one stitch is picked up for every second row of the flap, and one more to
close the corner; the gusset loses two stitches in every second round; the foot is one centimetre
shorter than the foot it covers; the toe loses four in every second round to half its stitches, then in
every round, down to 8 to 12.

A stranded leg hardly stretches: it must go over the heel, which is 1.27 times the foot's length round
(ANSUR II: 31.0 to 24.6 cm of women, 34.4 to 27.1 of men).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.garment.cuff import Cuff
from pic2chart.garment.design import Design
from pic2chart.garment.kinds.sock import SockOptions
from pic2chart.garment.shape import (
    Counts,
    Part,
    Shape,
    Sides,
    rounds_for,
    straight,
    taper,
    up_to_tenth,
)
from pic2chart.garment.sizes import Body, in_half_cm
from pic2chart.model.construction import PlainPart
from pic2chart.model.gauge import Gauge

CUFF, CUFF_CM = 1 / 6, (1.5, 5.0)
LEG, HIGHEST = 0.5, 1.0
"""Height of the leg over the foot's length where none is asked for: as a rule, and with many bands;
higher ones would have to be shaped for the calf.
"""
HEEL = 1.27
"""Round the heel and ankle over the foot's length."""
SHORTER_CM = 1.0
_TIP = 5
"""Most stitches of each half at the tip of the toe."""


@dataclass(frozen=True, slots=True)
class TurnRow:
    """A row that turns the heel: plain stitches before its decrease, and one after it or none.

    `slipped`: whether it begins with a slipped stitch, as all but the first do.
    """

    plain: int
    after: int
    slipped: bool

    @property
    def worked(self) -> int:
        """Stitches on the needle that it makes or slips."""
        return self.slipped + self.plain + 1 + self.after


@dataclass(frozen=True, slots=True)
class SockPlan:
    """All counts of a sock. `flap`: rows of the heel flap; `turn`: the rows after it.

    `picked`: stitches picked up along either side of the flap. `foot`: rounds from the gusset to the
    toe. `toe`: the decreases of its rounds, alike on instep and sole.
    """

    body: Body
    counts: Counts
    cuff: int
    leg: int
    flap: int
    turn: tuple[TurnRow, ...]
    picked: tuple[int, int]
    foot: int
    toe: tuple[Sides, ...]
    style: str = "ribbed"

    @property
    def ribbing(self) -> Cuff:
        """The cuff."""
        return Cuff(self.style, self.around, self.cuff)

    @property
    def around(self) -> int:
        return self.counts.stitches

    @property
    def heel(self) -> int:
        """Stitches of the heel, and of the instep."""
        return self.around // 2

    @property
    def turned(self) -> int:
        """Stitches of the heel after it is turned."""
        return self.heel - len(self.turn)

    @property
    def gusset(self) -> int:
        """Stitches round after picking up."""
        return self.turned + sum(self.picked) + self.heel

    @property
    def narrowings(self) -> int:
        """Decrease rounds of the gusset."""
        return (self.gusset - self.around) // 2

    def toe_shape(self) -> Shape:
        """A round of the foot, then the toe: instep and sole side by side."""
        whole = straight(1, np.ones(2 * self.heel, bool))
        return whole.followed_by(taper([Part(self.heel, 1, 1)] * 2, self.toe))


def turn_rows(heel: int) -> tuple[TurnRow, ...]:
    """The rows that turn a heel of so many stitches, an even number."""
    rows = [TurnRow(heel // 2 + 1, 1, slipped=False), TurnRow(3, 1, slipped=True)]
    left = heel // 2 - 4
    waiting, middle = [left, left], 6
    for i in range(2, 2 * heel):
        if not any(waiting):
            break
        after = int(waiting[i % 2] > 1)
        rows.append(TurnRow(middle - 2, after, slipped=True))
        waiting[i % 2] -= 1 + after
        middle += after
    return tuple(rows)


def toe_sides(half: int) -> tuple[Sides, ...]:
    """Decreases in every second round to half the stitches, then in every round."""
    sides: list[Sides] = []
    now = half
    while now > _TIP:
        sides.append((1, 1))
        now -= 2
        if now > max(half // 2, _TIP):
            sides.append((0, 0))
    return tuple(sides)


def leg_rounds(options: SockOptions, body: Body, gauge: Gauge) -> tuple[int, int]:
    """Rounds of the patterned leg, and the most that it may grow to where its bands need them."""
    usual = rounds_for(options.leg or LEG * body.length, gauge, 4)
    return usual, usual if options.leg else max(usual, rounds_for(HIGHEST * body.length, gauge))


def plan_sock(options: SockOptions, body: Body, counts: Counts, leg: int, gauge: Gauge) -> SockPlan:
    """All counts below and above a leg of so many rounds. Raises SettingError for too short a foot."""
    heel = counts.stitches // 2
    turn = turn_rows(heel)
    toe = toe_sides(heel)
    pick = heel // 2 + 1
    odd = (heel - len(turn) + 2 * pick - heel) % 2
    picked = (pick, pick + odd)
    narrowings = (heel - len(turn) + sum(picked) - heel) // 2
    beside = (len(turn) + len(toe) + 1) * gauge.round_height + SHORTER_CM
    foot = rounds_for(body.length - beside, gauge) - 2 * narrowings
    if foot < 1:
        least = beside + (2 * narrowings + 1) * gauge.round_height
        raise SettingError(
            message(
                "foot-too-short",
                long=body.length,
                stitches=counts.stitches,
                least=up_to_tenth(least),
                options=("length",),
            )
        )
    cuff = rounds_for(options.cuff or in_half_cm(CUFF * body.length, *CUFF_CM), gauge)
    return SockPlan(body, counts, cuff, leg, heel, turn, picked, foot, toe, options.cuff_style)


def plain_parts(plan: SockPlan, design: Design) -> list[PlainPart]:
    """All that the chart does not show, to the last stitch."""
    n, heel, ground = plan.around, plan.heel, design.ground
    begun = heel // 2 + heel
    turned = sum(row.worked for row in plan.turn)
    grown = plan.gusset + plan.turned // 2
    gusset = sum(2 * (plan.gusset - 2 * i) - 2 for i in range(plan.narrowings))
    toe = heel // 2 + sum(plan.toe_shape().counts[1:])
    return [
        *plan.ribbing.parts("cuff", design),
        PlainPart("heel", ground, begun + heel * plan.flap + turned, ends=1),
        PlainPart("foot", ground, grown + gusset + n * plan.foot),
        PlainPart("toe", ground, toe, edge=plan.toe_shape().counts[-1], ends=1),
    ]
