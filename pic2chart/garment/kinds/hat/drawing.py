"""A hat: ribbed brim, body, and a crown of wedges."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import Message, message
from pic2chart.garment.around import Room, all_round, make_it, once, repeat_width
from pic2chart.garment.build import DrawnGarment, GarmentOrder
from pic2chart.garment.design import Design, Motif
from pic2chart.garment.kinds.hat import HatOptions
from pic2chart.garment.kinds.hat.pattern import hat_pattern
from pic2chart.garment.kinds.hat.plan import HatPlan, brim_cm, crown_rate, plan_hat, wedges_for
from pic2chart.garment.legible import legible
from pic2chart.garment.outline import View, disc_view, tube_view
from pic2chart.garment.piece import Cloth, Making
from pic2chart.garment.sections import measures
from pic2chart.garment.shape import Shape, rounds_for, up_to_tenth
from pic2chart.garment.sizes import HEADS, body_of
from pic2chart.model.chart import Chart
from pic2chart.model.folds import Place, Unit
from pic2chart.model.gauge import Gauge


def draw_hat(order: GarmentOrder[HatOptions]) -> DrawnGarment:
    """A hat with the motif once at the front or side by side all round.

    Raises SettingError, naming the nearest that works, when the motif or the depth does not fit.
    """
    options, gauge = order.options, order.gauge
    body = body_of(HEADS, options.size, options.girth, options.depth, options.for_child)
    depth = rounds_for(body.length, gauge)
    design = order.design(120, depth)
    making = order.making(design, body.child)
    cm = body.eased(options.ease)
    brim = rounds_for(brim_cm(options, body), gauge)
    unit = _unit(design, options, cm, depth - brim) if options.repeat else None
    plan = plan_hat(making, options, body, cm, depth, unit)
    cloth, shape, motif = _drawn(making, options, plan, unit)
    across = motif.size[0] if motif is not None else unit
    remarks = () if across is None else legible(design, across)
    solved = making.solve(cloth)
    fit, title = _fit(plan, gauge), order.title(design)
    piece = making.piece(
        "hat", title, solved.stitches, shape, fit=fit, solved=solved,
        plain=plan.ribbing.parts("brim", design),
        places=_places(plan, motif), units=_units(plan, unit),
    )  # fmt: skip
    return DrawnGarment(
        design,
        [piece],
        fit,
        lambda pieces: hat_pattern(design, title, plan, options, pieces),
        lambda charts: _views(charts["hat"], plan, design.ground_yarn.colour),
        remarks,
    )


def _unit(design: Design, options: HatOptions, cm: float, above: int) -> int:
    """Stitches of a repeat that closes together with the wedges; `above`: rounds over the brim."""
    gauge = design.gauge
    about, rate = round(cm / gauge.stitch_width), crown_rate(gauge)
    room = max(6, above - round(about / rate) - 1)
    return repeat_width(
        design, options.across, room, about, lambda n: wedges_for(n, rate) is not None
    )


def _units(plan: HatPlan, unit: int | None) -> list[Unit]:
    """The body's repeats, and the wedges of the crown."""
    crown = Unit(plan.rounds, len(plan.sides), 0, plan.wedge, plan.wedges)
    if unit is None:
        return [crown]
    return [Unit(0, plan.rounds, 0, unit, plan.stitches // unit), crown]


def _places(plan: HatPlan, motif: Motif | None) -> list[Place]:
    """Where a picture stands that runs once."""
    if motif is None:
        return []
    across = motif.size[0]
    return [Place((plan.stitches - across) // 2, across, "picture")]


def _views(chart: Chart, plan: HatPlan, colour: str) -> list[View]:
    """The hat laid flat, and its crown from above."""
    brim = plan.brim * chart.gauge.round_height
    return [
        tube_view(chart, "Front, laid flat", colour, brim, more=("the crown is drawn spread out",)),
        disc_view(chart, plan.rounds, plan.wedges, "Crown from above", colour),
    ]


def _drawn(
    making: Making, options: HatOptions, plan: HatPlan, unit: int | None
) -> tuple[Cloth, Shape, Motif | None]:
    """Filler or repeats on the body, wedges with their spines above; and the motif that runs once."""
    shape = plan.shape()
    motif = None
    cloth = Cloth(making.design, shape)
    cloth.fill(shape.live, np.arange(plan.stitches))
    cloth.fixed[plan.rounds :] = np.tile(_crown_wedge(making, plan), (1, plan.wedges))
    if unit is not None:
        one = _body_repeat(making, plan, unit)
        cloth.fixed[: len(one)] = np.tile(one, (1, plan.stitches // unit))
    else:
        motif = once(making.design, options.across, _front(making, options, plan))
        across, up = motif.size
        cloth.paste(motif, (plan.rounds - up + 1) // 2, (plan.stitches - across) // 2)
    return cloth, shape, motif


def _front(making: Making, options: HatOptions, plan: HatPlan) -> Room:
    """Half the round, and the body but for a round at each side."""
    gauge = making.design.gauge

    def wider(stitches: int) -> Message:
        girth = 2 * stitches * gauge.stitch_width / (1 + options.ease / 100)
        return make_it("girth", up_to_tenth(girth))

    def higher(rounds: int) -> Message:
        return _higher(gauge, plan, rounds + 2 - plan.rounds)

    return Room(message("front-of-hat"), plan.stitches // 2, plan.rounds - 2, wider, higher)


def _higher(gauge: Gauge, plan: HatPlan, more: int) -> Message:
    """How to make room for so many rounds more on the body."""
    h = gauge.round_height
    low, depth = (plan.brim - more) * h, plan.brim + plan.rounds + plan.crown + more
    deeper = make_it("depth", up_to_tenth(depth * h))
    if low < 1:
        return deeper
    return message("either-or", one=make_it("brim", int(10 * low) / 10), other=deeper)


def _body_repeat(making: Making, plan: HatPlan, unit: int) -> NDArray[np.uint8]:
    """The body's repeat, whole motifs one above another as often as they fit."""
    design = making.design
    high = design.rounds_at(unit)
    if high > plan.rounds:
        raise SettingError(
            message(
                "motif-too-high-for-hat",
                high=high,
                rounds=plan.rounds,
                hint=_higher(design.gauge, plan, high - plan.rounds),
            )
        )
    return all_round(making, unit, plan.rounds)


def _crown_wedge(making: Making, plan: HatPlan) -> NDArray[np.uint8]:
    """One wedge of the crown solved on its own circle, its filler centred, its spine in the figure's yarn.

    Wedges set side by side keep every rule, since a float across their ends is as long as on the circle.
    """
    shape = plan.crown_shape(1)
    cloth = Cloth(making.design, shape)
    cloth.fill(shape.live, np.arange(plan.wedge) - (plan.wedge + 1) // 2)
    spine = np.zeros(shape.live.shape, bool)
    first = plan.spine if plan.kinds else shape.live.argmax(axis=1)
    spine[np.arange(shape.rounds), first] = True
    cloth.clear_beside(spine)
    cloth.line(spine, making.design.figure)
    return making.solve(cloth).stitches


def _fit(plan: HatPlan, gauge: Gauge) -> dict[str, object]:
    return {
        "body": measures(plan.body),
        "around": plan.counts.to_dict(),
        "brim_rounds": plan.brim,
        "body_rounds": plan.rounds,
        "crown_rounds": plan.crown,
        "wedges": plan.wedges,
        "crown_rate": round(plan.rate, 2),
        "depth_cm": round((plan.brim + plan.rounds + plan.crown) * gauge.round_height, 1),
    }
