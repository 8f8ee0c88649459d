"""The mittens as pictures: each back with its thumb beside it, and a palm with the thumb upon it."""

from __future__ import annotations

from collections.abc import Mapping

from pic2chart.chart import Chart
from pic2chart.draw.page import Point
from pic2chart.garment.design import Design
from pic2chart.garment.flat_view import fabric, rib_layer
from pic2chart.garment.mitten_plan import MittenPlan
from pic2chart.garment.outline import Layer, View

_LEAN = 30.0
"""How far the thumb stands away from the hand, degrees."""
_DRAWN_IN = 0.88
"""Width of the ribbed cuff against the hand's."""


def mitten_views(design: Design, plan: MittenPlan, charts: Mapping[str, Chart]) -> list[View]:
    """Left and right backs as they lie on a table, and the right palm."""
    return [
        _back(design, plan, charts, "left"),
        _back(design, plan, charts, "right"),
        _palm(design, plan, charts),
    ]


def _columns(plan: MittenPlan, chart: Chart, side: str, part: str) -> list[int]:
    """Chart columns of the back or the palm, for either hand and either knitter."""
    back = list(range(plan.half))
    palm = list(range(plan.half, plan.width))
    chosen = back if part == "back" else palm
    if (side == "left") != (chart.hand == "left"):
        chosen = sorted(plan.width - 1 - c for c in chosen)
    return chosen


def _thumb_half(chart: Chart, front: bool) -> list[int]:
    """The thumb's front or back stitches; every thumb begins with its front."""
    middle = (chart.stitch_count + 1) // 2
    return list(range(middle)) if front else list(range(middle, chart.stitch_count))


def _cuff(design: Design, plan: MittenPlan) -> Layer:
    gauge = design.gauge
    width = plan.half * gauge.stitch_width * _DRAWN_IN
    colour = design.yarns[design.ground].colour
    return rib_layer(width, -plan.cuff * gauge.round_height, 0.0, colour)


def _thumb_side(side: str) -> float:
    """+1 when the thumb stands at the right of the back, seen from outside."""
    return -1.0 if side == "right" else 1.0


def _back(design: Design, plan: MittenPlan, charts: Mapping[str, Chart], side: str) -> View:
    gauge, chart, thumb = design.gauge, charts[f"{side}-hand"], charts[f"{side}-thumb"]
    away = _thumb_side(side)
    hand = fabric(chart, _columns(plan, chart, side, "back"))
    layer = fabric(thumb, _thumb_half(thumb, front=False))
    width = plan.half * gauge.stitch_width
    inside = thumb.live[1].sum() / 2 * gauge.stitch_width / 2
    pivot: Point = (0.0, 0.0)
    place = (away * (width / 2 - 0.88 * inside), plan.opening * gauge.round_height)
    turned = layer.turned(-away * _LEAN, pivot, place)
    facts = (
        f"{plan.counts.chosen.cm:.1f} cm round",
        f"{plan.rounds * gauge.round_height:.1f} cm above the cuff",
        f"thumb {thumb.round_count * gauge.round_height:.1f} cm",
    )
    caption = f"{side.capitalize()}, back of the hand"
    return View(caption, (turned, _cuff(design, plan), hand), facts)


def _palm(design: Design, plan: MittenPlan, charts: Mapping[str, Chart]) -> View:
    """The right palm; a gusset lies folded to the side and is not drawn, its thumb is."""
    gauge, chart, thumb = design.gauge, charts["right-hand"], charts["right-thumb"]
    columns = plan.palm_columns()
    if chart.hand == "left":
        columns = sorted(plan.width - 1 - c for c in columns)
    hand = fabric(chart, columns)
    w = gauge.stitch_width
    at = plan.slit_place + (plan.slit / 2 if plan.slit else 0.5)
    middle = (plan.half / 2 - at) * w
    front = fabric(
        thumb, _thumb_half(thumb, front=True), (middle, plan.opening * gauge.round_height)
    )
    cuff = _cuff(design, plan)
    return View("Right, palm", (cuff, hand, front), (f"{design.filler.name} on the palm",))
