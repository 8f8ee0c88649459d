"""The socks as pictures: both legs from the front, as they are worn, and one sock from the side."""

from __future__ import annotations

from collections.abc import Mapping

from pic2chart.garment.design import Design
from pic2chart.garment.kinds.sock.plan import SockPlan
from pic2chart.garment.outline import Layer, Polygon, View, fabric, front_columns, rib_layer
from pic2chart.model.chart import Chart

_DRAWN_IN = 0.92


def sock_views(design: Design, plan: SockPlan, charts: Mapping[str, Chart]) -> list[View]:
    """The legs from the front, left and right as they are worn, and the right sock from its side."""
    fronts = [_front(design, plan, charts, side) for side in ("right", "left")]
    return [*fronts, _side(design, plan, charts["right-leg"])]


def _leg(plan: SockPlan, chart: Chart, columns: list[int]) -> tuple[Layer, Layer]:
    """The leg with its cuff above it, its foot at nought: the chart stands on its head."""
    h = chart.gauge.round_height
    width = len(columns) * chart.gauge.stitch_width * _DRAWN_IN
    high = plan.leg * h
    leg = fabric(chart, columns).turned(180, (0.0, 0.0), (0.0, high))
    colour = chart.yarns[chart.construction.plain_parts[0].yarn].colour  # type: ignore[index]
    return leg, rib_layer(width, high, high + plan.cuff * h, colour)


def _front(design: Design, plan: SockPlan, charts: Mapping[str, Chart], side: str) -> View:
    chart = charts[f"{side}-leg"]
    h = design.gauge.round_height
    facts = (f"{plan.counts.chosen.cm:.1f} cm round", f"leg {plan.leg * h:.1f} cm")
    return View(f"{side.capitalize()}, front", _leg(plan, chart, front_columns(chart)), facts)


def _side(design: Design, plan: SockPlan, chart: Chart) -> View:
    """The side of the leg, with heel and foot in one yarn."""
    w, h = design.gauge.stitch_width, design.gauge.round_height
    half = plan.heel
    columns = list(range(half)) if chart.hand == "right" else list(range(half, 2 * half))
    leg, cuff = _leg(plan, chart, columns)
    wide, deep = half * w, plan.flap * h * 0.55
    foot = (plan.foot + 2 * plan.narrowings + len(plan.toe)) * h
    back, front = -wide / 2, wide / 2
    under = -deep - 0.35 * wide
    tip = front + foot - 0.6 * wide
    shape: Polygon = (
        *(
            (back, 0.0),
            (back, -deep),
            (back + 0.12 * wide, under),
            (back + 0.4 * wide, -0.3 * wide - deep),
        ),
        *((tip - 0.3 * wide, -0.3 * wide - deep), (tip, -deep - 0.05 * wide)),
        *((tip, -deep + 0.3 * wide), (tip - 0.3 * wide, 0.55 * wide - deep), (front, 0.0)),
    )
    foot_layer = Layer(outline=shape, plain=((shape, design.ground_yarn.colour),))
    facts = (
        f"foot {plan.body.length - 1:.1f} cm from heel to toe",
        "the foot is drawn as it is worn, not to its stitches",
    )
    return View("Right, from the side", (foot_layer, leg, cuff), facts)
