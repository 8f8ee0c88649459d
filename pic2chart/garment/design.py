"""What is to be knitted on a garment: a picture, a chart, or a small repeat, in chosen yarns.

A garment asks for the motif at so many stitches and rounds; where it came from no longer matters.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart import pipeline
from pic2chart.canvas import FREE, Canvas
from pic2chart.chart import NO_STITCH, Chart
from pic2chart.filler import Filler, find_filler
from pic2chart.gauge import Gauge
from pic2chart.grid import make_grid
from pic2chart.picture import Picture
from pic2chart.repeat import find_repeat
from pic2chart.settings import Settings
from pic2chart.yarn import Yarn
from pic2chart.yarn.lab import yarn_lab

FILLER = "drizzle"
"""The filler taken when none is named: both yarns in every round, so that neither floats far behind
what else the round holds; no single stitches; a repeat of four."""

Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Motif:
    """The motif at a size: its canvas, and bool [R, N] where it stands; elsewhere the garment shows."""

    canvas: Canvas
    subject: Bools

    @property
    def size(self) -> tuple[int, int]:
        """Stitches and rounds."""
        return int(self.subject.shape[1]), int(self.subject.shape[0])

    def mirrored(self) -> Motif:
        """The mirror image."""
        c = self.canvas
        turned = Canvas(
            c.target[:, ::-1].copy(),
            c.weight[:, ::-1].copy(),
            c.live[:, ::-1].copy(),
            c.fixed[:, ::-1].copy(),
            c.wanted[:, ::-1].copy(),
            None if c.form is None else c.form[:, ::-1].copy(),
        )
        return Motif(turned, self.subject[:, ::-1])


@dataclass(frozen=True, slots=True, eq=False)
class Design:
    """A motif that can be had at any size (a picture) or at one (a chart), and its yarns.

    `ground` and `figure`: the yarns (indices) of fillers and edges; the ground is named by the
    settings, or stands out best from the subject, or is the lightest.
    """

    name: str
    yarns: tuple[Yarn, ...]
    chroma: float
    ground: int
    figure: int
    settings: Settings
    source: dict[str, Any]
    remarks: tuple[str, ...]
    picture: Picture | None
    mask: NDArray[np.float32] | None
    chart: Chart | None

    @property
    def gauge(self) -> Gauge:
        return Gauge.parse(self.settings.gauge)

    @property
    def filler(self) -> Filler:
        """The pattern round the motif and on what has none."""
        return find_filler(self.settings.filler or FILLER)

    @property
    def marked(self) -> bool:
        """Whether the motif stands apart from its background, which may then be anything."""
        return self.chart is not None or self.mask is not None

    @property
    def size(self) -> tuple[int, int] | None:
        """Stitches and rounds when the motif has one size only."""
        return None if self.chart is None else (self.chart.stitch_count, self.chart.round_count)

    def rounds_at(self, stitches: int) -> int:
        """Rounds the whole motif needs at that width."""
        if self.chart is not None:
            return self.chart.round_count
        window = self._picture.window
        return self.gauge.rounds_for(stitches, window.h / window.w)

    def stitches_at(self, rounds: int) -> int:
        """Stitches the whole motif needs at that height."""
        if self.chart is not None:
            return self.chart.stitch_count
        window = self._picture.window
        return max(1, round(rounds * self.gauge.aspect * window.w / window.h))

    @property
    def _picture(self) -> Picture:
        assert self.picture is not None
        return self.picture

    def motif(self, stitches: int, rounds: int | None = None) -> Motif:
        """The motif at that size; of a picture the middle is used where the shape disagrees."""
        if self.chart is not None:
            return _chart_motif(self.chart)
        grid = make_grid(self._picture, self.gauge, stitches, rounds, self.mask)
        canvas = pipeline.draft_grid(grid, self._picture, self.yarns, self.settings).canvas
        return Motif(canvas, grid.subject >= 0.5)

    def tile(self, stitches: int, rounds: int | None = None) -> Motif:
        """One unit to set side by side: of a chart its own repeat, of a picture the picture."""
        if self.chart is None:
            return self.motif(stitches, rounds)
        return _chart_motif(self.chart.with_(stitches=self.chart.stitches[:, : self.tile_width]))

    def spread(self, unit: int, stitches: int, rounds: int) -> Motif:
        """Units side by side and one above another over a whole area, alike at its two sides."""
        tile = self.tile(unit)
        across, up = tile.size
        rows = np.arange(rounds) % up
        columns = (np.arange(stitches) - (stitches - across) // 2) % across
        at = np.ix_(rows, columns)
        c = tile.canvas
        form = None if c.form is None else c.form[at].copy()
        canvas = Canvas(
            c.target[at].copy(),
            c.weight[at].copy(),
            c.live[at].copy(),
            c.fixed[at].copy(),
            c.wanted[at].copy(),
            form,
        )
        return Motif(canvas, tile.subject[at])

    @property
    def tile_width(self) -> int | None:
        """Stitches of a chart's repeat: as it says, or as it is found to repeat; None for a picture."""
        if self.chart is None:
            return None
        if self.chart.repeat is not None:
            return self.chart.repeat[0]
        return find_repeat(self.chart.stitches).box[0]


def _chart_motif(chart: Chart) -> Motif:
    """A chart's stitches as fixed stitches; squares without a stitch let the garment show."""
    lab = yarn_lab(chart.yarns)
    live = chart.live
    target = lab[np.where(live, chart.stitches, 0)]
    fixed = np.where(chart.stitches == NO_STITCH, np.uint8(FREE), chart.stitches)
    return Motif(replace(Canvas.of(target), fixed=fixed), live)
