"""From a drawn cloth to a piece: solved, caught, checked; and the garment that pieces make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart import pipeline
from pic2chart.checks.finding import Finding
from pic2chart.checks.float_rules import SAFE, WORDS
from pic2chart.checks.report import Report
from pic2chart.core.errors import SettingError
from pic2chart.core.messages import Message, message
from pic2chart.design.canvas import FREE, Canvas
from pic2chart.design.checked import caught_in_units, checked
from pic2chart.design.looks import look_named
from pic2chart.design.solution import Progress, Solved, blocked_notes, solve_canvas
from pic2chart.garment.design import Design, Motif
from pic2chart.garment.duplicate import knitted_part
from pic2chart.garment.kind import GarmentOptions, Kind
from pic2chart.garment.ladder import laddered
from pic2chart.garment.outline import View
from pic2chart.garment.remedies import lone_stitches, wide_ground
from pic2chart.garment.shape import Shape
from pic2chart.garment.written import Pattern, Section
from pic2chart.model.chart import Chart, Rules, for_hand
from pic2chart.model.construction import Construction, Opening, PlainPart, StepSection
from pic2chart.model.folds import Place, Unit
from pic2chart.model.rows import Row
from pic2chart.model.yarn import yarn_lab
from pic2chart.sheets.marks.page import Sheet
from pic2chart.stranding.strands import with_strands

# The canvas of a garment's piece while it is being drawn: filler, edges, motif, one over another.

_LOOSE = 0.04
"""What the very yarn of a filler's stitch weighs where only light and dark are asked for."""

Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]


class Cloth:
    """Arrays of one piece [rounds, squares]; later drawing covers earlier.

    `loose`: filler and edges may take other yarns of their kind, light or dark, where there are more
    than a round may use.
    """

    def __init__(self, design: Design, shape: Shape) -> None:
        size = shape.live.shape
        self.design = design
        self.live = shape.live
        self.target = np.zeros((*size, 3))
        self.weight = np.ones(size)
        self.fixed = np.full(size, FREE, np.uint8)
        self.wanted = np.full(size, design.ground, np.uint8)
        self.form = np.zeros(size)
        self.formed = False
        self.loose = True

    def fill(self, where: Bools, across: Ints, up: Ints | None = None) -> None:
        """Lay the filler over the squares of `where`; `across` [squares] and `up` [rounds] count
        stitches and rounds of the pattern, from any place in it.
        """
        tile = self.design.filler.tile
        rows = np.arange(len(where)) if up is None else up
        bits = tile[np.ix_(rows % tile.shape[0], across % tile.shape[1])]
        yarns = np.where(bits == 1, self.design.figure, self.design.ground)
        self.wanted[where] = yarns[where].astype(np.uint8)

    def line(self, where: Bools, yarn: int) -> None:
        """Stitches that stay as they are, where a round has room for both filler yarns; else wished."""
        if len(self.design.yarns) <= self.design.settings.per_round:
            self.fixed[where] = yarn
        self.wanted[where] = yarn

    def clear_beside(self, lines: Bools) -> None:
        """Take the filler from the stitches right beside some lines, so that these stand clear."""
        for row, line, live in zip(self.wanted, lines, self.live, strict=True):
            stitches = np.flatnonzero(live)
            here = line[stitches]
            beside = (np.roll(here, 1) | np.roll(here, -1)) & ~here
            row[stitches[beside]] = self.design.ground

    def paste(self, motif: Motif, round: int, stitch: int) -> None:
        """Lay a motif with its first stitch at that round and square; its background lets the filler
        show, but for a margin of one stitch of plain ground.
        """
        stitches, rounds = motif.size
        place = (slice(round, round + rounds), slice(stitch, stitch + stitches))
        subject, canvas = motif.subject, motif.canvas
        self._halo(subject, round, stitch)
        for mine, theirs in (
            (self.target, canvas.target),
            (self.weight, canvas.weight),
            (self.fixed, canvas.fixed),
            (self.wanted, canvas.wanted),
        ):
            mine[place][subject] = theirs[subject]
        self.wanted[place][subject & (canvas.fixed != FREE)] = FREE
        if canvas.form is not None:
            self.form[place][subject] = canvas.form[subject]
            self.formed = True

    def _halo(self, subject: Bools, round: int, stitch: int) -> None:
        """A ring of ground round the subject, inside this piece, but never over a fixed stitch."""
        around = np.pad(subject, 1)
        ring = np.zeros_like(around)
        for up in (-1, 0, 1):
            for across in (-1, 0, 1):
                ring |= np.roll(around, (up, across), (0, 1))
        rows, columns = np.nonzero(ring & ~around)
        rows, columns = rows + round - 1, columns + stitch - 1
        inside = (rows >= 0) & (rows < len(self.live))
        inside &= (columns >= 0) & (columns < self.live.shape[1])
        rows, columns = rows[inside], columns[inside]
        free = self.fixed[rows, columns] == FREE
        self.wanted[rows[free], columns[free]] = self.design.ground

    def _tidy(self) -> None:
        """Take out what is left of the filler's strokes where a motif cut them to single stitches."""
        figure = (self.wanted == self.design.figure) & self.live
        padded = np.pad(figure, 1)
        rounds, squares = figure.shape
        near = sum(
            padded[1 + up : 1 + up + rounds, 1 + across : 1 + across + squares].astype(int)
            for up in (-1, 0, 1)
            for across in (-1, 0, 1)
        )
        alone = figure & (near == 1) & (self.fixed == FREE)
        self.wanted[alone] = self.design.ground

    def _loosen(self) -> None:
        """With more yarns than a round may use, filler, edges and plain ground only ask for light and
        dark: their figure takes whichever yarn the round has for the motif.
        """
        d = self.design
        lab = yarn_lab(d.yarns)
        lighter = 1.0 if lab[d.ground, 0] > lab[d.figure, 0] else -1.0
        asked = (self.wanted != FREE) & (self.fixed == FREE)
        figure = asked & (self.wanted == d.figure)
        self.target[asked] = lab[d.ground]
        self.target[figure] = lab[d.figure]
        self.weight[asked] = _LOOSE
        self.form[asked] = lighter / _LOOSE
        self.form[figure] = -lighter / _LOOSE
        self.wanted[asked] = FREE
        self.formed = True

    def canvas(self) -> Canvas:
        """What the solver gets."""
        if not self.design.filler.isolated:
            self._tidy()
        if self.loose and len(self.design.yarns) > self.design.settings.per_round == 2:
            self._loosen()
        form = self.form if self.formed else None
        aspect = self.design.gauge.aspect
        return Canvas(self.target, self.weight, self.live, self.fixed, self.wanted, form, aspect)


_LABORIOUS = 0.06
"""Catches a stitch from which on a piece is tiresome to knit (from memory; one in some 17)."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One chart of a garment. `name` is its part of the files' names ('right-hand', 'thumb').

    `embroidered`: the chart with the stitches that are embroidered when it is knitted, if there are any.
    """

    name: str
    chart: Chart
    findings: Sequence[Finding]
    report: Report
    embroidered: Chart | None = None

    @property
    def seen(self) -> Chart:
        """The chart as the piece looks in the end."""
        whole = self.embroidered
        return self.chart if whole is None else self.chart.with_(stitches=whole.stitches)

    def told(self, sections: Sequence[Section]) -> Piece:
        """The piece with those sections of the written pattern in its chart."""
        steps = tuple(StepSection(section.heading, tuple(section.lines)) for section in sections)
        construction = replace(self.chart.construction, steps=steps)
        return replace(self, chart=self.chart.with_(construction=construction))


@dataclass(frozen=True, slots=True)
class Garment:
    """All pieces, the written pattern, the picture of the whole, and what it measures.

    `fit` is plain data: body and finished measures in cm, counts, and the nearest others. `views`: what
    the outline shows. `english`, `increases`: the terms of what is printed, and how one is made, as
    `SheetSettings` has them.
    """

    kind: str
    stem: str
    pieces: tuple[Piece, ...]
    pattern: Pattern
    outline: Sheet
    fit: dict[str, Any]
    remarks: tuple[Message, ...] = ()
    views: tuple[View, ...] = ()
    english: str = "uk"
    increases: str = "loop"

    @property
    def told(self) -> tuple[Message, ...]:
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
    kind: Kind
    child: bool
    say: Progress
    embroider: int | None = None
    ladder: int | None = None

    @classmethod
    def of(
        cls, design: Design, options: GarmentOptions, kind: Kind, child: bool, say: Progress
    ) -> Making:
        """The rules follow from the settings, but the float limit from what the piece is for.

        Raises SettingError when a chart is asked for at another width than its own.
        """
        if design.size and options.across not in (None, design.size[0], design.tile_width):
            raise SettingError(
                message(
                    "not-the-charts-width",
                    asked=options.across,
                    own=design.size[0],
                    options=("across",),
                )
            )
        limit = options.float_limit or kind.limit(child)
        settings = replace(design.settings, float_limit=limit)
        rules = pipeline.kept_rules(Rules.of(settings), design.filler.name)
        if design.chart is not None:
            rules = replace(rules, isolated="keep")
        return cls(design, rules, kind, child, say, options.embroider, options.ladder)

    def solve(self, cloth: Cloth, *, circular: bool = True) -> Solved:
        """Choose the stitches of a cloth."""
        d = self.design
        look = look_named(d.settings.look)
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
        places: Sequence[Place] = (),
        units: Sequence[Unit] = (),
        worked: str = "round",
        solved: Solved | None = None,
        turned: bool = False,
        rows: Sequence[Row] = (),
    ) -> Piece:
        """Plan catches and strands and check; the chart is turned for a left-handed knitter.

        `plain`: what is knitted in one yarn before and after the chart. `places` and `units`: where it
        folds, told for a right-handed knitter unless `turned`. `turned`: the stitches are in
        her order already. `rows`: those that turn before the end.
        """
        design = self.design
        construction = Construction(
            shapings=tuple(shape.shaping),
            openings=tuple(openings),
            plain_parts=tuple(plain),
            piece=self.kind.name,
            fit=fit,
            join=0 if worked == "round" else None,
            for_child=self.child,
            places=tuple(places),
            units=tuple(units),
            snags=self.kind.snags and self.kind.name.lower() not in WORDS,
            safe_limit=None if self.kind.safe_limit == SAFE else self.kind.safe_limit,
        )
        chart = Chart(
            stitches,
            design.yarns,
            design.gauge,
            title,
            worked,  # type: ignore[arg-type]
            "left" if turned else "right",
            rules=self.rules,
            repeat=repeat,
            rows=tuple(rows),
            fixed=None if fixed is None else fixed != FREE,
            construction=construction,
            source=design.source,
        )
        if design.settings.left_handed:
            chart = for_hand(chart, "left")
        whole = chart
        if self.embroider is not None:
            chart = knitted_part(chart, self.embroider)
        if self.ladder is not None:
            chart = laddered(chart, self.ladder)
        chart, remarks = caught_in_units(chart)
        offered = self._offered(chart)
        chart = with_strands(chart)
        blocked = () if solved is None else blocked_notes(chart, solved.blocked)
        notes = (*remarks, *blocked, *offered)
        moved = None if solved is None else solved.moved
        told = checked(chart, notes, moved=moved)
        differs = (whole.stitches != chart.stitches).any()
        return Piece(name, chart, told.findings, told.report, whole if differs else None)

    def _offered(self, chart: Chart) -> tuple[Message, ...]:
        """Remarks on absurd floats that nothing was asked for, and on very many catches."""
        lone = lone_stitches(chart) if (self.embroider, self.ladder) == (None, None) else ()
        wide = wide_ground(chart, self.design) if self.ladder is None else ()
        return (*lone, *(wide or self._laborious(chart)))

    def _laborious(self, chart: Chart) -> tuple[Message, ...]:
        """A remark when a picture's plain background makes for very many catches."""
        share = len(chart.catches) / max(1, int(chart.live.sum()))
        if self.design.marked or share < _LABORIOUS:
            return ()
        return (
            message(
                "catches-behind-ground",
                catches=len(chart.catches),
                options=("subject",),
            ),
        )
