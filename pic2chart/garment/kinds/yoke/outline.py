"""The jumper from the front, its yoke with every stitch in place."""

from __future__ import annotations

from pic2chart.garment.kinds.yoke.plan import Below, YokePlan
from pic2chart.garment.kinds.yoke.short_rows import ShortRows
from pic2chart.garment.outline import Layer, Polygon, View, fabric, front_columns, rib_layer
from pic2chart.model.chart import Chart
from pic2chart.sheets.marks.page import Point

_DROP = 1.3
"""How steeply the sleeves hang in the picture: fall over run."""


def yoke_view(chart: Chart, plan: YokePlan, below: Below, short: ShortRows, colour: str) -> View:
    """Front: half of every round, as wide as it lies flat; between bands the width narrows evenly.
    Behind its neck stands the back's, which short rows raise.
    """
    w, h = chart.gauge.stitch_width, chart.gauge.round_height
    depth = plan.rounds * h
    wide, neck = plan.bands[0] / 2 * w, plan.neck / 2 * w

    def widths(r: int, stitches: int) -> float:
        return wide + (neck - wide) * r / plan.rounds

    yoke = fabric(chart, front_columns(chart), widths=widths)
    rise = 2 * short.pairs * h
    behind: Polygon = tuple(
        (x * neck / 2, y)
        for x, y in ((-1, depth), (1, depth), (1, depth + rise), (-1, depth + rise))
    )
    half, long, rib = plan.body / 4 * w, below.body * h, below.rib * h
    body: Polygon = ((-half, -long), (half, -long), (half, 0), (-half, 0))
    layers = [
        *(_sleeve(side, (half, wide / 2), plan, below, chart, colour) for side in (-1.0, 1.0)),
        Layer(outline=body, plain=((body, colour),)),
        rib_layer(2 * half * 0.96, -long - rib, -long, colour),
        Layer(outline=behind, plain=((behind, colour),)),
        rib_layer(neck * 0.97, depth + rise, depth + rise + below.neck * h, colour),
        yoke,
        rib_layer(neck * 0.97, depth, depth + below.neck * h, colour),
    ]
    facts = (
        f"{plan.body * w:.1f} cm round the chest",
        f"yoke {depth:.1f} cm deep, {depth + rise:.1f} at the back, {plan.bands[0]} sts to {plan.neck} sts at the neck",
        f"body {long + rib:.1f} cm and sleeves {(below.arm.rounds + below.rib) * h:.1f} cm to the yoke",
    )
    return View("Front", tuple(layers), facts, narrowed=True)


def _sleeve(
    side: float,
    ends: tuple[float, float],
    plan: YokePlan,
    below: Below,
    chart: Chart,
    colour: str,
) -> Layer:
    """A sleeve from the yoke's corner, hanging outwards, with its cuff.

    `ends`: where the yoke's foot leaves the body, and its corner.
    """
    w, h = chart.gauge.stitch_width, chart.gauge.round_height
    inner, outer = ends
    long = (1 + _DROP**2) ** 0.5
    along, across = (1 / long, -_DROP / long), (-_DROP / long, -1 / long)
    wrist, arm = below.arm.wrist / 2 * w, below.arm.rounds * h
    under = max(0.0, 0.9 * plan.sleeve / 2 * w * long - (outer - inner) * _DROP)

    def at(down: float, over: float) -> Point:
        return (
            side * (outer + down * along[0] + over * across[0]),
            down * along[1] + over * across[1],
        )

    corners = (
        (side * inner, 0.0),
        (side * inner, -under),
        at(arm, wrist),
        at(arm, 0),
        (side * outer, 0.0),
    )
    end, inset = arm + below.rib * h, 0.04 * wrist
    cuff = (
        at(end, wrist - inset),
        at(end, inset),
        at(arm, inset),
        at(arm, wrist - inset),
    )
    return Layer(outline=corners, plain=((corners, colour),), ribs=((cuff, colour),))
