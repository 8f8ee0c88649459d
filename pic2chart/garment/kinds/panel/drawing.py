"""A flat panel with edge stitches, or one worked in the round with a steek to cut open."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.messages import Message, message
from pic2chart.garment.around import Room, make_it, once, tube
from pic2chart.garment.build import DrawnGarment, GarmentOrder
from pic2chart.garment.design import Design, Motif
from pic2chart.garment.kinds.panel import PanelOptions
from pic2chart.garment.kinds.panel.pattern import panel_pattern
from pic2chart.garment.kinds.panel.plan import PanelPlan, plan_panel
from pic2chart.garment.legible import legible
from pic2chart.garment.outline import View, fabric
from pic2chart.garment.piece import Cloth, Making
from pic2chart.garment.shape import rounds_for, up_to_tenth
from pic2chart.model.chart import Chart
from pic2chart.model.construction import PlainPart
from pic2chart.model.folds import Place
from pic2chart.model.gauge import Gauge


def draw_panel(order: GarmentOrder[PanelOptions]) -> DrawnGarment:
    """A panel as wide as asked; the picture fills it, or stands in it once or side by side.

    Raises SettingError, naming what would do, when the motif or the panel is too large.
    """
    options, gauge = order.options, order.gauge
    across = rounds_for(options.width, Gauge(gauge.rounds, gauge.stitches, gauge.over_cm), 4)
    inner = max(4, across - 2 * options.edges)
    asked = None if options.height is None else rounds_for(options.height, gauge, 4)
    design = order.design(inner, asked)
    plan = plan_panel(design, options, inner, asked)
    making = order.making(design, options.for_child)
    motif, low, first = _placed(design, options, plan)
    cloth = _drawn(making, plan, motif, low, first)
    circular = plan.steek > 0
    solved = making.solve(cloth, circular=circular)
    fit, title = _fit(plan, gauge), order.title(design)
    piece = making.piece(
        "panel", title, _steek_follows(solved.stitches, plan), tube(plan.rounds, plan.stitches), fit=fit,
        fixed=cloth.fixed, worked="round" if circular else "flat", solved=solved,
        plain=[_edges(design, plan)], places=_places(plan),
    )  # fmt: skip
    return DrawnGarment(
        design,
        [piece],
        fit,
        lambda pieces: panel_pattern(design, title, plan, options, pieces),
        lambda charts: [_view(charts["panel"], plan, fit)],
        legible(design, plan.unit or motif.size[0]),
    )


def _steek_follows(stitches: NDArray[np.uint8], plan: PanelPlan) -> NDArray[np.uint8]:
    """The stitches, the steek in the one yarn of a round that needs no other."""
    found, inner = stitches.copy(), plan.stitches - plan.steek
    for row in found:
        if (row[:inner] == row[0]).all():
            row[inner:] = row[0]
    return found


def _places(plan: PanelPlan) -> list[Place]:
    """The steek, which stands at the end of the round."""
    return [Place(plan.stitches - plan.steek, plan.steek, "steek")] if plan.steek else []


def _fit(plan: PanelPlan, gauge: Gauge) -> dict[str, object]:
    fit: dict[str, object] = {
        "width_cm": round((plan.stitches - plan.steek) * gauge.stitch_width, 1),
        "height_cm": round(plan.rounds * gauge.round_height, 1),
        "stitches": plan.stitches,
        "edge_stitches": plan.edges,
        "steek_stitches": plan.steek,
        "rounds": plan.rounds,
    }
    if plan.counts is not None:
        fit["between_edges"] = plan.counts.to_dict()
    return fit


def _view(chart: Chart, plan: PanelPlan, fit: dict[str, object]) -> View:
    """The panel from the right side, its steek turned in."""
    shown = range(plan.stitches - plan.steek)
    if chart.hand == "left":
        shown = range(plan.steek, plan.stitches)
    facts = (f"{fit['width_cm']} × {fit['height_cm']} cm, edges still to turn in",)
    return View("Front", (fabric(chart, list(shown)),), facts)


def _edges(design: Design, plan: PanelPlan) -> PlainPart:
    """The cast-on, with a purled row where it is worked flat, and the binding off."""
    n = plan.stitches
    return PlainPart("edges", design.ground, 0 if plan.steek else n, edge=2 * n)


def _drawn(making: Making, plan: PanelPlan, motif: Motif, low: int, first: int) -> Cloth:
    design = making.design
    cloth = Cloth(design, tube(plan.rounds, plan.stitches))
    cloth.fill(cloth.live, np.arange(plan.stitches) - plan.stitches // 2)
    cloth.paste(motif, low, first)
    for side in (0, plan.edges + plan.inner):
        edge = np.zeros(cloth.live.shape, bool)
        edge[:, side : side + plan.edges] = True
        cloth.line(edge, design.ground)
    for i in range(plan.steek):
        column = np.zeros(cloth.live.shape, bool)
        column[:, plan.stitches - plan.steek + i] = True
        cloth.line(column, design.figure if i % 2 == 0 else design.ground)
    return cloth


def _placed(design: Design, options: PanelOptions, plan: PanelPlan) -> tuple[Motif, int, int]:
    """The motif and its first round and stitch: filling the panel, repeated over it, or in its middle."""
    if plan.unit:
        return design.spread(plan.unit, plan.inner, plan.rounds), 0, plan.edges
    if options.across is None and design.size is None:
        motif = design.motif(plan.inner, plan.rounds)
    else:
        motif = once(design, options.across, _middle(design, plan))
    across, up = motif.size
    return motif, (plan.rounds - up) // 2, plan.edges + (plan.inner - across) // 2


def _middle(design: Design, plan: PanelPlan) -> Room:
    """All between the edges."""
    gauge = design.gauge

    def wider(stitches: int) -> Message:
        return make_it("width", up_to_tenth((stitches + 2 * plan.edges) * gauge.stitch_width))

    def higher(rounds: int) -> Message:
        return make_it("height", up_to_tenth(rounds * gauge.round_height))

    return Room(message("this-panel"), plan.inner, plan.rounds, wider, higher)
