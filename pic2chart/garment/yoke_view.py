"""The jumper from the front, its yoke with every stitch in place."""

from __future__ import annotations

from pic2chart.chart import Chart
from pic2chart.garment.flat_view import fabric, front_columns, rib_layer
from pic2chart.garment.outline import Layer, Polygon, View
from pic2chart.garment.yoke_plan import YokePlan

_BODY, _SLEEVE = 34.0, 38.0
"""Length of body and sleeves below the yoke as drawn, cm; the knitter makes them as long as she likes."""
_RIB = 5.0
_DROP = 1.3
"""How steeply the sleeves hang in the picture: fall over run."""


def yoke_view(chart: Chart, plan: YokePlan, colour: str) -> View:
    """Front: half of every round, as wide as it lies flat; between bands the width narrows evenly."""
    w, h = chart.gauge.stitch_width, chart.gauge.round_height
    depth = plan.rounds * h
    wide, neck = plan.bands[0] / 2 * w, plan.neck / 2 * w

    def widths(r: int, stitches: int) -> float:
        return wide + (neck - wide) * r / plan.rounds

    yoke = fabric(chart, front_columns(chart), widths=widths)
    half, sleeve = plan.body / 4 * w, plan.sleeve / 2 * w
    body: Polygon = ((-half, -_BODY), (half, -_BODY), (half, 0), (-half, 0))
    layers = [
        *(_sleeve(side, half, wide / 2, sleeve, colour) for side in (-1.0, 1.0)),
        Layer(outline=body, plain=((body, colour),)),
        rib_layer(2 * half * 0.96, -_BODY - _RIB, -_BODY, colour),
        yoke,
        rib_layer(neck * 0.94, depth, depth + 3.0, colour),
    ]
    facts = (
        f"{plan.body * w:.1f} cm round the chest",
        f"yoke {depth:.1f} cm deep, {plan.bands[0]} sts to {plan.neck} sts at the neck",
        "body and sleeves as long as you like",
    )
    return View("Front", tuple(layers), facts)


def _sleeve(side: float, inner: float, outer: float, width: float, colour: str) -> Layer:
    """A sleeve from the yoke's corner, hanging outwards."""
    long = (1 + _DROP**2) ** 0.5
    along, across = (1 / long, -_DROP / long), (-_DROP / long, -1 / long)
    cuff = 0.6 * width
    under = max(0.0, 0.9 * width * long - (outer - inner) * _DROP)
    end = (outer + _SLEEVE * along[0], _SLEEVE * along[1])
    corners = (
        (inner, 0.0),
        (inner, -under),
        (end[0] + cuff * across[0], end[1] + cuff * across[1]),
        end,
        (outer, 0.0),
    )
    polygon: Polygon = tuple((side * x, y) for x, y in corners)
    return Layer(outline=polygon, plain=((polygon, colour),))
