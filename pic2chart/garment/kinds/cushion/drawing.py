"""A cushion cover or a bag: the motif on its front, again or the filler on its back, lines at the sides."""

from __future__ import annotations

import numpy as np

from pic2chart.core.messages import Message, message
from pic2chart.garment.around import Room, make_it, once, tube
from pic2chart.garment.build import DrawnGarment, GarmentOrder
from pic2chart.garment.design import Motif
from pic2chart.garment.kinds.cushion import CushionOptions
from pic2chart.garment.kinds.cushion.pattern import cushion_pattern
from pic2chart.garment.kinds.cushion.plan import SNUG, CushionPlan, plain_parts, plan_cushion
from pic2chart.garment.legible import legible
from pic2chart.garment.outline import View, fabric
from pic2chart.garment.piece import Cloth, Making
from pic2chart.garment.shape import up_to_tenth
from pic2chart.model.chart import Chart
from pic2chart.model.gauge import Gauge

_FREE = 2
"""Stitches and rounds between the motif and the sides or the edges."""


def draw_cushion(order: GarmentOrder[CushionOptions]) -> DrawnGarment:
    """One chart: the front first, then the back. Raises SettingError when the motif does not fit."""
    options, gauge = order.options, order.gauge
    plan = plan_cushion(options, gauge)
    room = _front(plan, options, gauge)
    design = order.design(room.stitches, room.rounds)
    making = order.making(design, options.for_child)
    motif = once(design, options.across, room)
    cloth = _drawn(making, plan, motif, on_back=options.back == "motif")
    solved = making.solve(cloth)
    fit = {
        "around": plan.counts.to_dict(),
        "width_cm": round(plan.half * gauge.stitch_width, 1),
        "height_cm": round(plan.rounds * gauge.round_height, 1),
        "hem_rounds": plan.hem,
        "strap_rows": plan.strap,
    }
    what = "bag" if plan.bag else "cushion"
    title = f"{design.name}: {what}"
    piece = making.piece(
        "cover", title, solved.stitches, tube(plan.rounds, plan.counts.stitches), fit=fit,
        fixed=cloth.fixed, solved=solved, plain=plain_parts(plan, design.ground),
    )  # fmt: skip
    return DrawnGarment(
        design,
        [piece],
        fit,
        lambda pieces: cushion_pattern(design, title, plan, options, pieces),
        lambda charts: _views(charts["cover"], plan),
        legible(design, motif.size[0]),
    )


def _front(plan: CushionPlan, options: CushionOptions, gauge: Gauge) -> Room:
    """The front but for its side's line and a margin."""
    share, spare = 1.0 if plan.bag else SNUG, 1 + 2 * _FREE

    def wider(stitches: int) -> Message:
        return make_it("width", up_to_tenth((stitches + spare) * gauge.stitch_width / share))

    def higher(rounds: int) -> Message:
        return make_it("height", up_to_tenth((rounds + spare) * gauge.round_height / share))

    return Room(message("this-cushion"), plan.half - spare, plan.rounds - 2 * _FREE, wider, higher)


def _drawn(making: Making, plan: CushionPlan, motif: Motif, *, on_back: bool) -> Cloth:
    """Filler centred on both faces, a line of the figure's yarn at each side, and the motif."""
    n, half, (across, up) = plan.counts.stitches, plan.half, motif.size
    cloth = Cloth(making.design, tube(plan.rounds, n))
    cloth.fill(cloth.live, np.arange(n) % half - half // 2)
    sides = np.zeros(cloth.live.shape, bool)
    sides[:, [0, half]] = True
    cloth.clear_beside(sides)
    low, first = (plan.rounds - up) // 2, 1 + (half - 1 - across) // 2
    for face in (0, half) if on_back else (0,):
        cloth.paste(motif, low, face + first)
    cloth.line(sides, making.design.figure)
    return cloth


def _views(chart: Chart, plan: CushionPlan) -> list[View]:
    """Front and back; a left-handed knitter's chart has them the other way round."""
    faces = [range(plan.half), range(plan.half, 2 * plan.half)]
    if chart.hand == "left":
        faces.reverse()
    w, h = chart.gauge.stitch_width, chart.gauge.round_height
    facts = (f"{plan.half * w:.1f} × {plan.rounds * h:.1f} cm",)
    return [
        View(name, (fabric(chart, list(face)),), facts)
        for name, face in zip(("Front", "Back"), faces, strict=True)
    ]
