"""A pair of socks: a chart for each leg, its motif on its head, since the work begins at the cuff."""

from __future__ import annotations

from pic2chart.core.messages import message
from pic2chart.garment.around import least_jog
from pic2chart.garment.build import DrawnGarment, GarmentOrder
from pic2chart.garment.kinds.sock import SockOptions
from pic2chart.garment.kinds.sock.outline import sock_views
from pic2chart.garment.kinds.sock.pattern import sock_pattern
from pic2chart.garment.kinds.sock.plan import HEEL, SockPlan, leg_rounds, plain_parts, plan_sock
from pic2chart.garment.sections import measures
from pic2chart.garment.sizes import FEET, body_of
from pic2chart.garment.wrap import Tube, wrapped
from pic2chart.model.gauge import Gauge


def draw_sock(order: GarmentOrder[SockOptions]) -> DrawnGarment:
    """Two socks, the motif once on the shin or side by side round the leg.

    Raises SettingError, naming the nearest that works, when motif, leg or foot do not fit.
    """
    options, gauge = order.options, order.gauge
    body = body_of(FEET, options.size, options.girth, options.length, options.for_child)
    leg, highest = leg_rounds(options, body, gauge)
    design = order.design(120, leg)
    making = order.making(design, body.child)
    per_cm = 1 / (1 + options.ease / 100)
    asked = Tube(
        body.eased(options.ease), leg, message("this-leg"), ("girth", per_cm), ("leg", 1.0),
        options, downwards=True, also=4, most=highest,
    )  # fmt: skip
    drawn = wrapped(making, asked)
    plan = plan_sock(options, body, drawn.counts, len(drawn.stitches), gauge)
    stitches = {"right": drawn.stitches, "left": drawn.stitches}
    shapes = {"right": drawn.shape, "left": drawn.shape}
    if options.left_motif == "mirrored" and options.text is None:
        stitches["left"], shapes["left"] = drawn.stitches[:, ::-1], drawn.shape.mirrored()
        if drawn.unit is not None:
            stitches["left"] = least_jog(stitches["left"], drawn.unit)
    fit = _fit(plan, gauge) | drawn.facts
    pieces = [
        making.piece(
            f"{side}-leg", f"{design.name}: {side} sock, leg", stitches[side],
            shapes[side], fit=fit, repeat=drawn.repeat,
            plain=plain_parts(plan, design),
        )
        for side in ("right", "left")
    ]  # fmt: skip
    title = order.title(design)
    return DrawnGarment(
        design,
        pieces,
        fit,
        lambda pieces: sock_pattern(design, title, plan, options, drawn, pieces),
        lambda charts: sock_views(design, plan, charts),
        drawn.remarks,
    )


def _fit(plan: SockPlan, gauge: Gauge) -> dict[str, object]:
    h = gauge.round_height
    return {
        "body": measures(plan.body),
        "around": plan.counts.to_dict(),
        "over_heel_cm": round(HEEL * plan.body.length, 1),
        "cuff_rounds": plan.cuff,
        "leg_rounds": plan.leg,
        "leg_cm": round(plan.leg * h, 1),
        "flap_rows": plan.flap,
        "heel_turned_stitches": plan.turned,
        "gusset_stitches": plan.gusset,
        "foot_rounds": plan.foot,
        "toe_rounds": len(plan.toe),
    }
