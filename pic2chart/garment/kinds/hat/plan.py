"""The counts of a hat, and its shape.

A flat disc loses 2π stitch widths' worth of round height each round: 2π × the height of a stitch
over its width (5.8 at 1.08 rounds a stitch, 4.65 at 1.35). A stranded crown therefore wants about 6
wedges decreased every round, or 8 in three rounds of four; 6 to 8 wedges are usual, and the last 5 to
8 stitches are drawn together (common practice). The wedges are begun by a spine stitch; decreases lean
away from it, on its left and on its right in turn, so that the wedges stay straight. Or each wedge has
its spine in the middle, and a centred double decrease on it takes the stitches at its two sides.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.garment.around import closing_counts, tube
from pic2chart.garment.cuff import Cuff
from pic2chart.garment.kinds.hat import HatOptions
from pic2chart.garment.piece import Making
from pic2chart.garment.shape import (
    Counts,
    Part,
    Shape,
    Sides,
    rounds_for,
    taper,
    taper_inwards,
    up_to_tenth,
)
from pic2chart.garment.sizes import Body, in_half_cm
from pic2chart.model.gauge import Gauge

WEDGES = (6, 7, 8)
BRIM, BRIM_CM = 0.071, (2.0, 5.0)
"""Height of the brim over the head's girth (4 cm of 56, common practice), and its bounds in cm."""
_LEAST_BODY = 6
"""Fewest rounds between brim and crown."""


@dataclass(frozen=True, slots=True)
class HatPlan:
    """Counts of one hat. `sides`: the decreases of every crown round, alike in all wedges; `kinds`: those
    of a crown whose wedges have them in the middle, which goes before.
    """

    body: Body
    counts: Counts
    brim: int
    rounds: int
    wedges: int
    sides: tuple[Sides, ...]
    rate: float
    style: str = "ribbed"
    kinds: tuple[str, ...] = ()

    @property
    def crown(self) -> int:
        """Rounds of the crown."""
        return len(self.kinds or self.sides)

    @property
    def spine(self) -> int:
        """The stitch of a wedge, from 0, that the decreases lean on."""
        return self.wedge // 2 if self.kinds else 0

    @property
    def ribbing(self) -> Cuff:
        """The brim."""
        return Cuff(self.style, self.stitches, self.brim)

    @property
    def stitches(self) -> int:
        return self.counts.stitches

    @property
    def wedge(self) -> int:
        """Stitches of one wedge."""
        return self.stitches // self.wedges

    def shape(self) -> Shape:
        """Body and crown."""
        return tube(self.rounds, self.stitches).followed_by(self.crown_shape(self.wedges))

    def crown_shape(self, wedges: int) -> Shape:
        """So many wedges of the crown."""
        if self.kinds:
            return taper_inwards(self.wedge, wedges, self.kinds)
        return taper([Part(self.wedge, right=1)] * wedges, self.sides)


def brim_cm(options: HatOptions, body: Body) -> float:
    """Height of the brim, cm: as asked for, or as the size has it."""
    return options.brim or in_half_cm(BRIM * body.girth, *BRIM_CM)


def crown_rate(gauge: Gauge) -> float:
    """Stitches a flat disc loses in a round: 2π × round height over stitch width."""
    return 2 * pi * gauge.aspect


def wedges_for(stitches: int, rate: float) -> int | None:
    """The number of wedges that divides the count and suits the rate best; None when none does."""
    good = [n for n in WEDGES if stitches % n == 0 and rate <= 2 * n]
    return min(good, key=lambda n: (n < rate, abs(n - rate))) if good else None


def crown_sides(wedge: int, wedges: int, rate: float) -> tuple[Sides, ...]:
    """The decreases of each crown round, at the right and left of every wedge, until one stitch is left."""
    sides: list[Sides] = []
    left, turn, rounds = wedge, 0, 0
    while left > 1:
        rounds += 1
        due = int(rounds * rate / wedges + 0.5) - (wedge - left)
        if due >= 2 and left >= 5:
            sides.append((1, 1))
            left -= 2
        elif due >= 1:
            sides.append((1, 0) if turn % 2 == 0 else (0, 1))
            turn, left = turn + 1, left - 1
        else:
            sides.append((0, 0))
    return tuple(sides)


def crown_kinds(wedge: int, wedges: int, rate: float) -> tuple[str, ...]:
    """The centred decrease of each crown round, or none, until one stitch of every wedge is left; the
    last ones are single.
    """
    kinds: list[str] = []
    left = wedge
    while left > 1:
        due = round((len(kinds) + 1) * rate / wedges) - (wedge - left)
        kind = ""
        if left <= 3 and due >= 1:  # no round is left with a third of its stitches
            kind = "ssk" if left == 3 else "k2tog"
        elif left > 3 and due >= 2:
            kind = "centred"
        left -= {"centred": 2, "": 0}.get(kind, 1)
        kinds.append(kind)
    return tuple(kinds)


def plan_hat(
    making: Making, options: HatOptions, body: Body, cm: float, depth: int, unit: int | None
) -> HatPlan:
    """Counts that close the motif and the wedges, and a body that leaves room for the crown."""
    gauge = making.design.gauge
    rate = crown_rate(gauge)
    counts = closing_counts(
        making.design,
        cm,
        unit,
        lambda n: wedges_for(n, rate) is not None,
        "that 6, 7 or 8 wedges divide",
    )
    wedges = wedges_for(counts.stitches, rate)
    assert wedges is not None
    wedge, centred = counts.stitches // wedges, options.crown == "centred"
    sides = crown_sides(wedge, wedges, rate)
    kinds = crown_kinds(wedge, wedges, rate) if centred else ()
    crown = len(kinds or sides)
    asked = brim_cm(options, body)
    brim = rounds_for(asked, gauge)
    rounds, needed = depth - brim - crown, _least_body(making, options)
    if rounds < needed:
        least = (brim + crown + needed) * gauge.round_height
        raise SettingError(
            message(
                "hat-too-shallow",
                deep=body.length,
                needed=needed,
                brim=asked,
                crown=crown,
                least=up_to_tenth(least),
                options=("depth",),
            )
        )
    return HatPlan(body, counts, brim, rounds, wedges, sides, rate, options.brim_style, kinds)


def _least_body(making: Making, options: HatOptions) -> int:
    """Fewest rounds of a body: a chart's own, with one at each side where it stands once."""
    size = making.design.size
    around = 0 if options.repeat else 2
    return _LEAST_BODY if size is None else max(_LEAST_BODY, size[1] + around)
