"""A photo, scan or screenshot of a chart on squared paper → a chart, with how sure each stitch is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import Chart, Rules
from pic2chart.chart.keys import clean_title
from pic2chart.colour import srgb_to_lab
from pic2chart.draw.order import to_page
from pic2chart.errors import InputError, SettingError
from pic2chart.files import file_stem
from pic2chart.gauge import Gauge
from pic2chart.picture import Picture, load_picture
from pic2chart.pipeline import chart_files, settle, write_folder
from pic2chart.reading.cells import Cells, paper_of, read_cells
from pic2chart.reading.exact import read_exact
from pic2chart.reading.extent import Sides, chart_box, every_other, seen_sides
from pic2chart.reading.lattice import (
    Lattice,
    count_between,
    find_lattice,
    followed,
    lattice_of_corners,
)
from pic2chart.reading.overlay import draw_chart, jpeg, reduced
from pic2chart.reading.perspective import NO_GRID, Floats, upright_views
from pic2chart.reading.points import four_corners
from pic2chart.reading.read_settings import ReadSettings
from pic2chart.reading.sorting import Sorted, sort_cells
from pic2chart.repeat import Repeat, find_repeat
from pic2chart.report import Report
from pic2chart.rules import Finding
from pic2chart.settings import MAX_YARNS
from pic2chart.yarn import Yarn
from pic2chart.yarn.words import colour_words

ACROSS = 1500
"""The photo is reduced to no fewer pixels across: 12 megapixels to 3."""
DOUBTFUL = 0.9
_LINED = 0.3
_SURE = 0.45
_FEWEST = 4
_WHITE = 255.0


@dataclass(frozen=True, slots=True)
class Doubt:
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
    doubts: tuple[Doubt, ...]
    repeat: Repeat
    corners: Floats
    photo: Picture

    @property
    def stem(self) -> str:
        """Name of the files: the photo's, without its ending."""
        return file_stem(Path(self.photo.name).stem) or "chart"

    @property
    def outline(self) -> list[list[float]]:
        """The chart's four corners in pixels of the photo's file, as --corners takes them."""
        ends = self.corners[[0, 0, -1, -1], [0, -1, -1, 0]]
        return [[round(v, 1) for v in p] for p in ((ends + 0.5) / self.photo.scale - 0.5).tolist()]

    @cached_property
    def overlay(self) -> bytes:
        """The photo as a JPEG, with the squares, the yarns read and the doubtful ones drawn over it."""
        photo, scale = reduced(self.photo.rgb)
        colours = np.array([yarn.rgb for yarn in self.chart.yarns], np.uint8)
        page = to_page(self.chart.stitches, self.chart.hand)
        doubtful = to_page(self.confidence < DOUBTFUL, self.chart.hand)
        corners = (self.corners + 0.5) * scale - 0.5
        draw_chart(photo, corners, colours[page], doubtful)
        return jpeg(photo)

    def files(self) -> dict[str, Any]:
        """The chart folder's files by name, and NAME-read.jpg, the overlay."""
        return {**chart_files(self.chart, self.stem), f"{self.stem}-read.jpg": self.overlay}


@dataclass(frozen=True, slots=True, eq=False)
class _Page:
    """Squares in page order: their groups, the groups' colours, and where the squares lie."""

    sorted: Sorted
    colours: NDArray[np.uint8]
    corners: Floats


def read_photo(path: Path, settings: ReadSettings | None = None) -> Reading:
    """Read the chart in a photo, scan or screenshot.

    Raises InputError when the picture cannot be read or no squared grid is found in it, SettingError
    when the options do not fit together. The same file and settings give the same chart.
    """
    asked = settings or ReadSettings()
    photo = load_picture(path, across=ACROSS)
    page = None if asked.corners else _exact_page(photo, asked)
    if page is None:
        page = _photo_page(photo, asked)
    if page.sorted.count > MAX_YARNS:
        raise InputError(
            f"'{photo.name}' seems to have {page.sorted.count} yarns; a chart has {MAX_YARNS} at the "
            "most. Say how many there are with --yarns."
        )
    return _reading(photo, page, asked)


def write_reading(reading: Reading, out: Path, source: Path | None = None) -> list[Path]:
    """Write the chart folder and the overlay, all files or none; return their paths.

    `source`: the photo, which is never replaced.
    """
    return write_folder(reading.files(), out, source)


def _exact_page(photo: Picture, asked: ReadSettings) -> _Page | None:
    found = read_exact(photo.rgb) if photo.scale == 1 else None
    if found is None:
        return None
    rows, columns = found.yarn.shape
    if asked.stitches not in (None, columns) or asked.rounds not in (None, rows):
        return None
    if asked.yarns not in (None, len(found.colours)):
        return None
    lattice = lattice_of_corners(found.corners, columns, rows)
    sure = np.ones(found.yarn.shape)
    sorted_ = Sorted(found.yarn, sure, found.yarn)
    return _Page(sorted_, np.array(found.colours, np.uint8), _corners(lattice, columns, rows))


def _photo_page(photo: Picture, asked: ReadSettings) -> _Page:
    import cv2

    gray = np.asarray(cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    if asked.corners is None:
        lattice, columns, rows = _found(gray, asked, photo.name)
    else:
        lattice, columns, rows = _given(gray, asked, photo)
    cells = read_cells(photo.rgb, lattice, columns, rows)
    sorted_ = sort_cells(cells, asked.yarns)
    colours = _colours(cells, sorted_, paper_of(photo.rgb, lattice, cells))
    return _Page(sorted_, colours, _corners(lattice, columns, rows))


def _found(gray: NDArray[np.uint8], asked: ReadSettings, name: str) -> tuple[Lattice, int, int]:
    """The lattice with the chart's top left corner as its origin, and the chart's size."""
    lattice, sides = _likeliest(gray, name)
    lattice = _whole_squares(lattice, sides)
    sides = seen_sides(gray, lattice)
    for _ in range(2):  # once the chart's place is known, its own lines alone decide the lattice
        box = chart_box(sides, asked.stitches, asked.rounds)
        (u, v), (left, top, right, bottom) = sides.origin, box
        lattice = followed(gray, lattice, (u + left, v + top, u + right, v + bottom))
        sides = seen_sides(gray, lattice)
    left, top, right, bottom = chart_box(sides, asked.stitches, asked.rounds)
    columns, rows = right - left, bottom - top
    seen = float(sides.squares[top:bottom, left:right].mean())
    if seen < _LINED or min(columns, rows) < _FEWEST:
        raise InputError(NO_GRID.format(name=name))
    _check_size(asked, columns, rows, name)
    return lattice.moved(sides.origin[0] + left, sides.origin[1] + top), columns, rows


def _likeliest(gray: NDArray[np.uint8], name: str) -> tuple[Lattice, Sides]:
    """The lattice whose lines are seen best among those of the likeliest views."""
    best: tuple[float, Lattice, Sides] | None = None
    for view in upright_views(gray, name)[:3]:
        try:
            lattice = find_lattice(gray, view, name)
        except InputError:
            continue
        sides = seen_sides(gray, lattice)
        worth = sides.clearness
        if best is None or worth > best[0]:
            best = (worth, lattice, sides)
        if worth > _SURE:
            break
    if best is None:
        raise InputError(NO_GRID.format(name=name))
    return best[1], best[2]


def _check_size(asked: ReadSettings, columns: int, rows: int, name: str) -> None:
    for word, wanted, size in (
        ("--stitches", asked.stitches, columns),
        ("--rounds", asked.rounds, rows),
    ):
        if wanted not in (None, size):
            raise InputError(
                f"{word} is {wanted}, but only {size} squares are seen in '{name}'; "
                "take the photo so that the whole chart is in it."
            )


def _whole_squares(lattice: Lattice, sides: Sides) -> Lattice:
    """The lattice, coarser where it took half squares for whole ones."""
    box = chart_box(sides)
    for axis in (0, 1):
        first = every_other(sides, box, axis)
        if first is not None:
            lattice = lattice.coarser(axis, sides.origin[axis] + first)
    return lattice


def _given(
    gray: NDArray[np.uint8], asked: ReadSettings, photo: Picture
) -> tuple[Lattice, int, int]:
    """The lattice between corners given by hand, its size counted unless that is given too."""
    corners = four_corners(asked.corners or "", "--corners")
    width, height = photo.size
    if corners[:, 0].max() > width or corners[:, 1].max() > height:
        raise SettingError(
            f"--corners reaches outside the photo, which is {width} pixels wide and {height} high."
        )
    corners = corners * photo.scale
    columns, rows = asked.stitches, asked.rounds
    if columns is None or rows is None:
        counted = list(count_between(gray, corners, photo.name))
        sides = seen_sides(gray, lattice_of_corners(corners, *counted))
        for axis, count in enumerate(counted):
            if every_other(sides, (0, 0, *counted), axis) is not None:  # type: ignore[arg-type]
                counted[axis] = count // 2
        columns, rows = columns or counted[0], rows or counted[1]
    lattice = lattice_of_corners(corners, columns, rows)
    bent = followed(gray, lattice, (0, 0, columns, rows))
    mesh = _mesh(columns, rows)
    moved = np.abs(bent.shift(mesh)).max()
    return (bent if moved < 0.6 else lattice), columns, rows


def _mesh(columns: int, rows: int) -> Floats:
    u, v = np.meshgrid(np.arange(columns + 1.0), np.arange(rows + 1.0))
    return np.stack([u, v], axis=-1)


def _corners(lattice: Lattice, columns: int, rows: int) -> Floats:
    return lattice.to_photo(_mesh(columns, rows))


def _colours(cells: Cells, found: Sorted, paper: Floats | None) -> NDArray[np.uint8]:
    """The colour of each group, the paper taken for white where it is seen."""
    logs = [np.median(cells.plain[found.yarn == group], axis=0) for group in range(found.count)]
    levels = cells.levels(np.array(logs))
    if paper is not None:
        levels = levels * (_WHITE / cells.levels(paper))
    return np.clip(np.rint(levels), 0, 255).astype(np.uint8)


def _reading(photo: Picture, page: _Page, asked: ReadSettings) -> Reading:
    chart_settings = asked.chart
    hand = "left" if asked.left_handed else "right"
    stitches = np.ascontiguousarray(to_page(page.sorted.yarn, hand))
    confidence = np.ascontiguousarray(to_page(page.sorted.confidence, hand))
    names = colour_words([tuple(lab) for lab in srgb_to_lab(page.colours).tolist()])
    yarns = tuple(
        Yarn(name, "#{:02x}{:02x}{:02x}".format(*rgb))
        for name, rgb in zip(names, page.colours.tolist(), strict=True)
    )
    repeat = find_repeat(stitches, circular=False)
    chart = Chart(
        stitches,
        yarns,
        Gauge.parse(asked.gauge),
        asked.title or clean_title(Path(photo.name).stem),
        "flat" if asked.flat else "round",
        "left" if asked.left_handed else "right",
        Rules.of(chart_settings),
        repeat=_whole_repeat(repeat, stitches),
        source={
            "picture": photo.name,
            "sha256": photo.sha256,
            "settings": asked.changed(),
            "confidence": _digits(confidence),
        },
    )
    checked = settle(chart)
    doubts = _doubts(chart, confidence, to_page(page.sorted.other, hand))
    report = replace(checked.report, remarks=(*checked.report.remarks, *_remarks(repeat, doubts)))
    return Reading(
        checked.chart,
        checked.findings,
        report,
        confidence,
        doubts,
        repeat,
        page.corners,
        photo,
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


def _doubts(chart: Chart, confidence: Floats, other: NDArray[np.uint8]) -> tuple[Doubt, ...]:
    """Doubtful stitches, the least sure first."""
    places = np.argwhere(confidence < DOUBTFUL)
    order = np.argsort(confidence[tuple(places.T)], kind="stable")
    return tuple(
        Doubt(
            int(r) + 1,
            int(s) + 1,
            chart.yarns[chart.stitches[r, s]].name,
            chart.yarns[other[r, s]].name,
            round(float(confidence[r, s]), 3),
        )
        for r, s in places[order]
    )


def _remarks(repeat: Repeat, doubts: tuple[Doubt, ...]) -> tuple[str, ...]:
    """The repeat and the doubtful stitches in words."""
    said = []
    if repeat.kind != "once":
        how = "every next column of repeats half a repeat lower" if repeat.drop else "side by side"
        mirror = ", mirrored about an upright axis" if repeat.mirrored else ""
        size = f"{repeat.stitches} stitches × {repeat.rounds} rounds"
        said.append(
            f"Repeat: {size}, {how}{mirror}; {repeat.agreement:.1%} of stitches keep to it."
        )
    if doubts:
        first = "; ".join(
            f"round {d.round}, stitch {d.stitch} ({d.yarn}, or {d.other}?)" for d in doubts[:6]
        )
        more = f" and {len(doubts) - 6} more" if len(doubts) > 6 else ""
        said.append(f"Doubtful, outlined on the photo: {first}{more}.")
    return tuple(said)
