"""Squares that were read become a chart: checked, its repeat found, the doubtful stitches told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import Chart, Rules
from pic2chart.chart.keys import clean_title
from pic2chart.chart_folder import chart_files
from pic2chart.checking import settle
from pic2chart.colour import srgb_to_lab
from pic2chart.draw.order import to_page
from pic2chart.files import file_stem
from pic2chart.gauge import Gauge
from pic2chart.picture import Picture
from pic2chart.reading.overlay import draw_chart, jpeg, reduced
from pic2chart.reading.perspective import Floats
from pic2chart.reading.read_settings import ReadSettings
from pic2chart.reading.sorting import Sorted
from pic2chart.repeat import Repeat, find_repeat
from pic2chart.report import Report
from pic2chart.rules import Finding
from pic2chart.yarn import Yarn
from pic2chart.yarn.words import colour_words

DOUBTFUL = 0.9


@dataclass(frozen=True, slots=True, eq=False)
class Page:
    """Squares in page order: their groups, the groups' colours, and where the squares lie."""

    sorted: Sorted
    colours: NDArray[np.uint8]
    corners: Floats


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
        return file_stem(Path(self.photo.name).stem)

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


def reading_of(photo: Picture, page: Page, asked: ReadSettings) -> Reading:
    """The chart of squares that were read, checked like any chart."""
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
