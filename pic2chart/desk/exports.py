"""What can be taken away from the desk: the chart's files and its sheets, one by one or all in one."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping
from typing import Any

from pic2chart.chart import Chart
from pic2chart.chart.csv_file import csv_text
from pic2chart.chart.json_file import chart_to_text
from pic2chart.draw import pixels_png
from pic2chart.errors import InputError
from pic2chart.sheet_settings import SheetSettings
from pic2chart.sheets import sheet_files
from pic2chart.strands import with_strands

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

_PARTS = {
    ".svg": "chart",
    ".pdf": "chart",
    "-words.txt": "words",
    "-front.png": "front",
    "-back.png": "back",
    "-strands.pdf": "strands",
    "-knit-along.html": "knit-along",
}
"""Files of the sheets that are offered one by one, and the part of the sheets that makes them."""

Files = Mapping[str, bytes | str]


def stem(chart: Chart) -> str:
    """A file name made of the title: letters, digits and dashes."""
    words = re.sub(r"[^\w]+", "-", chart.title, flags=re.ASCII).strip("-_").lower()
    return words[:60] or "chart"


def sheet_settings(asked: Mapping[str, Any], only: tuple[str, ...] = ()) -> SheetSettings:
    """Sheet settings from the page's text values. Raises SettingError."""
    values: dict[str, Any] = dict(asked)
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


def archive(chart: Chart, asked: Mapping[str, Any]) -> bytes:
    """The chart's files and all its sheets in one zip archive."""
    return zipped({**data_files(chart), **sheet_files(chart, sheet_settings(asked), stem(chart))})


def zipped(files: Files) -> bytes:
    """Files by name as a zip archive; the same files give the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as bundle:
        for name, data in files.items():
            bundle.writestr(zipfile.ZipInfo(name, _SAME_TIME), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def first_svg(chart: Chart, part: str, asked: Mapping[str, Any]) -> bytes:
    """The first page of a part of the sheets, as SVG."""
    made: Files = sheet_files(chart, sheet_settings(asked, (part,)), stem(chart))
    page = next(data for name, data in made.items() if name.endswith(".svg"))
    return page.encode() if isinstance(page, str) else page


def one(chart: Chart, ending: str, asked: Mapping[str, Any]) -> tuple[str, bytes, str]:
    """Name, content and media type of the file with that ending, such as '-front.png' or '.csv'.

    Raises InputError when there is no such file.
    """
    name = stem(chart) + ending
    if ending == ".zip":
        return name, archive(chart, asked), MEDIA["zip"]
    if ending in _PARTS:
        part = (_PARTS[ending], *(("words",) if ending == ".pdf" else ()))
        made: Files = sheet_files(chart, sheet_settings(asked, part), stem(chart))
    else:
        made = data_files(chart)
    if name not in made:
        raise InputError(f"There is no file '{ending[:30]}' of a chart.")
    data = made[name]
    media = MEDIA.get(ending.rpartition(".")[2], "application/octet-stream")
    return name, data.encode() if isinstance(data, str) else data, media
