"""Chart files, `*.chart.json`, format version 1: UTF-8 JSON that reads well in a diff.

`rounds[0]` is round 1 and its first character stitch 1, at the right-hand edge; '.' is no stitch.
Rounds and stitches count from 1. A catch names the yarn caught behind that stitch. `repeat` is
`{"stitches": n, "rounds": n}`; `fixed` has rows like `rounds`, '#' where a stitch must not change.
Names this program does not know are kept, at the top of the file and inside `gauge`, `rules`,
`repeat` and each yarn, and written again. A newer version is refused.
"""

from __future__ import annotations

from pathlib import Path

from pic2chart.chart.chart import Chart
from pic2chart.chart.json_read import chart_from_text
from pic2chart.chart.json_write import chart_to_text
from pic2chart.errors import InputError
from pic2chart.files import read_text, write_atomic

__all__ = ["chart_from_text", "chart_to_text", "read_chart", "write_chart"]

MAX_BYTES = 20_000_000


def read_chart(path: Path) -> Chart:
    """Read a chart file of at most 20 MB. Raises InputError with one sentence naming the trouble."""
    content = read_text(path, MAX_BYTES, "chart file")
    try:
        return chart_from_text(content)
    except InputError as error:
        raise InputError(f"'{path.name}': {error}") from error


def write_chart(chart: Chart, path: Path) -> None:
    """Write a chart file all at once. Raises OutputError."""
    write_atomic(path, chart_to_text(chart))
