"""Reading what is to be knitted: a picture with its subject and ground, or a chart with its yarns."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart import pipeline
from pic2chart.checks.likeness import rim
from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.files import plain_name
from pic2chart.core.messages import Message, message
from pic2chart.core.settings import Settings
from pic2chart.design.canvas import FREE, Canvas
from pic2chart.design.contour import ground_for
from pic2chart.design.draft import named
from pic2chart.design.filler import Filler, find_filler
from pic2chart.design.yarn_choice import yarns_for
from pic2chart.garment.painted import Painted, painted_of
from pic2chart.model.any_file import is_pixel_chart, read_any
from pic2chart.model.chart import NO_STITCH, Chart, Stitches, for_hand
from pic2chart.model.gauge import Gauge
from pic2chart.model.measure import yarns_per_round
from pic2chart.model.repeat import find_repeat
from pic2chart.model.titles import title_of_file
from pic2chart.model.yarn import Yarn, yarn_lab
from pic2chart.picture.decode import Box, Picture
from pic2chart.picture.grid import make_grid
from pic2chart.picture.source import head_shares, read_source

# What is to be knitted on a garment: a picture, a chart, or a small repeat, in chosen yarns.
#
# A garment asks for the motif at so many stitches and rounds; where it came from no longer matters.

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
        return self._at(np.s_[:, ::-1])

    def turned(self) -> Motif:
        """Upside down."""
        return self._at(np.s_[::-1, ::-1])

    def _at(self, part: tuple[slice, slice]) -> Motif:
        c = self.canvas
        canvas = Canvas(
            c.target[part].copy(),
            c.weight[part].copy(),
            c.live[part].copy(),
            c.fixed[part].copy(),
            c.wanted[part].copy(),
            None if c.form is None else c.form[part].copy(),
        )
        return Motif(canvas, self.subject[part])


@dataclass(frozen=True, slots=True, eq=False)
class Design:
    """A motif that can be had at any size (a picture) or at one (a chart), and its yarns.

    `ground` and `figure`: the yarns (indices) of fillers and edges; the ground is named by the
    settings, or stands out best from the subject, or is the lightest. `painted`: stitches of a picture
    that were kept by hand, which stay at every size. `name`: its title; `stem`: what files are called.
    `heads`: the width of the subject's head as a share of the picture, and of a frame of head and
    shoulders; None where none is seen or such a frame is not wanted.
    """

    name: str
    stem: str
    yarns: tuple[Yarn, ...]
    chroma: float
    ground: int
    figure: int
    settings: Settings
    source: dict[str, Any]
    remarks: tuple[Message, ...]
    picture: Picture | None
    mask: NDArray[np.float32] | None
    chart: Chart | None
    painted: Painted | None = None
    heads: tuple[float, float] | None = None

    @property
    def gauge(self) -> Gauge:
        return Gauge.parse(self.settings.gauge)

    @property
    def ground_yarn(self) -> Yarn:
        """The yarn of the plain parts."""
        return self.yarns[self.ground]

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
        canvas = pipeline.draft_grid(
            grid, self._picture, self.yarns, self.settings, self.ground
        ).canvas
        subject = grid.subject >= 0.5
        if self.painted is None:
            return Motif(canvas, subject)
        kept = self.painted.at(self._picture.window, grid.part, subject.shape)
        held = kept != FREE
        fixed = np.where(held, kept, canvas.fixed).astype(np.uint8)
        return Motif(replace(canvas, fixed=fixed), subject | held)

    def tile(self, stitches: int, rounds: int | None = None) -> Motif:
        """One unit to set side by side: of a chart its own repeat, of a picture the picture."""
        if self.chart is None:
            return self.motif(stitches, rounds)
        unit = self.chart.stitches[:, : self.tile_width]
        return _chart_motif(self.chart.with_(stitches=unit, rows=()))

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


MOST_PER_ROUND = 3
"""Yarns in one round that can be knitted. Common practice: two are the norm, three possible."""


def refuse_crowded(stitches: Stitches, name: str) -> None:
    """Raises InputError where a round needs more yarns than can be knitted: the stitches of a chart
    all stay, so nothing but errors could come of it, and a plan of their catches takes long.
    """
    used = yarns_per_round(stitches, NO_STITCH).sum(axis=1)
    crowded = np.flatnonzero(used > MOST_PER_ROUND)
    if crowded.size:
        first = int(crowded[0])
        raise InputError(
            message(
                "motif-crowded",
                name=name,
                round=first + 1,
                yarns=int(used[first]),
                rounds=len(crowded),
                most=MOST_PER_ROUND,
            )
        )


def _chart_motif(chart: Chart) -> Motif:
    """A chart's stitches as fixed stitches; squares without a stitch let the garment show."""
    lab = yarn_lab(chart.yarns)
    live = chart.live
    target = lab[np.where(live, chart.stitches, 0)]
    fixed = np.where(chart.stitches == NO_STITCH, np.uint8(FREE), chart.stitches)
    return Motif(replace(Canvas.of(target), fixed=fixed), live)


SMALL = 96
"""A PNG whose longer side has no more pixels than this, and few colours, holds one pixel a stitch."""
NOMINAL = 60
MOTIF_WIDTH = 30
"""Stitches across at which a picture is looked at to choose its ground."""
_TABLES = (".json", ".csv", ".tsv", ".txt")


def read_design(
    path: Path, settings: Settings, cells: tuple[int, int | None], keep: Chart | None = None
) -> Design:
    """Read a picture, or a chart: JSON, CSV, or a small PNG of one pixel a stitch.

    `cells`: stitches and rounds the motif will have at the most. `keep`: an earlier chart of the
    picture, whose stitches kept by hand stay. Raises InputError, SettingError.
    """
    if is_chart(path):
        design = _of_chart(path, settings)
        return replace(design, remarks=(*design.remarks, *_nowhere(keep)))
    pipeline.check_settings(settings)
    gauge = Gauge.parse(settings.gauge)
    painted_by_hand = settings.crop is None and keep is not None
    read = read_source(path, _whole(settings) if painted_by_hand else settings, cells, tight=True)
    picture, mask, remarks = read.picture, read.mask, read.subject.remarks
    if mask is not None and painted_by_hand:
        picture, mask = _closer(picture, mask, keep)
    grid = make_grid(picture, gauge, NOMINAL, None, mask)
    yarns, chroma = yarns_for(grid, settings)
    light = yarn_lab(yarns)[:, 0]
    ground = _ground(yarns, light, settings)
    how = pipeline.drawn_settings(grid, picture, yarns, chroma, settings)
    drawn = how.settings
    if how.ground is not None:
        ground = how.ground
    elif settings.background is None:
        ground = _ground_for(picture, mask, yarns, light, drawn)
    source = {
        "picture": picture.name,
        "sha256": picture.sha256,
        **read.facts(),
        "settings": settings.changed(),
    }
    figure = int(np.abs(light - light[ground]).argmax())
    name = settings.title or title_of_file(picture.name)
    painted = None if keep is None else painted_of(keep, yarns)
    told = _nowhere(keep) if painted is None else (message("painted-kept", count=painted.count),)
    remarks = (*remarks, *how.remarks, *told)
    return Design(
        name,
        settings.title or Path(picture.name).stem,
        yarns,
        chroma,
        ground,
        figure,
        drawn,
        source,
        remarks,
        picture,
        mask,
        None,
        painted,
        head_shares(read, settings) if _may_come_closer(settings) else None,
    )


def _may_come_closer(settings: Settings) -> bool:
    return settings.crop is None and settings.frame != "head"


def _nowhere(keep: Chart | None) -> tuple[Message, ...]:
    """A remark when stitches kept by hand have no place in what is made."""
    if keep is None or keep.fixed is None or not keep.fixed.any():
        return ()
    return (message("painted-nowhere", title=keep.title, count=int(keep.fixed.sum())),)


def _whole(settings: Settings) -> Settings:
    """The settings for all of the picture, so that nothing kept by hand is cut off."""
    return replace(settings, frame="whole")


def _closer(
    picture: Picture, mask: NDArray[np.float32], keep: Chart | None
) -> tuple[Picture, NDArray[np.float32]]:
    """The picture cut to its subject and what was kept by hand, so that it is as large as the garment
    allows.
    """
    rows, columns = np.flatnonzero((mask >= 0.5).any(1)), np.flatnonzero((mask >= 0.5).any(0))
    if not rows.size:
        return picture, mask
    top, bottom, left, right = rows[0], rows[-1] + 1, columns[0], columns[-1] + 1
    window, scale = picture.window, picture.scale
    painted = None if keep is None else painted_of(keep, keep.yarns)
    if painted is not None:
        west, north, east, south = painted.box()
        left = max(0, min(left, int((west - window.x) * scale)))
        top = max(0, min(top, int((north - window.y) * scale)))
        right = min(mask.shape[1], max(right, ceil((east - window.x) * scale)))
        bottom = min(mask.shape[0], max(bottom, ceil((south - window.y) * scale)))
    part = np.s_[top:bottom, left:right]
    corner = (window.x + int(left / scale), window.y + int(top / scale))
    size = (max(1, round((right - left) / scale)), max(1, round((bottom - top) / scale)))
    opacity = None if picture.opacity is None else picture.opacity[part].copy()
    closer = replace(
        picture, rgb=picture.rgb[part].copy(), opacity=opacity, window=Box(*corner, *size)
    )
    return closer, mask[part].copy()


def is_chart(path: Path) -> bool:
    """Whether a file is a chart by its name, or a PNG as small as one pixel a stitch makes it."""
    return path.suffix.lower() in _TABLES or is_pixel_chart(path, SMALL)


def _of_chart(path: Path, settings: Settings) -> Design:
    chart = for_hand(read_any(path), "right")
    marked = settings.subject not in ("auto", "none") or settings.keep or settings.leave
    if settings.crop or marked or settings.shelf or settings.yarns:
        raise SettingError(
            message(
                "chart-brings-its-own",
                file=path.name,
                options=("crop", "subject", "shelf", "yarns", "yarn"),
            )
        )
    yarns = _renamed(chart, settings)
    light = yarn_lab(yarns)[:, 0]
    ground = _ground(yarns, light, settings)
    figure = int(np.abs(light - light[ground]).argmax())
    if len(yarns) < 2:
        raise InputError(message("chart-has-one-yarn", file=path.name))
    source = {"chart": plain_name(path), "settings": settings.changed()}
    called = title_of_file(path.name)
    name = settings.title or (chart.title if chart.title != "untitled" else called)
    stem = path.stem.removesuffix(".chart") if name == called else name
    own = chart.with_(yarns=yarns)
    chroma = 0.0 if len(yarns) == 2 else 1.0
    remarks = _other_gauge(chart, settings)
    return Design(
        name, stem, yarns, chroma, ground, figure, settings, source, remarks, None, None, own
    )


def _other_gauge(chart: Chart, settings: Settings) -> tuple[Message, ...]:
    """A remark when the chart's file names another gauge than the garment is made at."""
    own = chart.gauge
    if own in (Gauge(), Gauge.parse(settings.gauge)):
        return ()
    per_10 = 10 / own.over_cm
    return (
        message(
            "other-gauge",
            own=str(own),
            given=settings.gauge,
            stitches=own.stitches * per_10,
            rounds=own.rounds * per_10,
            options=("gauge",),
        ),
    )


def _renamed(chart: Chart, settings: Settings) -> tuple[Yarn, ...]:
    """The chart's yarns, or those given for them, lightest for lightest."""
    if not settings.yarn:
        return chart.yarns
    given = tuple(Yarn.parse(text) for text in settings.yarn)
    if len(given) != len(chart.yarns):
        raise SettingError(
            message(
                "other-count-of-yarns", own=len(chart.yarns), given=len(given), options=("yarn",)
            )
        )
    old, new = (np.argsort(yarn_lab(y)[:, 0], kind="stable") for y in (chart.yarns, given))
    place = dict(zip(old.tolist(), new.tolist(), strict=True))
    return tuple(given[place[i]] for i in range(len(given)))


def _ground(yarns: tuple[Yarn, ...], light: NDArray[np.float64], settings: Settings) -> int:
    """The yarn named for the background, or the lightest."""
    return int(light.argmax()) if settings.background is None else named(yarns, settings.background)


def _ground_for(
    picture: Picture,
    mask: NDArray[np.float32] | None,
    yarns: tuple[Yarn, ...],
    light: NDArray[np.float64],
    settings: Settings,
) -> int:
    """The yarn farthest from those along the subject's edge; of a whole picture its border's own.

    Looked at as drawn at a motif's usual width, since what is light or dark depends on it.
    """
    grid = make_grid(picture, Gauge.parse(settings.gauge), MOTIF_WIDTH, None, mask)
    plain = replace(settings, filler=None)
    drawn = pipeline.draft_grid(grid, picture, yarns, plain).canvas.target[..., 0]
    inside = grid.subject >= 0.5
    if mask is not None:
        return ground_for(drawn, inside, light)
    edge = rim(np.pad(inside, 1))[1:-1, 1:-1]
    nearest = np.abs(drawn[edge][:, None] - light).argmin(axis=1)
    return int(np.bincount(nearest, minlength=len(yarns)).argmax())
