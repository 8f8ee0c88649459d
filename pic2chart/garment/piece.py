"""From a drawn cloth to a piece: solved, caught, checked; and the garment that pieces make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart import pipeline
from pic2chart.canvas import FREE
from pic2chart.chart import Chart, Rules
from pic2chart.chart.hand import for_hand
from pic2chart.chart.plain_parts import NAME, PlainPart, plain_data
from pic2chart.chart.shaping import Opening, opening_data, shaping_data
from pic2chart.checking import caught, checked
from pic2chart.draw.page import Sheet
from pic2chart.errors import SettingError
from pic2chart.garment.cloth import Cloth
from pic2chart.garment.design import Design
from pic2chart.garment.options import GarmentOptions
from pic2chart.garment.shape import Shape
from pic2chart.garment.words import Pattern, Section
from pic2chart.looks import LOOKS
from pic2chart.report import Report
from pic2chart.rules import Finding
from pic2chart.solving import Progress, Solved, blocked_notes, solve_canvas
from pic2chart.strands import with_strands

SAFE_LIMIT, USUAL_LIMIT = 4, 5
"""Float limits: where fingers and toes may snag, and elsewhere (common practice)."""

_LABORIOUS = 0.06
"""Catches a stitch from which on a piece is tiresome to knit (from memory; one in some 17)."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One chart of a garment. `name` is its part of the files' names ('right-hand', 'thumb')."""

    name: str
    chart: Chart
    findings: tuple[Finding, ...]
    report: Report

    def told(self, sections: Sequence[Section]) -> Piece:
        """The piece with those sections of the written pattern in its chart."""
        steps = [section.to_dict() for section in sections]
        return replace(self, chart=self.chart.with_(extra={**self.chart.extra, "steps": steps}))


@dataclass(frozen=True, slots=True)
class Garment:
    """All pieces, the written pattern, the picture of the whole, and what it measures.

    `fit` is plain data: body and finished measures in cm, counts, and the nearest others.
    """

    kind: str
    stem: str
    pieces: tuple[Piece, ...]
    pattern: Pattern
    outline: Sheet
    fit: dict[str, Any]
    remarks: tuple[str, ...] = ()

    @property
    def told(self) -> tuple[str, ...]:
        """What the knitter should know of the garment and of its pieces, each thing once."""
        of_pieces = (remark for piece in self.pieces for remark in piece.report.remarks)
        return tuple(dict.fromkeys([*self.remarks, *of_pieces]))

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings of all pieces, one after the other."""
        return tuple(finding for piece in self.pieces for finding in piece.findings)


@dataclass(frozen=True, slots=True)
class Making:
    """What every step of making a garment needs."""

    design: Design
    rules: Rules
    kind: str
    child: bool
    say: Progress

    @classmethod
    def of(
        cls, design: Design, options: GarmentOptions, kind: str, child: bool, say: Progress
    ) -> Making:
        """The rules follow from the settings, but the float limit from what the piece is for.

        Raises SettingError when a chart is asked for at another width than its own.
        """
        if design.size and options.across not in (None, design.size[0], design.tile_width):
            raise SettingError(
                f"--across is {options.across}, but the chart has {design.size[0]} stitches; leave it out."
            )
        usual = SAFE_LIMIT if kind == "mitten" or child else USUAL_LIMIT
        settings = replace(design.settings, float_limit=options.float_limit or usual)
        rules = pipeline.kept_rules(Rules.of(settings), design.filler.name)
        if design.chart is not None:
            rules = replace(rules, isolated="keep")
        return cls(design, rules, kind, child, say)

    def solve(self, cloth: Cloth, *, circular: bool = True) -> Solved:
        """Choose the stitches of a cloth."""
        d = self.design
        look = LOOKS[d.settings.look]
        return solve_canvas(
            cloth.canvas(),
            d.yarns,
            d.chroma,
            self.rules,
            self.say,
            circular=circular,
            change=look.change,
        )

    def piece(
        self,
        name: str,
        title: str,
        stitches: NDArray[np.uint8],
        shape: Shape,
        *,
        fit: dict[str, Any],
        plain: Sequence[PlainPart] = (),
        fixed: NDArray[np.uint8] | None = None,
        openings: Sequence[Opening] = (),
        repeat: tuple[int, int] | None = None,
        worked: str = "round",
        solved: Solved | None = None,
        turned: bool = False,
    ) -> Piece:
        """Plan catches and strands and check; the chart is turned for a left-handed knitter.

        `plain`: what is knitted in one yarn before and after the chart. `turned`: the stitches are in
        her order already.
        """
        design = self.design
        extra: dict[str, Any] = {
            "piece": self.kind,
            "fit": fit,
            "shaping": shaping_data(shape.shaping),
            NAME: plain_data(plain),
        }
        if worked == "round":
            extra["join"] = {"stitch": 1}
        if openings:
            extra["openings"] = opening_data(openings)
        if self.child:
            extra["for_child"] = True
        chart = Chart(
            stitches,
            design.yarns,
            design.gauge,
            title,
            worked,  # type: ignore[arg-type]
            "left" if turned else "right",
            rules=self.rules,
            repeat=repeat,
            fixed=None if fixed is None else fixed != FREE,
            source=design.source,
            extra=extra,
        )
        if design.settings.left_handed:
            chart = for_hand(chart, "left")
        chart, remarks = caught(chart)
        chart = with_strands(chart)
        blocked = () if solved is None else blocked_notes(chart, solved.blocked)
        notes = (*remarks, *blocked, *self._laborious(chart))
        moved = None if solved is None else solved.moved
        told = checked(chart, notes, moved=moved)
        return Piece(name, chart, told.findings, told.report)

    def _laborious(self, chart: Chart) -> tuple[str, ...]:
        """A remark when a picture's plain background makes for very many catches."""
        share = len(chart.catches) / max(1, int(chart.live.sum()))
        if self.design.marked or share < _LABORIOUS:
            return ()
        return (
            f"{chart.title}: {len(chart.catches)} catches, most of them behind plain ground. Mark the "
            "subject with --subject x,y,width,height, and a filler without long floats takes the ground.",
        )
