"""A flat panel with edge stitches, or one worked in the round with a steek to cut open.

Common practice: a steek has 5 or 7 stitches, odd when its edges are crocheted, even when they are
sewn; both yarns alternate in it, so that no float lies where it is cut; never in slippery yarn.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import Message, message
from pic2chart.core.settings import MAX_SIDE, Settings
from pic2chart.design.solution import Progress, silent
from pic2chart.garment.around import Room, closing_counts, make_it, once, repeat_width, tube
from pic2chart.garment.design import Design, Motif, read_design
from pic2chart.garment.kinds.panel.pattern import panel_pattern
from pic2chart.garment.options import PanelOptions
from pic2chart.garment.outline import View, fabric, outline_sheet
from pic2chart.garment.piece import Cloth, Garment, Making
from pic2chart.garment.shape import Counts, rounds_for, up_to_tenth
from pic2chart.model.construction import PlainPart
from pic2chart.model.gauge import Gauge

STEEKS = {"crochet": 7, "sewn": 6}


@dataclass(frozen=True, slots=True)
class PanelPlan:
    """Stitches of the picture between the edges, edge stitches a side, steek stitches, rounds.

    `unit`: stitches of one repeat, 0 when the motif stands once, and `counts` how `inner` was then
    chosen so that repeats close.
    """

    inner: int
    edges: int
    steek: int
    rounds: int
    unit: int = 0
    counts: Counts | None = None

    @property
    def stitches(self) -> int:
        return self.inner + 2 * self.edges + self.steek


def make_panel(
    path: Path, settings: Settings, options: PanelOptions, progress: Progress | None = None
) -> Garment:
    """A panel as wide as asked; the picture fills it, or stands in it once or side by side.

    Raises SettingError, naming what would do, when the motif or the panel is too large.
    """
    gauge = Gauge.parse(settings.gauge)
    across = rounds_for(options.width, Gauge(gauge.rounds, gauge.stitches, gauge.over_cm), 4)
    inner = max(4, across - 2 * options.edges)
    asked = None if options.height is None else rounds_for(options.height, gauge, 4)
    design = read_design(path, settings, (inner, asked))
    unit, counts = _closing(design, options, inner) if options.repeat else (0, None)
    inner = inner if counts is None else counts.stitches
    rounds = asked or _rounds(design, inner, unit)
    steek = STEEKS.get(options.steek or "", 0)
    plan = PanelPlan(inner, options.edges, steek, rounds, unit, counts)
    _refuse(plan)
    making = Making.of(design, options, "panel", options.for_child, progress or silent)
    cloth = _drawn(making, options, plan)
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
    if plan.counts is not None:
        fit["between_edges"] = plan.counts.to_dict()
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


def _closing(design: Design, options: PanelOptions, inner: int) -> tuple[int, Counts]:
    """Stitches of a repeat, of a picture about a third of the width, and of as many as fit closest."""
    gauge = design.gauge
    unit = repeat_width(design, options.across, round(inner / gauge.aspect / 3), inner)
    return unit, closing_counts(design, inner * gauge.stitch_width, unit)


def _rounds(design: Design, inner: int, unit: int) -> int:
    """Rounds of a panel whose height is left open: the picture's own, or of repeats as many as make
    it about square.
    """
    if not unit:
        return design.rounds_at(inner)
    high = design.rounds_at(unit)
    return high * max(1, round(inner / design.gauge.aspect / high))


def _refuse(plan: PanelPlan) -> None:
    if plan.stitches > MAX_SIDE or plan.rounds > MAX_SIDE:
        raise SettingError(
            message("panel-too-large", stitches=plan.stitches, rounds=plan.rounds, most=MAX_SIDE)
        )


def _drawn(making: Making, options: PanelOptions, plan: PanelPlan) -> Cloth:
    design = making.design
    cloth = Cloth(design, tube(plan.rounds, plan.stitches))
    cloth.fill(cloth.live, np.arange(plan.stitches) - plan.stitches // 2)
    cloth.paste(*_placed(design, options, plan))
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
