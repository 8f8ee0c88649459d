"""The program's own sheets read again, whole: from the file, or from the square codes of photographs.

A file carries its chart; a page of paper carries it in a code where it had room for one, or a part of
it. What is restored is the chart itself with every stitch, catch and yarn, held to a checksum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.finding import Finding
from pic2chart.checks.report import Report
from pic2chart.core.errors import InputError
from pic2chart.core.files import file_stem, write_folder
from pic2chart.core.messages import Message, message
from pic2chart.design.checked import settle
from pic2chart.model.any_file import begins_as_drawing
from pic2chart.model.attached import charts_in
from pic2chart.model.chart import Chart
from pic2chart.model.code_words import CodePart, joined
from pic2chart.picture.decode import load_picture
from pic2chart.pipeline import chart_files
from pic2chart.reading.chart_photo import Reading, read_photo, warned
from pic2chart.reading.fabric_chart import read_fabric
from pic2chart.reading.reading_settings import ReadSettings
from pic2chart.reading.second_look import SIZE

_ENLARGED_PX = 9_000_000
"""Pictures of fewer pixels are looked at twice as large too, where no code is found at first."""


@dataclass(frozen=True, slots=True)
class Restored:
    """A chart that a file or a code carried, and what the checks say of it."""

    chart: Chart
    findings: Sequence[Finding]
    report: Report
    stem: str

    def files(self) -> dict[str, Any]:
        """The chart folder's files by name."""
        return dict(chart_files(self.chart, self.stem))


def read_pages(
    paths: Sequence[Path], settings: ReadSettings | None = None
) -> tuple[Reading | Restored, ...]:
    """Every chart in drawings of the program and in photos; several photos are pages of one chart.

    A photo whose code has the whole chart, or photos that together have it, restore it; any other
    photo is read square by square; photos of fabric are read each by itself. Raises InputError when pages of one chart are missing, or when
    several photos are not of one chart.
    """
    settings = settings or ReadSettings()
    found: list[Reading | Restored] = []
    photos = [path for path in paths if not begins_as_drawing(path)]
    for path in paths:
        if path not in photos:
            for stem, chart in charts_in(path).items():
                found.append(_restored(chart, stem, message("restored-from-file", file=path.name)))
    if settings.fabric:
        found += [read_fabric(path, settings) for path in photos]
    elif photos:
        found.append(_from_photos(photos, settings))
    return tuple(found)


def _from_photos(photos: Sequence[Path], settings: ReadSettings) -> Reading | Restored:
    seen = {path: codes_in(np.asarray(load_picture(path).rgb)) for path in photos}
    parts = [part for codes in seen.values() for part in codes]
    marks = {part.checksum for part in parts}
    if len(photos) > 1:
        bare = next((path.name for path, codes in seen.items() if not codes), None)
        if bare is not None:
            raise InputError(message("photo-without-code", file=bare))
        if len(marks) > 1:
            raise InputError(message("photos-of-charts", count=len(marks)))
    whole = [] if len(marks) != 1 else [joined(parts)]
    if whole and whole[0][0] is not None:
        said = message("restored-from-code", pages=len(photos))
        return _restored(whole[0][0], file_stem(photos[0].stem), said)
    if len(photos) > 1:
        missing = whole[0][1]
        if not missing:
            raise InputError(message("pages-carry-no-chart"))
        count = max(part.parts for part in parts)
        raise InputError(message("pages-missing", missing=missing, count=count))
    return _held_to(read_photo(photos[0], settings), parts)


def _restored(chart: Chart, stem: str, how: Message) -> Restored:
    checked = settle(chart)
    report = replace(checked.report, remarks=(how, *checked.report.remarks))
    return Restored(checked.chart, checked.findings, report, stem)


def _held_to(reading: Reading, parts: Sequence[CodePart]) -> Reading:
    """A reading with what the code on its page says of its size."""
    if len({part.checksum for part in parts}) != 1:
        return reading
    part = parts[0]
    size = (reading.chart.stitch_count, reading.chart.round_count)
    said = message("code-agrees", stitches=part.size[0], rounds=part.size[1], parts=part.parts)
    if part.size == size:
        report = replace(reading.report, remarks=(said, *reading.report.remarks))
        return replace(reading, report=report)
    differs = message(
        "code-differs",
        stitches=part.size[0], rounds=part.size[1], across=size[0], up=size[1], page=part.page,
    )  # fmt: skip
    cure = message("code-differs-mend", options=("stitches", "rounds", "region"))
    return warned(reading, [Finding(SIZE, "warning", differs, cure)])


def codes_in(rgb: NDArray[np.uint8]) -> tuple[CodePart, ...]:
    """The program's own square codes in a picture, each part of a chart once."""
    import cv2

    gray = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    found = _codes(gray)
    if not found and gray.size < _ENLARGED_PX:
        found = _codes(cv2.resize(gray, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC))
    return tuple(dict.fromkeys(found))


def _codes(gray: NDArray[Any]) -> list[CodePart]:
    import zxingcpp

    kinds = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode)
    read = zxingcpp.read_barcodes(gray, formats=kinds)
    return [part for code in read if (part := CodePart.read(code.text)) is not None]


def write_pages(
    read: Sequence[Reading | Restored], out: Path, sources: Sequence[Path] = ()
) -> list[Path]:
    """Write the chart folders' files, all or none; return their paths. `sources` are never replaced."""
    files: dict[str, Any] = {}
    for one in read:
        files |= one.files()
    return write_folder(files, out, sources[0] if sources else None)
