"""A photo or scan of a chart on squared paper → a chart, with the confidence of each stitch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.finding import Finding
from pic2chart.checks.report import Report
from pic2chart.core.errors import InputError
from pic2chart.core.files import file_stem, write_folder
from pic2chart.core.messages import Message, message
from pic2chart.core.settings import MAX_YARNS
from pic2chart.design.checked import settle
from pic2chart.model.chart import Chart, Rules
from pic2chart.model.chart_file import refuse_over_another
from pic2chart.model.gauge import Gauge
from pic2chart.model.repeat import Repeat, find_repeat
from pic2chart.model.titles import title_of_file
from pic2chart.picture.decode import Box, Picture, load_picture
from pic2chart.pipeline import chart_files
from pic2chart.reading.cells import Cells, Sorted, read_cells
from pic2chart.reading.chart_grid import ChartGrid, corners_of, find_grid, given_grid
from pic2chart.reading.chart_key import Key, find_key
from pic2chart.reading.exact import read_exact
from pic2chart.reading.key_names import named
from pic2chart.reading.lattice import lattice_of_corners
from pic2chart.reading.margins import empty_margins, lined_grid, margins_finding
from pic2chart.reading.overlay import draw_chart, jpeg, resized
from pic2chart.reading.perspective import Floats
from pic2chart.reading.reading_settings import ReadSettings
from pic2chart.reading.second_look import (
    distinct_colours,
    key_findings,
    key_words,
    marked_finding,
    rim_findings,
    shadow_findings,
    size_findings,
    yarn_findings,
)
from pic2chart.reading.shades import sort_cells, uncertain_yarns
from pic2chart.reading.yarn_names import yarns_for
from pic2chart.sheets.marks.order import to_page

# Squares that were read become a chart: checked, its repeat found, the uncertain stitches told.

LEAST_CONFIDENCE = 0.9
_GRAVEST = ("error", "warning", "note")


@dataclass(frozen=True, slots=True, eq=False)
class Page:
    """Squares in page order: their groups, the groups' colours, and where the squares lie.

    `size`: the size in words; `findings`: warnings that it may be wrong; `key`: the key beside them.
    """

    sorted: Sorted
    colours: NDArray[np.uint8]
    corners: Floats
    size: Message
    findings: tuple[Finding, ...] = ()
    key: Key | None = None

    def turned(self, quarters: int) -> Page:
        """The page turned clockwise by so many quarters; corners stay in pixels of the photo."""
        found = self.sorted
        turned = Sorted(
            np.rot90(found.yarn, -quarters).copy(),
            np.rot90(found.confidence, -quarters).copy(),
            np.rot90(found.other, -quarters).copy(),
            found.apart,
        )
        corners = np.rot90(self.corners, -quarters).copy()
        return replace(self, sorted=turned, corners=corners)


@dataclass(frozen=True, slots=True)
class UncertainStitch:
    """A stitch that may be wrong: round and stitch from 1, the yarn read, the next likeliest."""

    round: int
    stitch: int
    yarn: str
    other: str
    confidence: float


@dataclass(frozen=True, eq=False)
class Reading:
    """The chart that was read, what the checks say, and how sure every stitch is.

    `confidence`: float [rounds, stitches], 0-1, in knitting order. `corners`: photo pixels
    [rows + 1, columns + 1, 2] of the squares, in page order. `repeat`: the unit found.
    """

    chart: Chart
    findings: tuple[Finding, ...]
    report: Report
    confidence: Floats
    uncertain: tuple[UncertainStitch, ...]
    repeat: Repeat
    corners: Floats
    photo: Picture

    @property
    def stem(self) -> str:
        """Name of the files: the photo's, without its ending."""
        return file_stem(Path(self.photo.name).stem)

    @property
    def outline(self) -> list[list[float]]:
        """The chart's four corners in pixels of the photo's file, as the option `corners` takes them."""
        ends = self.corners[[0, 0, -1, -1], [0, -1, -1, 0]]
        places = (ends + 0.5) / self.photo.scale - 0.5 + [self.photo.window.x, self.photo.window.y]
        return [[round(v, 1) for v in p] for p in places.tolist()]

    @cached_property
    def overlay(self) -> bytes:
        """The photo as a JPEG; squares, yarns read and uncertain stitches are drawn over it."""
        photo, scale = resized(self.photo.rgb)
        colours = np.array([yarn.rgb for yarn in self.chart.yarns], np.uint8)
        page = to_page(self.chart.stitches, self.chart.hand)
        uncertain = to_page(self.confidence < LEAST_CONFIDENCE, self.chart.hand)
        corners = (self.corners + 0.5) * scale - 0.5
        draw_chart(photo, corners, colours[page], uncertain)
        return jpeg(photo)

    def files(self) -> dict[str, Any]:
        """The chart folder's files by name, and NAME-read.jpg, the overlay."""
        return {**chart_files(self.chart, self.stem), f"{self.stem}-read.jpg": self.overlay}


def reading_of(photo: Picture, page: Page, settings: ReadSettings) -> Reading:
    """The chart of squares that were read, checked like any chart."""
    chart_settings = settings.chart
    hand = "left" if settings.left_handed else "right"
    stitches = np.ascontiguousarray(to_page(page.sorted.yarn, hand))
    confidence = np.ascontiguousarray(to_page(page.sorted.confidence, hand))
    yarns = yarns_for(page.colours, settings, {} if page.key is None else page.key.names)
    repeat = find_repeat(stitches, circular=False)
    chart = Chart(
        stitches,
        yarns,
        Gauge.parse(settings.gauge),
        settings.title or title_of_file(photo.name),
        "flat" if settings.flat else "round",
        "left" if settings.left_handed else "right",
        Rules.of(chart_settings),
        repeat=_whole_repeat(repeat, stitches),
        source={
            "picture": photo.name,
            "sha256": photo.sha256,
            "settings": settings.changed(),
            "confidence": _digits(confidence),
        },
    )
    checked = settle(chart)
    uncertain = _uncertain_stitches(chart, confidence, to_page(page.sorted.other, hand))
    said = () if page.key is None else (key_words(page.key, yarns),)
    remarks = (page.size, *said, *checked.report.remarks, *_remarks(repeat, uncertain))
    reading = Reading(
        checked.chart,
        tuple(checked.findings),
        replace(checked.report, remarks=remarks),
        confidence,
        uncertain,
        repeat,
        page.corners,
        photo,
    )
    warnings = (
        *yarn_findings(page.sorted.yarn, yarns, paper=not settings.fabric),
        *(() if settings.fabric else rim_findings(page.sorted.confidence < LEAST_CONFIDENCE)),
        *key_findings(page.key, yarns),
    )
    return warned(reading, (*page.findings, *warnings))


def warned(reading: Reading, warnings: Sequence[Finding]) -> Reading:
    """The reading with more warnings, the gravest findings first; what several say is told once."""
    fresh = [one for one in dict.fromkeys(warnings) if one not in reading.findings]
    findings = sorted(
        (*fresh, *reading.findings), key=lambda finding: _GRAVEST.index(finding.level)
    )
    count = reading.report.warnings + len(fresh)
    return replace(
        reading, findings=tuple(findings), report=replace(reading.report, warnings=count)
    )


def _whole_repeat(repeat: Repeat, stitches: NDArray[np.uint8]) -> tuple[int, int] | None:
    """The repeat's upright unit, when the chart consists of whole copies of it."""
    across, up = repeat.box
    whole = stitches.shape[1] % across == 0 and stitches.shape[0] % up == 0
    return (across, up) if repeat.kind != "once" and whole else None


def _digits(confidence: Floats) -> list[str]:
    """Confidence as one digit a stitch, 9 for 0.9 and more; round 1 first."""
    tenths = np.clip((confidence * 10).astype(int), 0, 9)
    return ["".join(map(str, row)) for row in tenths.tolist()]


def _uncertain_stitches(
    chart: Chart, confidence: Floats, other: NDArray[np.uint8]
) -> tuple[UncertainStitch, ...]:
    """Uncertain stitches, the least sure first."""
    places = np.argwhere(confidence < LEAST_CONFIDENCE)
    order = np.argsort(confidence[tuple(places.T)], kind="stable")
    return tuple(
        UncertainStitch(
            int(r) + 1,
            int(s) + 1,
            chart.yarns[chart.stitches[r, s]].name,
            chart.yarns[other[r, s]].name,
            round(float(confidence[r, s]), 3),
        )
        for r, s in places[order]
    )


def _remarks(repeat: Repeat, uncertain: tuple[UncertainStitch, ...]) -> tuple[Message, ...]:
    """The repeat and the uncertain stitches."""
    said = []
    if repeat.kind != "once":
        how = message("half-drop") if repeat.drop else message("side-by-side")
        said.append(
            message(
                "repeat-read",
                stitches=repeat.stitches,
                rounds=repeat.rounds,
                how=message("and-mirrored", how=how) if repeat.mirrored else how,
                agreement=repeat.agreement,
            )
        )
    if uncertain:
        first = tuple(
            message("doubtful-stitch", round=d.round, stitch=d.stitch, yarn=d.yarn, other=d.other)
            for d in uncertain[:_MOST_NAMED]
        )
        more = len(uncertain) - len(first)
        said.append(
            message("doubtful-and-more", first=first, more=more)
            if more
            else message("doubtful", first=first)
        )
    return tuple(said)


_MOST_NAMED = 6
"""Doubtful stitches that are told one by one."""
ACROSS = 1500
"""The photo is reduced to no fewer pixels across: 12 megapixels to 3."""
_WHITE = 255.0


def read_photo(path: Path, settings: ReadSettings | None = None) -> Reading:
    """Read the chart in a photo, scan or screenshot.

    Raises InputError when the picture cannot be read or no squared grid is found in it, SettingError
    when the options do not fit together. The same file and settings give the same chart.
    """
    settings = settings or ReadSettings()
    crop = None if settings.region is None else Box.parse(settings.region)
    photo = load_picture(path, crop=crop, across=ACROSS)
    page = None if settings.corners else _exact_page(photo, settings.in_photo)
    if page is None:
        page = _photo_page(photo, settings.in_photo)
    page = page.turned(settings.quarters)
    if page.sorted.count > MAX_YARNS:
        raise InputError(
            message(
                "too-many-yarns-seen",
                file=photo.name,
                seen=page.sorted.count,
                most=MAX_YARNS,
                options=("yarns",),
            )
        )
    return reading_of(photo, page, settings)


def write_reading(reading: Reading, out: Path, source: Path | None = None) -> list[Path]:
    """Write the chart folder and the overlay, all files or none; return their paths.

    `source`: the photo, which is never replaced.
    """
    if source is not None:
        refuse_over_another(out, source)
    return write_folder(reading.files(), out, source)


def _exact_page(photo: Picture, settings: ReadSettings) -> Page | None:
    found = read_exact(photo.rgb) if photo.scale == 1 else None
    if found is None:
        return None
    rows, columns = found.yarn.shape
    if settings.stitches not in (None, columns) or settings.rounds not in (None, rows):
        return None
    if settings.count not in (None, len(found.colours)):
        return None
    lattice = lattice_of_corners(found.corners, columns, rows)
    sure = np.ones(found.yarn.shape)
    sorted_ = Sorted(found.yarn, sure, found.yarn)
    corners = corners_of(ChartGrid(lattice, columns, rows, 1.0))
    upright = found.yarn.shape if settings.quarters % 2 == 0 else (columns, rows)
    size = message("size-exact", stitches=upright[1], rounds=upright[0])
    return Page(sorted_, np.array(found.colours, np.uint8), corners, size)


@dataclass(frozen=True, slots=True, eq=False)
class _Squares:
    """The squares of a grid, sorted into yarns; `paper`: the blank paper round them, where it is seen."""

    cells: Cells
    sorted: Sorted
    paper: Floats | None


def _photo_page(photo: Picture, settings: ReadSettings) -> Page:

    gray = photo.gray
    if settings.corners is None:
        found = find_grid(gray, settings, photo.name)
        grid, squares, outside = _painted(photo, gray, found, settings)
    else:
        grid, outside = given_grid(gray, settings, photo), ()
        squares = _squares(photo, grid, settings)
    cells, sorted_ = squares.cells, squares.sorted
    seen = _colours(cells, sorted_, squares.paper)
    colours = distinct_colours(seen)
    known = settings.stitches is not None and settings.rounds is not None
    turned = settings.quarters % 2 == 1
    size, findings = size_findings(gray, grid, known, turned=turned, cut=bool(outside))
    findings = (*outside, *findings)
    if not np.array_equal(seen, colours):
        findings = (*findings, marked_finding())
    findings = (*findings, *shadow_findings(cells, sorted_), *uncertain_yarns(sorted_))
    key = find_key(photo.rgb, grid, cells, sorted_)
    if key is not None:
        key = named(photo.rgb, grid, key, settings.quarters)
    return Page(sorted_, colours, corners_of(grid), size, findings, key)


def _squares(photo: Picture, grid: ChartGrid, settings: ReadSettings) -> _Squares:
    cells, paper = read_cells(photo.rgb, grid.lattice, grid.columns, grid.rows)
    return _Squares(cells, sort_cells(cells, settings.count), paper)


def _painted(
    photo: Picture, gray: NDArray[np.uint8], grid: ChartGrid, settings: ReadSettings
) -> tuple[ChartGrid, _Squares, tuple[Finding, ...]]:
    """The grid without empty squared paper round what is drawn in it, its squares, and a warning of that."""
    size = (settings.stitches, settings.rounds)
    lined = grid if size == (None, None) else lined_grid(gray, grid)
    squares = _squares(photo, lined, settings)
    whole = size == (lined.columns, lined.rows)
    margins = None if whole else empty_margins(gray, lined, squares.cells, squares.sorted)
    if margins is None:
        return grid, squares if lined is grid else _squares(photo, grid, settings), ()
    margins = margins.sized(lined, *size)
    warning = margins_finding(margins, lined, turned=settings.quarters % 2 == 1)
    grid = margins.within(lined)
    return grid, _squares(photo, grid, settings), (warning,)


def _colours(cells: Cells, found: Sorted, paper: Floats | None) -> NDArray[np.uint8]:
    """The colour of each group, the paper taken for white where it is seen."""
    logs = [np.median(cells.plain[found.yarn == group], axis=0) for group in range(found.count)]
    levels = cells.levels(np.array(logs))
    if paper is not None:
        levels = levels * (_WHITE / cells.levels(paper))
    return np.clip(np.rint(levels), 0, 255).astype(np.uint8)
