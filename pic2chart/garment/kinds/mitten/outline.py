"""The mittens as pictures: each back with its thumb beside it, each palm with the thumb upon it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from pic2chart.garment.design import Design
from pic2chart.garment.kinds.mitten.plan import MittenPlan
from pic2chart.garment.outline import Layer, View, fabric, rib_layer
from pic2chart.model.chart import Chart
from pic2chart.sheets.marks.page import Point

_LEAN = 30.0
"""How far the thumb stands away from the hand, degrees."""
_DRAWN_IN = 0.88
"""Width of the ribbed cuff against the hand's."""


def mitten_views(design: Design, plan: MittenPlan, charts: Mapping[str, Chart]) -> list[View]:
    """Left and right backs as they lie on a table, and the palms as they lie when turned over."""
    if not plan.thumbed:
        return [_bare(design, plan, charts, side) for side in ("left", "right")]
    return [
        _back(design, plan, charts, "left"),
        _back(design, plan, charts, "right"),
        _palm(design, plan, charts, "left"),
        _palm(design, plan, charts, "right"),
    ]


def _half(plan: MittenPlan, chart: Chart, side: str, part: str) -> Chart:
    """The back or the palm alone, without a gusset, for either hand and either knitter."""
    back = list(range(plan.half))
    turned = (side == "left") != (chart.hand == "left")
    rows = []
    for r, row in enumerate(chart.stitches):
        columns = back if part == "back" else plan.palm_columns(r)
        if turned:
            columns = sorted(plan.width - 1 - c for c in columns)
        rows.append(row[columns])
    return chart.with_(stitches=np.array(rows), catches=(), fixed=None)


def _bare(design: Design, plan: MittenPlan, charts: Mapping[str, Chart], side: str) -> View:
    """The back of a mitten without a thumb."""
    hand = fabric(_half(plan, charts[f"{side}-hand"], side, "back"), range(plan.half))
    high = plan.rounds * design.gauge.round_height
    facts = (f"{plan.counts.chosen.cm:.1f} cm round", f"{high:.1f} cm above the cuff")
    return View(f"{side.capitalize()}, back of the hand", (_cuff(design, plan), hand), facts)


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
    hand = fabric(_half(plan, chart, side, "back"), range(plan.half))
    layer = fabric(thumb, _thumb_half(thumb, front=False))
    width = plan.half * gauge.stitch_width
    inside = thumb.live[0].sum() / 2 * gauge.stitch_width / 2
    pivot: Point = (0.0, 0.0)
    place = (away * (width / 2 - 0.96 * inside), plan.opening * gauge.round_height)
    turned = layer.turned(-away * _LEAN, pivot, place)
    facts = (
        f"{plan.counts.chosen.cm:.1f} cm round, {plan.counts.chosen.cm / 2:.1f} cm flat",
        f"{plan.rounds * gauge.round_height:.1f} cm above the cuff",
        f"thumb {thumb.round_count * gauge.round_height:.1f} cm",
    )
    caption = f"{side.capitalize()}, back of the hand"
    return View(caption, (turned, _cuff(design, plan), hand), facts)


def _palm(design: Design, plan: MittenPlan, charts: Mapping[str, Chart], side: str) -> View:
    """A palm; a gusset lies folded to the side and is not drawn, its thumb is."""
    gauge, chart, thumb = design.gauge, charts[f"{side}-hand"], charts[f"{side}-thumb"]
    hand = fabric(_half(plan, chart, side, "palm"), range(plan.half))
    w, h = gauge.stitch_width, gauge.round_height
    at = plan.slit_place + (plan.slit / 2 if plan.slit else 0.5)
    middle = -_thumb_side(side) * (plan.half / 2 - at) * w
    front = fabric(thumb, _thumb_half(thumb, front=True), (middle, plan.opening * h))
    cuff = _cuff(design, plan)
    facts = (f"{'gusset' if plan.gusset else 'slit'} {plan.opening * h:.1f} cm above the cuff",)
    return View(f"{side.capitalize()}, palm", (cuff, hand, front), facts)
