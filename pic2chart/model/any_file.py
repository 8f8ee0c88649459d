"""Reading a chart whichever of its files is given: `*.chart.json`, a pixel PNG, a CSV of keys or a drawing."""

from __future__ import annotations

import csv
import io
import struct
import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from pic2chart.core.confined import Parts, confined
from pic2chart.core.errors import InputError, reason
from pic2chart.core.files import read_bytes, read_text, write_atomic
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE, MAX_YARNS
from pic2chart.model.attached import charts_in, is_drawing
from pic2chart.model.chart import NO_STITCH, Chart, Stitches
from pic2chart.model.chart_file import read_chart
from pic2chart.model.keys import GAP, KEYS, rows_of, stitches_of
from pic2chart.model.plain_json import shown
from pic2chart.model.titles import title_of_file
from pic2chart.model.yarn import Yarn

if TYPE_CHECKING:
    from PIL.Image import Image


# Charts as tables of keys: the top line is the last round, the leftmost cell its last stitch.
#
# A cell is one character, the key of a yarn; '.' or an empty cell is no stitch. Keys are written as A
# to L in the order of the chart's yarns, so no cell can be taken for a formula by a spreadsheet. Read,
# keys among A to L stand for the first to the twelfth yarn; any other characters are taken in order.

MAX_CSV_BYTES = 20_000_000

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
    rows = _rows(read_text(path, MAX_CSV_BYTES, "table"), path.name)
    keys = _keys(rows, path.name)
    given = tuple(yarns) or STAND_INS
    if len(given) < len(keys):
        raise InputError(
            message(
                "not-enough-yarns-for-keys",
                file=path.name,
                needed=len(keys),
                keys=tuple(keys),
                given=len(given),
            )
        )
    chosen = tuple(yarns)[:MAX_YARNS] or STAND_INS[: len(keys)]
    try:
        stitches = stitches_of([row[::-1] for row in reversed(rows)], keys)
        return Chart(stitches, chosen, title=title_of_file(path.name))
    except InputError as error:
        raise InputError(message("in-file", file=path.name, why=error.message)) from error


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
                raise InputError(message("table-too-long", file=name, most=MAX_SIDE))
    except csv.Error as error:
        raise InputError(message("not-a-table", file=name, why=str(error))) from error
    if not rows:
        raise InputError(message("table-empty", file=name))
    return rows


def _row(cells: list[str], line: int, name: str) -> str:
    if len(cells) > MAX_SIDE:
        raise InputError(
            message("table-line-too-long", file=name, line=line, cells=len(cells), most=MAX_SIDE)
        )
    keys = [cell.strip() or GAP for cell in cells]
    for i, key in enumerate(keys):
        if len(key) != 1 or not key.isprintable():
            raise InputError(
                message("table-bad-cell", file=name, line=line, cell=i + 1, key=shown(key), gap=GAP)
            )
    return "".join(keys)


def _keys(rows: list[str], name: str) -> dict[str, int]:
    """The yarn each key stands for."""
    seen = sorted(set("".join(rows)) - {GAP})
    if not seen:
        raise InputError(message("table-without-stitches", file=name))
    if set(seen) <= set(KEYS):
        seen = list(KEYS[: KEYS.index(seen[-1]) + 1])
    if len(seen) > MAX_YARNS:
        raise InputError(message("table-of-many-keys", file=name, keys=len(seen), most=MAX_YARNS))
    return {key: i for i, key in enumerate(seen)}


# Charts as pictures of one pixel a stitch: the top line is the last round, the left edge the last
# stitch, and a transparent pixel is no stitch.
#
# An indexed picture brings its yarns in the order of its palette; any other has them most used first.
# The PNG standard: ISO/IEC 15948.

MAX_PNG_BYTES = 20_000_000
SIGNATURE = b"\x89PNG\r\n\x1a\n"
_HEADER = 24
"""Bytes up to and with the width and height: signature, chunk length, chunk name, two numbers."""
_OPAQUE = 128

Rgb = tuple[int, int, int]


def read_png(path: Path) -> Chart:
    """Read a PNG of one pixel a stitch with at most 12 colours.

    Raises InputError when it is no PNG, too large, or has more colours than a chart has yarns.
    """
    data = read_bytes(path, MAX_PNG_BYTES, "pixel chart")
    facts, squares = confined(png_parts, path, data)
    try:
        page = np.frombuffer(squares[0], np.uint8).reshape(facts["shape"])
        count = int(facts["count"])
        colours = [(int(r), int(g), int(b)) for r, g, b in facts["colours"]]
    except (LookupError, TypeError, ValueError) as error:
        raise InputError(message("png-damaged", file=path.name)) from error
    if count > MAX_YARNS:
        raise InputError(
            message("png-of-many-colours", file=path.name, colours=count, most=MAX_YARNS)
        )
    yarns = tuple(
        Yarn(f"yarn {KEYS[i]}", f"#{r:02x}{g:02x}{b:02x}") for i, (r, g, b) in enumerate(colours)
    )
    if not yarns:
        raise InputError(message("png-transparent", file=path.name))
    return Chart(page[::-1, ::-1], yarns, title=title_of_file(path.name))


def is_pixel_chart(path: Path, most: int) -> bool:
    """Whether a PNG has at most `most` pixels a side and no more colours than a chart has yarns.

    Of any other file, also one that cannot be read, False: whoever reads it as a picture says why.
    """
    try:
        with path.open("rb") as file:
            head = file.read(_HEADER)
        sides = struct.unpack(">II", head[-8:])
        return head.startswith(SIGNATURE) and max(sides) <= most and bool(read_png(path).yarns)
    except (OSError, struct.error, InputError):
        return False


def png_parts(path: Path, data: bytes) -> Parts:
    """What `read_png` decodes: squares in page order, how many colours there are, and the first of them."""
    try:
        picture = _open(data, path.name)
        indexed = picture.mode == "P" and _from_palette(picture)
        page, colours = indexed or _from_pixels(picture)
    except InputError:
        raise
    except Exception as error:  # decoders raise anything, from struct.error to IndexError
        raise InputError(message("png-damaged", file=path.name)) from error
    facts = {"shape": page.shape, "count": len(colours), "colours": colours[:MAX_YARNS]}
    return facts, [np.ascontiguousarray(page)]


def _open(data: bytes, name: str) -> Image:
    """The picture, its pixels loaded; its size is read from the header and checked first."""
    from PIL import Image

    if not data.startswith(SIGNATURE) or len(data) < _HEADER:
        raise InputError(message("not-a-png", file=name))
    width, height = struct.unpack(">II", data[_HEADER - 8 : _HEADER])
    if not max(width, height) <= MAX_SIDE:
        raise InputError(
            message("png-too-large", file=name, width=width, height=height, most=MAX_SIDE)
        )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of parts that hold no stitches
        picture = Image.open(io.BytesIO(data), formats=["PNG"])
        picture.load()
    if max(picture.size) > MAX_SIDE:  # a second header further on
        raise InputError(message("png-damaged", file=name))
    return picture


def _from_palette(picture: Image) -> tuple[Stitches, list[Rgb]] | None:
    """Indices as they are, in page order, or None when they do not number at most 12 yarns."""
    page = np.array(picture, np.uint8)
    clear = np.asarray(picture.convert("RGBA"))[..., 3] < _OPAQUE
    page[clear] = NO_STITCH
    used = page[~clear]
    count = int(used.max()) + 1 if used.size else 0
    flat = picture.getpalette("RGB") or []
    if not 0 < count <= MAX_YARNS or len(flat) < 3 * count:
        return None
    return page, [(flat[i], flat[i + 1], flat[i + 2]) for i in range(0, 3 * count, 3)]


def _from_pixels(picture: Image) -> tuple[Stitches, list[Rgb]]:
    """Indices by colour in page order, the most used colour first (then the darkest)."""
    rgba = np.asarray(picture.convert("RGBA")).astype(np.int64)
    packed = rgba[..., 0] << 16 | rgba[..., 1] << 8 | rgba[..., 2]
    clear = rgba[..., 3] < _OPAQUE
    colours, index, counts = np.unique(packed[~clear], return_inverse=True, return_counts=True)
    order = np.argsort(-counts, kind="stable")
    rank = np.argsort(order).astype(np.uint8) if len(order) <= MAX_YARNS else np.zeros(len(order))
    page = np.full(clear.shape, NO_STITCH, np.uint8)
    page[~clear] = rank[index]
    return page, [(c >> 16, c >> 8 & 255, c & 255) for c in colours[order].tolist()]


_TABLES = (".csv", ".tsv", ".txt")
_SAYS = 1024
"""Bytes in which a file says what it is."""


def read_any(path: Path) -> Chart:
    """Read a chart by what the file holds, then by its name. Raises InputError.

    Of an SVG or PDF that the program drew, the chart that it carries.
    """
    start, ending = _start(path), path.suffix.lower()
    if is_drawing(path, start):
        return _only_chart(path)
    if start.startswith(SIGNATURE) or ending == ".png":
        return read_png(path)
    if start.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] == b"{" or ending == ".json":
        return read_chart(path)
    if ending in _TABLES:
        return read_csv(path)
    raise InputError(message("not-a-chart", file=path.name))


def begins_as_drawing(path: Path) -> bool:
    """Whether a file is an SVG or a PDF. Raises InputError when it cannot be opened."""
    return is_drawing(path, _start(path))


def _only_chart(path: Path) -> Chart:
    """The one chart that a drawing carries."""
    found = charts_in(path)
    if len(found) > 1:
        raise InputError(
            message("carries-many-charts", file=path.name, count=len(found), charts=tuple(found))
        )
    return next(iter(found.values()))


def chart_paths(paths: Sequence[Path]) -> list[Path]:
    """The charts meant by some paths: a folder stands for every chart file in it, as a garment's does.

    Raises InputError for a folder that holds none.
    """
    found: list[Path] = []
    for path in paths:
        inside = sorted(path.glob("*.chart.json")) if path.is_dir() else [path]
        if not inside:
            raise InputError(message("folder-without-charts", folder=str(path)))
        found += inside
    return found


def _start(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(_SAYS)
    except (OSError, ValueError) as error:  # ValueError: no file can have such a name
        raise InputError(message("chart-unreadable", path=str(path), why=reason(error))) from error
