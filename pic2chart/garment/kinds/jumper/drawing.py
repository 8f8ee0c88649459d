"""A jumper's body: the motif once on the front or all over, steeks from the armholes up."""

from __future__ import annotations

import numpy as np

from pic2chart.core.messages import Message, message
from pic2chart.garment.around import (
    Room,
    all_round,
    closing_counts,
    make_it,
    once,
    repeat_width,
)
from pic2chart.garment.build import DrawnGarment, GarmentOrder
from pic2chart.garment.chests import wearer_of
from pic2chart.garment.design import Design
from pic2chart.garment.kind import USUAL_CHEST
from pic2chart.garment.kinds.jumper import JumperOptions
from pic2chart.garment.kinds.jumper.outline import jumper_view
from pic2chart.garment.kinds.jumper.pattern import jumper_pattern
from pic2chart.garment.kinds.jumper.plan import JumperPlan, low_rounds, plain_parts, plan_jumper
from pic2chart.garment.legible import legible
from pic2chart.garment.piece import Cloth, Making
from pic2chart.garment.shape import up_to_tenth
from pic2chart.model.gauge import Gauge

_FREE = 3
"""Stitches and rounds between a motif that stands once and the sides, the hem and the neck."""


def draw_jumper(order: GarmentOrder[JumperOptions]) -> DrawnGarment:
    """One chart for the body. Raises SettingError, naming what would do, when it cannot be made."""
    options, gauge = order.options, order.gauge
    wearer = wearer_of(options.size, options.chest, USUAL_CHEST, options.for_child)
    around = wearer.chest + options.ease_cm
    _, low = low_rounds(options, wearer, gauge)
    half = round(around / gauge.stitch_width / 2)
    design = order.design(half if not options.repeat else 120, low)
    making = order.making(design, wearer.child)
    unit = _unit(design, options, around, low) if options.repeat else None
    counts = closing_counts(design, around, unit, lambda n: n % 4 == 0, "and of 4")
    plan = plan_jumper(options, wearer, counts, low, gauge)
    shape = plan.shape()
    cloth, across = _drawn(making, options, plan, unit)
    solved = making.solve(cloth)
    fit, title = _fit(plan, options, gauge), order.title(design)
    piece = making.piece(
        "body", f"{title}, body", solved.stitches, shape, fit=fit, fixed=cloth.fixed, solved=solved,
        plain=plain_parts(plan, design.ground),
    )  # fmt: skip
    return DrawnGarment(
        design,
        [piece],
        fit,
        lambda pieces: jumper_pattern(design, title, plan, options, pieces),
        lambda charts: [jumper_view(charts["body"], plan, design.ground_yarn.colour)],
        legible(design, across),
    )


def _unit(design: Design, options: JumperOptions, around: float, rounds: int) -> int:
    """Stitches of a repeat; a picture's is at most a quarter of the body below the armholes high."""
    about = round(around / design.gauge.stitch_width)
    high = max(6, rounds // 4)
    return repeat_width(design, options.across, high, about, lambda n: n % 4 == 0)


def _drawn(
    making: Making, options: JumperOptions, plan: JumperPlan, unit: int | None
) -> tuple[Cloth, int]:
    """The body with its steeks, and how many stitches one picture has across."""
    design, columns = making.design, plan.body_columns()
    cloth = Cloth(design, plan.shape())
    cloth.fill(cloth.live, _along(plan))
    if unit is not None:
        one = all_round(making, unit, plan.rounds)
        cloth.fixed[:, columns] = np.tile(one, (1, plan.around // unit))
        two = (cloth.fixed[:, columns] != cloth.fixed[:, :1]).any(axis=1)
        across = unit
    else:
        room = _front(design, options, plan)
        motif = once(design, options.across, room)
        across, up = motif.size
        cloth.paste(motif, _FREE + (room.rounds - up) // 2, (plan.half - across) // 2)
        two = np.ones(plan.rounds, bool)
    _steeks(cloth, plan, two)
    return cloth, across


def _along(plan: JumperPlan) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    """Where each square lies in the filler's pattern: the body's go on across the steeks."""
    along = np.zeros(plan.width, np.intp)
    along[plan.body_columns()] = np.arange(plan.around)
    return along


def _steeks(
    cloth: Cloth, plan: JumperPlan, two: np.ndarray[tuple[int], np.dtype[np.bool_]]
) -> None:
    """Both yarns by turns in the rounds that carry `two`, bool [rounds]; else what is carried."""
    design = cloth.design
    for first in (plan.half, plan.width - plan.steek):
        for i in range(plan.steek):
            column = np.zeros(cloth.live.shape, bool)
            column[plan.low :, first + i] = True
            cloth.line(column & two[:, None], design.figure if i % 2 == 0 else design.ground)
            alone = column & ~two[:, None]
            cloth.fixed[alone] = np.broadcast_to(cloth.fixed[:, :1], alone.shape)[alone]


def _front(design: Design, options: JumperOptions, plan: JumperPlan) -> Room:
    """The front from the hem to below the neck, but for a margin."""
    gauge = design.gauge

    def wider(stitches: int) -> Message:
        around = 2 * (stitches + 2 * _FREE) * gauge.stitch_width
        return make_it("chest", up_to_tenth(around - options.ease_cm))

    def higher(rounds: int) -> Message:
        needed = (rounds + plan.rib + 2 * _FREE - plan.high // 2) * gauge.round_height
        return make_it("body_length", up_to_tenth(needed))

    rounds = plan.low + plan.high // 2 - 2 * _FREE
    return Room(message("front-of-jumper"), plan.half - 2 * _FREE, rounds, wider, higher)


def _fit(plan: JumperPlan, options: JumperOptions, gauge: Gauge) -> dict[str, object]:
    w, h = gauge.stitch_width, gauge.round_height
    return {
        "size": plan.wearer.name,
        "chest_cm": plan.wearer.chest,
        "ease_cm": options.ease_cm,
        "head_cm": plan.head,
        "around": plan.counts.to_dict(),
        "steek_stitches": plan.steek,
        "neck_stitches": 2 * plan.neck,
        "neck_cm": round(2 * plan.neck * w, 1),
        "shoulder_stitches": plan.shoulder,
        "armhole_cm": round(plan.high * h, 1),
        "body_length_cm": round((plan.rib + plan.rounds) * h, 1),
        "wrist_stitches": plan.sleeve.wrist,
        "sleeve_top_stitches": plan.sleeve.top,
        "sleeve_length_cm": round((plan.sleeve.rib + plan.sleeve.rounds) * h, 1),
    }
