"""Reading a chart whichever of its files is given: `*.chart.json`, a pixel PNG or a CSV of keys."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pic2chart.chart.chart import Chart
from pic2chart.chart.csv_file import read_csv
from pic2chart.chart.json_file import read_chart
from pic2chart.chart.png_file import SIGNATURE, read_png
from pic2chart.errors import InputError
from pic2chart.files import reason

_TABLES = (".csv", ".tsv", ".txt")


def read_any(path: Path) -> Chart:
    """Read a chart by what the file holds, then by its name. Raises InputError."""
    start, ending = _start(path), path.suffix.lower()
    if start.startswith(SIGNATURE) or ending == ".png":
        return read_png(path)
    if start.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] == b"{" or ending == ".json":
        return read_chart(path)
    if ending in _TABLES:
        return read_csv(path)
    raise InputError(
        f"'{path.name}' is not a chart: give a .chart.json file, a PNG of one pixel a stitch or a "
        "CSV of keys. To turn a picture into a chart, use the command chart."
    )


def chart_paths(paths: Sequence[Path]) -> list[Path]:
    """The charts meant by some paths: a folder stands for every chart file in it, as a garment's does.

    Raises InputError for a folder that holds none.
    """
    found: list[Path] = []
    for path in paths:
        inside = sorted(path.glob("*.chart.json")) if path.is_dir() else [path]
        if not inside:
            raise InputError(f"The folder '{path}' holds no chart file (*.chart.json).")
        found += inside
    return found


def _start(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(64)
    except OSError as error:
        raise InputError(f"The chart '{path}' cannot be read: {reason(error)}.") from error
