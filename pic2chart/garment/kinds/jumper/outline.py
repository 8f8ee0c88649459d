"""The jumper from the front, with its sleeves spread."""

from __future__ import annotations

from pic2chart.garment.kinds.jumper.plan import JumperPlan
from pic2chart.garment.outline import Layer, Polygon, View, fabric, rib_layer
from pic2chart.model.chart import Chart
from pic2chart.sheets.marks.page import Point

_FALL = 20.0
"""How far the sleeves hang, degrees."""


def jumper_view(chart: Chart, plan: JumperPlan, colour: str) -> View:
    """The front's stitches, hem, neck and sleeves in one yarn."""
    w, h = chart.gauge.stitch_width, chart.gauge.round_height
    wide, high = plan.half * w, plan.rounds * h
    first = 0 if chart.hand == "right" else plan.half + plan.steek
    if chart.hand == "left":
        first = plan.width - plan.half
    front = fabric(chart, range(first, first + plan.half))
    neck = plan.neck * w
    layers = [
        *(_sleeve(side, (wide / 2, high), plan, chart, colour) for side in (-1.0, 1.0)),
        rib_layer(0.96 * wide, -plan.rib * h, 0.0, colour),
        front,
        rib_layer(0.97 * neck, high, high + plan.neck_rib * h, colour),
    ]
    facts = (
        f"{plan.around * w:.1f} cm round the chest",
        f"{(plan.rib + plan.rounds) * h:.1f} cm long, armholes {plan.high * h:.1f} cm",
        f"sleeves {(plan.sleeve.rib + plan.sleeve.rounds) * h:.1f} cm",
    )
    return View("Front", tuple(layers), facts)


def _sleeve(
    side: float, shoulder: tuple[float, float], plan: JumperPlan, chart: Chart, colour: str
) -> Layer:
    """A sleeve from the armhole, hanging outwards, with its cuff."""
    w, h = chart.gauge.stitch_width, chart.gauge.round_height
    arm = plan.sleeve
    top, wrist, long, cuff = arm.top / 2 * w, arm.wrist / 2 * w, arm.rounds * h, arm.rib * h
    middle = (top - wrist) / 2

    def box(*points: Point) -> Polygon:
        return tuple((side * x, y) for x, y in points)

    sleeve = box((0, 0), (long, -middle), (long, -middle - wrist), (0, -top))
    ribs = box(
        (long, -middle), (long + cuff, -middle - 0.03 * wrist),
        (long + cuff, -middle - 0.97 * wrist), (long, -middle - wrist),
    )  # fmt: skip
    layer = Layer(outline=sleeve, plain=((sleeve, colour),), ribs=((ribs, colour),))
    x, y = shoulder
    return layer.turned(-side * _FALL, (0.0, 0.0), (side * x, y))
