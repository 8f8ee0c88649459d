"""The counts of a panel."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE
from pic2chart.garment.around import closing_counts, repeat_width
from pic2chart.garment.design import Design
from pic2chart.garment.kinds.panel import PanelOptions
from pic2chart.garment.shape import Counts
from pic2chart.garment.steek import STEEKS


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


def plan_panel(design: Design, options: PanelOptions, inner: int, asked: int | None) -> PanelPlan:
    """The panel of about `inner` stitches between its edges and of `asked` rounds, if any are.

    Raises SettingError when it would be larger than a chart may be.
    """
    unit, counts = _closing(design, options, inner) if options.repeat else (0, None)
    inner = inner if counts is None else counts.stitches
    rounds = asked or _rounds(design, inner, unit)
    plan = PanelPlan(inner, options.edges, STEEKS.get(options.steek or "", 0), rounds, unit, counts)
    _refuse(plan)
    return plan


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
