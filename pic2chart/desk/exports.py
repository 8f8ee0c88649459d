"""What the desk gives out: pictures for the page, and the chart's files and sheets to take away."""

from __future__ import annotations

import base64
import io
import re
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.design.looks import LOOKS
from pic2chart.desk.project import Project
from pic2chart.model.any_file import csv_text
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import chart_to_text
from pic2chart.sheets.document import sheet_files
from pic2chart.sheets.fabric.front import fabric_front
from pic2chart.sheets.sheet_settings import SheetSettings
from pic2chart.sheets.writers.png import pixels_png
from pic2chart.stranding.strands import with_strands

# Pictures for the page: the photo at a size for the screen, the fabric, the way the yarns run.

_ACROSS = 800
"""Pixels left across the picture, or more: enough for a page."""

_FRONT_PX, _FINEST = 720, 8
"""Pixels across a front shown in passing, and the most a stitch takes of them."""

SIGHTS = {"front": "-front.png", "back": "-back.png"}
"""Sides of the fabric, and the file of the sheets that shows each."""


def preview(project: Project) -> tuple[bytes, tuple[int, int]]:
    """The whole picture as JPEG, and its true (width, height). Raises InputError without one."""
    from PIL import Image

    from pic2chart.picture.decode import load_picture

    picture = load_picture(project.original()[0], across=_ACROSS)
    out = io.BytesIO()
    Image.fromarray(picture.rgb).convert("RGB").save(out, "JPEG", quality=85)
    return out.getvalue(), picture.size


def subject(project: Project, marks: Mapping[str, Any]) -> dict[str, Any]:
    """The picture with its subject shown as these marks give it, as a data address, and how it was
    found; no picture where everything is kept. Raises InputError, SettingError.
    """
    from pic2chart.picture.subject_view import subject_jpeg

    whole, found = project.subject(marks)
    shown = None
    if found.mask is not None:
        shown = data_address(subject_jpeg(whole.rgb, found.mask), "image/jpeg")
    return {"how": found.how, "picture": shown}


def looks(project: Project) -> list[dict[str, Any]]:
    """The picture's chart in every look, with what to weigh it by. Raises InputError without one."""
    from pic2chart.compare import compare_looks, look_words

    return [
        {
            "name": name,
            "description": LOOKS[name].description,
            "words": look_words(made),
            "front": front_address(made.chart),
        }
        for name, made in compare_looks(*project.original(), recall=project.recall).items()
    ]


def frames(project: Project) -> list[dict[str, Any]]:
    """The picture's chart in every frame, with what to weigh it by. Raises InputError without one."""
    from pic2chart.compare import FRAME_WORDS, compare_frames

    return [
        {
            "name": name,
            "description": FRAME_WORDS[name],
            "words": offer.words,
            "front": front_address(offer.made.chart),
        }
        for name, offer in compare_frames(*project.original(), recall=project.recall).items()
    ]


def front_address(chart: Chart) -> str:
    """The fabric's front as a data address, for a page."""
    px = min(_FINEST, max(2, _FRONT_PX // chart.stitch_count))
    return data_address(fabric_front(chart, stitch_px=px), "image/png")


def data_address(data: bytes, media: str) -> str:
    """A file of that media type as an address that holds it, for a page."""
    return f"data:{media};base64,{base64.b64encode(data).decode('ascii')}"


def sight(chart: Chart, what: str, number: int | None = None) -> tuple[bytes, str]:
    """Content and media type of one of SIGHTS, of the strand sheet, or of one pixel a stitch.

    The strand sheet is that of round `number`, counted from 1, or of a telling one.
    """
    if what == "small":
        return pixels_png(chart), "image/png"
    if what == "strands":
        options = {} if number is None else {"rounds": str(number)}
        return first_svg(chart, "strands", options), MEDIA["svg"]
    _, data, media = one(chart, SIGHTS[what], {})
    return data, media


# What can be taken away from the desk: the chart's files and its sheets, one by one or all in one.

_SAME_TIME = (2020, 1, 1, 0, 0, 0)
"""Archives carry no clock: the same chart gives the same bytes."""

MEDIA = {
    "json": "application/json",
    "png": "image/png",
    "svg": "image/svg+xml",
    "csv": "text/csv; charset=utf-8",
    "pdf": "application/pdf",
    "html": "text/html; charset=utf-8",
    "txt": "text/plain; charset=utf-8",
    "zip": "application/zip",
}

_PARTS: Mapping[str, tuple[str, ...]] = {
    ".svg": ("chart",),
    ".pdf": ("chart", "strands", "words"),
    "-words.txt": ("words",),
    "-front.png": ("front",),
    "-back.png": ("back",),
    "-strands.pdf": ("strands",),
    "-knit-along.html": ("knit-along",),
}
"""Files of the sheets that are offered one by one, and the parts of the sheets that make them."""

Files = Mapping[str, bytes | str]


def stem(chart: Chart) -> str:
    """A file name made of the title: letters, digits and dashes."""
    words = re.sub(r"[^\w]+", "-", chart.title, flags=re.ASCII).strip("-_").lower()
    return words[:60] or "chart"


def sheet_settings(options: Mapping[str, Any], only: tuple[str, ...] = ()) -> SheetSettings:
    """Sheet settings from the page's text values. Raises SettingError."""
    values: dict[str, Any] = dict(options)
    for name in ("large_print", "wordless"):
        if name in values:
            values[name] = values[name] == "true"
    if "heavy" in values:
        values["heavy"] = int(values["heavy"]) if values["heavy"].isdecimal() else 0
    return SheetSettings(only=only, **values)


def data_files(chart: Chart) -> Files:
    """The chart's own files: for every other command, one pixel a stitch, table of keys."""
    name = stem(chart)
    return {
        f"{name}.chart.json": chart_to_text(with_strands(chart)),
        f"{name}.png": pixels_png(chart),
        f"{name}.csv": csv_text(chart),
    }


def archive(chart: Chart, options: Mapping[str, Any]) -> bytes:
    """The chart's files and all its sheets in one zip archive."""
    return zipped({**data_files(chart), **sheet_files(chart, sheet_settings(options), stem(chart))})


def zipped(files: Files) -> bytes:
    """Files by name as a zip archive; the same files give the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as bundle:
        for name, data in files.items():
            bundle.writestr(zipfile.ZipInfo(name, _SAME_TIME), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def first_svg(chart: Chart, part: str, options: Mapping[str, Any]) -> bytes:
    """The first page of a part of the sheets, as SVG."""
    made: Files = sheet_files(chart, sheet_settings(options, (part,)), stem(chart))
    page = next(data for name, data in made.items() if name.endswith(".svg"))
    return page.encode() if isinstance(page, str) else page


def one(chart: Chart, ending: str, options: Mapping[str, Any]) -> tuple[str, bytes, str]:
    """Name, content and media type of the file with that ending, such as '-front.png' or '.csv'.

    Raises InputError when there is no such file.
    """
    name = stem(chart) + ending
    if ending == ".zip":
        return name, archive(chart, options), MEDIA["zip"]
    if ending in _PARTS:
        made: Files = sheet_files(chart, sheet_settings(options, _PARTS[ending]), stem(chart))
    else:
        made = data_files(chart)
    found = {Path(path).name: data for path, data in made.items()}
    data = found.get(stem(chart) + ".pdf" if ending == "-strands.pdf" else name)
    if data is None:
        raise InputError(message("no-such-export", ending=ending[:30]))
    media = MEDIA.get(ending.rpartition(".")[2], "application/octet-stream")
    return name, data.encode() if isinstance(data, str) else data, media
