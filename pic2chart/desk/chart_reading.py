"""A photo of a chart for the page: what was read, what is uncertain, and where it lies in the photo."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from pic2chart.desk.form import worded
from pic2chart.desk.store import with_photo
from pic2chart.model.chart_file import chart_to_text
from pic2chart.model.keys import KEYS
from pic2chart.model.titles import title_of_file
from pic2chart.reading.chart_photo import Reading
from pic2chart.reading.own_sheets import read_pages
from pic2chart.reading.reading_settings import ReadSettings
from pic2chart.reading.second_look import SIZE, YARNS
from pic2chart.sheets.marks.order import to_page

_MOST = 200
"""Uncertain squares that are offered one after the other, the least sure first."""


def read_for_page(data: bytes, name: str, root: Path, settings: ReadSettings) -> dict[str, Any]:
    """The chart in a photo, as a chart file's text, with what the page shows of it. Nothing is kept.

    Places are in pixels of the upright photo; `uncertain` counts rounds and stitches from 1. Raises
    InputError where no chart is found.
    """
    (read,) = with_photo(data, root, lambda path: read_pages([path], settings))
    chart = read.chart.with_(title=title_of_file(name))
    whole = not isinstance(read, Reading)
    if whole:
        chart = read.chart
    return {
        "chart": chart_to_text(chart),
        "title": chart.title,
        "size": [chart.stitch_count, chart.round_count],
        "yarns": [
            {"key": key, "name": yarn.name, "colour": yarn.colour}
            for key, yarn in zip(KEYS, chart.yarns, strict=False)
        ],
        "whole": whole,
        "remark": worded(read.report.remarks[0]),
        "warnings": [worded(f.what) for f in read.findings if f.rule in (SIZE, YARNS)],
        "corners": read.outline if isinstance(read, Reading) else [],
        "uncertain": _uncertain(read) if isinstance(read, Reading) else [],
    }


def _uncertain(read: Reading) -> list[dict[str, Any]]:
    """Each uncertain stitch with its yarn, the next likeliest, and its box in the upright photo."""
    chart = read.chart
    order = to_page(np.arange(chart.stitches.size).reshape(chart.stitches.shape), chart.hand)
    row, column = np.divmod(np.argsort(order.ravel()), chart.stitch_count)
    key = {yarn.name: key for key, yarn in zip(KEYS, chart.yarns, strict=False)}
    corners = (read.corners + 0.5) / read.photo.scale - 0.5
    corners += np.array([read.photo.window.x, read.photo.window.y])
    found = []
    for one in read.uncertain[:_MOST]:
        at = (one.round - 1) * chart.stitch_count + one.stitch - 1
        r, c = int(row[at]), int(column[at])
        square = corners[r : r + 2, c : c + 2].reshape(-1, 2)
        low, high = square.min(axis=0), square.max(axis=0)
        box = [round(float(v), 1) for v in (*low, *(high - low))]
        found.append(
            {"round": one.round, "stitch": one.stitch, "yarn": key[one.yarn], "other": key[one.other],
             "box": box}
        )  # fmt: skip
    return found
