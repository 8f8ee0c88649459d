"""Charts as tables of keys: the top line is the last round, the leftmost cell its last stitch.

A cell is one character, the key of a yarn; '.' or an empty cell is no stitch. Keys are written as A
to L in the order of the chart's yarns, so no cell can be taken for a formula by a spreadsheet. Read,
keys among A to L stand for the first to the twelfth yarn; any other characters are taken in order.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from pic2chart.chart.chart import Chart
from pic2chart.chart.fields import shown
from pic2chart.chart.keys import GAP, KEYS, clean_title, rows_of, stitches_of
from pic2chart.errors import InputError
from pic2chart.files import read_text, write_atomic
from pic2chart.settings import MAX_SIDE, MAX_YARNS
from pic2chart.yarn import Yarn

MAX_BYTES = 20_000_000

STAND_INS = (
    *(Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"), Yarn("rust", "#a8502f")),
    *(Yarn("moss", "#5d6b3a"), Yarn("fog", "#aeb6bd"), Yarn("slate", "#56616b")),
    *(Yarn("gorse", "#d9a927"), Yarn("plum", "#5b3550"), Yarn("shell", "#e3b7a8")),
    *(Yarn("kelp", "#2f4a3a"), Yarn("sky", "#8fb3cf"), Yarn("brick", "#7a2e26")),
)
"""Yarns for a table that comes without: a table of keys has no colours of its own."""


def read_csv(path: Path, yarns: Sequence[Yarn] = ()) -> Chart:
    """Read a table of keys (commas, semicolons or tabs), at most 20 MB.

    `yarns` in the order of the keys; left out, stand-ins are used. Raises InputError naming the
    line and cell that cannot be read, or when there are more keys than yarns.
    """
    rows = _rows(read_text(path, MAX_BYTES, "table"), path.name)
    keys = _keys(rows, path.name)
    given = tuple(yarns) or STAND_INS
    if len(given) < len(keys):
        raise InputError(
            f"'{path.name}' needs {len(keys)} yarns ({' '.join(keys)}), but only {len(given)} are "
            "given; name a yarn for every key."
        )
    chosen = tuple(yarns)[:MAX_YARNS] or STAND_INS[: len(keys)]
    try:
        stitches = stitches_of([row[::-1] for row in reversed(rows)], keys)
        return Chart(stitches, chosen, title=clean_title(path.stem))
    except InputError as error:
        raise InputError(f"'{path.name}': {error}") from error


def write_csv(chart: Chart, path: Path) -> None:
    """Write the table of keys, commas between the cells. Raises OutputError."""
    write_atomic(path, csv_text(chart))


def csv_text(chart: Chart) -> str:
    """The table of keys as text, commas between the cells."""
    lines = [",".join(row[::-1]) for row in reversed(rows_of(chart.stitches))]
    return "\n".join(lines) + "\n"


def _rows(content: str, name: str) -> list[str]:
    """The lines in page order, each a word of keys."""
    counts = {mark: content.count(mark) for mark in ",;\t"}
    mark = max(counts, key=lambda m: counts[m])
    rows: list[str] = []
    try:
        for cells in csv.reader(io.StringIO(content, newline=""), delimiter=mark):
            if cells:
                rows.append(_row(cells, len(rows) + 1, name))
            if len(rows) > MAX_SIDE:
                raise InputError(f"'{name}' has more than {MAX_SIDE} lines, the most a chart has.")
    except csv.Error as error:
        raise InputError(f"'{name}' is not a table of keys: {error}.") from error
    if not rows:
        raise InputError(f"'{name}' is empty; give one line a round and one key a stitch.")
    return rows


def _row(cells: list[str], line: int, name: str) -> str:
    if len(cells) > MAX_SIDE:
        raise InputError(
            f"'{name}', line {line}, has {len(cells)} cells; a chart has {MAX_SIDE} at the most."
        )
    keys = [cell.strip() or GAP for cell in cells]
    for i, key in enumerate(keys):
        if len(key) != 1 or not key.isprintable():
            raise InputError(
                f"'{name}', line {line}, cell {i + 1}, holds {shown(key)}; "
                f"a cell is one character, the key of a yarn, or '{GAP}' for no stitch."
            )
    return "".join(keys)


def _keys(rows: list[str], name: str) -> dict[str, int]:
    """The yarn each key stands for."""
    seen = sorted(set("".join(rows)) - {GAP})
    if not seen:
        raise InputError(f"'{name}' has no stitches; at least one cell must hold a key.")
    if set(seen) <= set(KEYS):
        seen = list(KEYS[: KEYS.index(seen[-1]) + 1])
    if len(seen) > MAX_YARNS:
        raise InputError(
            f"'{name}' has {len(seen)} different keys; a chart has {MAX_YARNS} yarns at the most."
        )
    return {key: i for i, key in enumerate(seen)}
