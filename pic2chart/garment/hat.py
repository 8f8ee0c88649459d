"""A hat: ribbed brim, body, and a crown of wedges.

A flat disc loses 2π stitch widths' worth of round height each round: 2π × the height of a stitch
over its width (5.8 at 1.08 rounds a stitch, 4.65 at 1.35). A stranded crown therefore wants about 6
wedges decreased every round, or 8 in three rounds of four; 6 to 8 wedges are usual, and the last 5 to
8 stitches are drawn together (common practice). The wedges are begun by a spine stitch; decreases lean
away from it, on its left and on its right in turn, so that the wedges stay straight.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart.plain_parts import PlainPart
from pic2chart.errors import SettingError
from pic2chart.garment.around import (
    all_round,
    closing_counts,
    once,
    repeat_width,
    too_small,
    tube,
)
from pic2chart.garment.cloth import Cloth
from pic2chart.garment.common import measures
from pic2chart.garment.counts import Counts, rounds_for
from pic2chart.garment.flat_view import disc_view, tube_view
from pic2chart.garment.hat_words import hat_pattern
from pic2chart.garment.options import HatOptions
from pic2chart.garment.outline import outline_sheet
from pic2chart.garment.piece import Garment, Making
from pic2chart.garment.read_design import read_design
from pic2chart.garment.shape import Part, Shape, Sides, taper
from pic2chart.garment.sizes import HEADS, Body, body_of
from pic2chart.gauge import Gauge
from pic2chart.settings import Settings
from pic2chart.solving import Progress, silent

WEDGES = (6, 7, 8)


@dataclass(frozen=True, slots=True)
class HatPlan:
    """Counts of one hat. `sides`: the decreases of every crown round, alike in all wedges."""

    body: Body
    counts: Counts
    brim: int
    rounds: int
    wedges: int
    sides: tuple[Sides, ...]
    rate: float

    @property
    def stitches(self) -> int:
        return self.counts.stitches

    @property
    def wedge(self) -> int:
        """Stitches of one wedge."""
        return self.stitches // self.wedges

    def shape(self) -> Shape:
        """Body and crown."""
        parts = [Part(self.wedge, right=1)] * self.wedges
        return tube(self.rounds, self.stitches).followed_by(taper(parts, self.sides))


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


def make_hat(
    path: Path, settings: Settings, options: HatOptions, progress: Progress | None = None
) -> Garment:
    """A hat with the motif once at the front or side by side all round.

    Raises SettingError, naming the nearest that works, when the motif or the depth does not fit.
    """
    gauge = Gauge.parse(settings.gauge)
    body = body_of(HEADS, options.size, options.girth, options.depth, options.for_child)
    depth = rounds_for(body.length, gauge)
    design = read_design(path, settings, (120, depth))
    making = Making.of(design, options, "hat", body.child, progress or silent)
    cm = body.girth * (1 + options.ease / 100)
    unit = None
    if options.repeat:
        about = round(cm / gauge.stitch_width)
        rate = crown_rate(gauge)
        crown = round(about / rate)
        room = max(6, depth - rounds_for(options.brim, gauge) - crown - 1)
        unit = repeat_width(
            design, options.across, room, about, lambda n: wedges_for(n, rate) is not None
        )
    plan = plan_hat(making, options, body, cm, depth, unit)
    cloth, shape, remarks = _drawn(making, options, plan, unit)
    solved = making.solve(cloth)
    fit = _fit(plan, gauge)
    title, n = f"{design.name}: hat", plan.stitches
    piece = making.piece(
        "hat", title, solved.stitches, shape, fit=fit, solved=solved,
        plain=[PlainPart("brim", design.ground, n * plan.brim, edge=n)],
    )  # fmt: skip
    pattern = hat_pattern(design, plan, options, shape, piece)
    piece = piece.told(pattern.sections)
    colour = design.yarns[design.ground].colour
    views = [
        tube_view(
            piece.chart, "Front, laid flat", colour, plan.brim * gauge.round_height,
            more=("the crown is drawn spread out",),
        ),
        disc_view(piece.chart, plan.rounds, plan.wedges, "Crown from above", colour),
    ]  # fmt: skip
    return Garment(
        "hat",
        design.name,
        (piece,),
        pattern,
        outline_sheet(title, views),
        fit,
        (*design.remarks, *remarks),
    )


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
    sides = crown_sides(counts.stitches // wedges, wedges, rate)
    brim = rounds_for(options.brim, gauge)
    rounds = depth - brim - len(sides)
    if rounds < 6:
        least = (brim + len(sides) + 6) * gauge.round_height
        raise SettingError(
            f"A hat {body.length:g} cm deep has no room for a body between its brim of {options.brim:g} "
            f"cm and its crown of {len(sides)} rounds; make it {least:.1f} cm deep or the brim lower."
        )
    return HatPlan(body, counts, brim, rounds, wedges, sides, rate)


def _drawn(
    making: Making, options: HatOptions, plan: HatPlan, unit: int | None
) -> tuple[Cloth, Shape, tuple[str, ...]]:
    """Filler or repeats on the body, the motif at the front, wedges with their spines above; and what
    the knitter should know of the motif.
    """
    shape = plan.shape()
    remarks: tuple[str, ...] = ()
    cloth = Cloth(making.design, shape)
    cloth.fill(shape.live, np.arange(plan.stitches))
    cloth.fixed[plan.rounds :] = np.tile(_crown_wedge(making, plan), (1, plan.wedges))
    if unit is not None:
        one = _body_repeat(making, unit, plan.rounds)
        cloth.fixed[: len(one)] = np.tile(one, (1, plan.stitches // unit))
    else:
        motif = once(making.design, options.across, plan.stitches // 2, plan.rounds - 2, "this hat")
        across, up = motif.size
        cloth.paste(motif, (plan.rounds - up + 1) // 2, (plan.stitches - across) // 2)
        remarks = too_small(making.design, motif)
    return cloth, shape, remarks


def _body_repeat(making: Making, unit: int, rounds: int) -> NDArray[np.uint8]:
    """The body's repeat, whole motifs one above another as often as they fit."""
    design = making.design
    high = design.rounds_at(unit)
    if high > rounds:
        raise SettingError(
            f"The motif has {high} rounds and the body of this hat {rounds}; choose a lower motif, a "
            "lower brim or a deeper hat."
        )
    return all_round(making, unit, rounds)


def _crown_wedge(making: Making, plan: HatPlan) -> NDArray[np.uint8]:
    """One wedge of the crown solved on its own circle, its filler centred, its spine in the figure's yarn.

    Wedges set side by side keep every rule, since a float across their ends is as long as on the circle.
    """
    shape = taper([Part(plan.wedge, right=1)], plan.sides)
    cloth = Cloth(making.design, shape)
    cloth.fill(shape.live, np.arange(plan.wedge) - (plan.wedge + 1) // 2)
    spine = np.zeros(shape.live.shape, bool)
    spine[np.arange(shape.rounds), shape.live.argmax(axis=1)] = True
    cloth.clear_beside(spine)
    cloth.line(spine, making.design.figure)
    return making.solve(cloth).stitches


def _fit(plan: HatPlan, gauge: Gauge) -> dict[str, object]:
    return {
        "body": measures(plan.body),
        "around": plan.counts.to_dict(),
        "brim_rounds": plan.brim,
        "body_rounds": plan.rounds,
        "crown_rounds": len(plan.sides),
        "wedges": plan.wedges,
        "crown_rate": round(plan.rate, 2),
        "depth_cm": round((plan.brim + plan.rounds + len(plan.sides)) * gauge.round_height, 1),
    }
