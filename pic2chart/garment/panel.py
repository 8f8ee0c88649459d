"""A flat panel with edge stitches, or one worked in the round with a steek to cut open.

Common practice: a steek has 5 or 7 stitches, odd when its edges are crocheted, even when they are
sewn; both yarns alternate in it, so that no float lies where it is cut; never in slippery yarn.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pic2chart.chart.plain_parts import PlainPart
from pic2chart.errors import SettingError
from pic2chart.garment.around import tube
from pic2chart.garment.cloth import Cloth
from pic2chart.garment.counts import rounds_for
from pic2chart.garment.design import Design, Motif
from pic2chart.garment.flat_view import fabric
from pic2chart.garment.options import PanelOptions
from pic2chart.garment.outline import View, outline_sheet
from pic2chart.garment.panel_words import panel_pattern
from pic2chart.garment.piece import Garment, Making
from pic2chart.garment.read_design import read_design
from pic2chart.gauge import Gauge
from pic2chart.settings import MAX_SIDE, Settings
from pic2chart.solving import Progress, silent

STEEKS = {"crochet": 7, "sewn": 6}


@dataclass(frozen=True, slots=True)
class PanelPlan:
    """Stitches of the picture between the edges, edge stitches a side, steek stitches, rounds."""

    inner: int
    edges: int
    steek: int
    rounds: int

    @property
    def stitches(self) -> int:
        return self.inner + 2 * self.edges + self.steek


def make_panel(
    path: Path, settings: Settings, options: PanelOptions, progress: Progress | None = None
) -> Garment:
    """A panel as wide as asked; the picture fills it. Raises SettingError when a chart is too wide."""
    gauge = Gauge.parse(settings.gauge)
    across = rounds_for(options.width, Gauge(gauge.rounds, gauge.stitches, gauge.over_cm), 4)
    inner = max(4, across - 2 * options.edges)
    asked = None if options.height is None else rounds_for(options.height, gauge, 4)
    design = read_design(path, settings, (inner, asked))
    plan = PanelPlan(
        inner, options.edges, STEEKS.get(options.steek or "", 0), asked or design.rounds_at(inner)
    )
    _refuse(design, plan)
    making = Making.of(design, options, "panel", options.for_child, progress or silent)
    cloth = _drawn(making, plan)
    circular = plan.steek > 0
    solved = making.solve(cloth, circular=circular)
    title = f"{design.name}: panel"
    w, h = gauge.stitch_width, gauge.round_height
    fit: dict[str, object] = {
        "width_cm": round((plan.stitches - plan.steek) * w, 1),
        "height_cm": round(plan.rounds * h, 1),
        "stitches": plan.stitches,
        "edge_stitches": plan.edges,
        "steek_stitches": plan.steek,
        "rounds": plan.rounds,
    }
    piece = making.piece(
        "panel", title, solved.stitches, tube(plan.rounds, plan.stitches), fit=fit,
        fixed=cloth.fixed, worked="round" if circular else "flat", solved=solved,
        plain=[_edges(design, plan)],
    )  # fmt: skip
    pattern = panel_pattern(design, plan, options, piece)
    piece = piece.told(pattern.sections)
    shown = range(plan.stitches - plan.steek)
    if piece.chart.hand == "left":
        shown = range(plan.steek, plan.stitches)
    facts = (f"{fit['width_cm']} × {fit['height_cm']} cm, edges still to turn in",)
    view = View("Front", (fabric(piece.chart, list(shown)),), facts)
    sheet = outline_sheet(title, [view])
    return Garment("panel", design.name, (piece,), pattern, sheet, fit, design.remarks)


def _edges(design: Design, plan: PanelPlan) -> PlainPart:
    """The cast-on, with a purled row where it is worked flat, and the binding off."""
    n = plan.stitches
    return PlainPart("edges", design.ground, 0 if plan.steek else n, edge=2 * n)


def _refuse(design: Design, plan: PanelPlan) -> None:
    if design.size is not None and (design.size[0] > plan.inner or design.size[1] > plan.rounds):
        need = (design.size[0] + 2 * plan.edges) * design.gauge.stitch_width
        raise SettingError(
            f"The motif has {design.size[0]} stitches and {design.size[1]} rounds, and this panel has "
            f"{plan.inner} and {plan.rounds} between its edges; it fits from {need:.1f} cm wide and "
            f"{design.size[1] * design.gauge.round_height:.1f} cm high on."
        )
    if plan.stitches > MAX_SIDE or plan.rounds > MAX_SIDE:
        raise SettingError(
            f"The panel would have {plan.stitches} stitches and {plan.rounds} rounds; {MAX_SIDE} are "
            "the most. Make it smaller."
        )


def _drawn(making: Making, plan: PanelPlan) -> Cloth:
    design = making.design
    cloth = Cloth(design, tube(plan.rounds, plan.stitches))
    cloth.fill(cloth.live, np.arange(plan.stitches) - plan.stitches // 2)
    cloth.paste(*_placed(design, plan))
    for side in (0, plan.edges + plan.inner):
        edge = np.zeros(cloth.live.shape, bool)
        edge[:, side : side + plan.edges] = True
        cloth.line(edge, design.ground)
    for i in range(plan.steek):
        column = np.zeros(cloth.live.shape, bool)
        column[:, plan.stitches - plan.steek + i] = True
        cloth.line(column, design.figure if i % 2 == 0 else design.ground)
    return cloth


def _placed(design: Design, plan: PanelPlan) -> tuple[Motif, int, int]:
    """The motif and its first round and stitch: filling the panel, or a chart in its middle."""
    motif = design.motif(plan.inner, plan.rounds)
    across, up = motif.size
    return motif, (plan.rounds - up) // 2, plan.edges + (plan.inner - across) // 2
