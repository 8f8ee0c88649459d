"""CSV files of spreadsheets of whatever country: their cells and layout, read and written."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from pic2chart.core.messages import Message, message
from pic2chart.yarns.spelling import columns_of

# Text that a spreadsheet must not run.

# A cell that begins so is run as a formula by some spreadsheet (the last four in East Asian ones).
_FORMULA = re.compile(r"'*[=+\-@\t\r\n＝＋－＠]")
_PLAIN_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?", re.ASCII)


def guard(text: str) -> str:
    """Text as it is written: an apostrophe in front when a spreadsheet might run it."""
    risky = _FORMULA.match(text) and not _PLAIN_NUMBER.fullmatch(text)
    return "'" + text if risky else text


def unguard(cell: str) -> str:
    """The text that `guard` wrote; any other cell is left as it is."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell


# A table as spreadsheets write it to a CSV file, in whatever country: read, and written the same
# way.
#
# Cells are parted by commas, semicolons or tabs; lines end as on any system; the text is UTF-8 with
# or without a mark, the UTF-16 that spreadsheets call Unicode text, or Windows' western letters. What stands above the
# headings (a title, Excel's `sep=;`) and lines without cells are kept.

SEPARATORS = (",", ";", "\t")
_MOST_ABOVE = 10
"""Lines looked at for the headings."""
_NO_TEXT = re.compile(rb"[\x00-\x08\x0e-\x1f\x7f\x81\x8d\x8f\x90\x9d]")
"""Bytes that no text in cp1252 holds."""
_UTF16 = {codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}

CellTexts = tuple[str, ...]
Record = tuple[int, CellTexts]
"""The line a record begins on, counted from 1, and its cells."""


class TableError(Exception):
    """What is wrong with a table, and the line, counted from 1.

    `cells`: how many cells the likeliest headings had, where they are at fault.
    """

    def __init__(self, line: int, what: Message, cells: int = 0) -> None:
        super().__init__(line, what)
        self.line, self.what, self.cells = line, what, cells


@dataclass(frozen=True, slots=True)
class Layout:
    """How a file spells its table.

    `encoding`: None for UTF-8 with a mark where there is more than ASCII, as spreadsheets need it
    to know UTF-8. `above`: records above the headings. `between`: records that are no yarns of their
    own (empty, a total, left aside), by the key of the record that follows, None at the end.
    """

    separator: str = ","
    newline: str = "\r\n"
    encoding: str | None = None
    above: tuple[CellTexts, ...] = ()
    between: Mapping[str | None, tuple[CellTexts, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "between", MappingProxyType(dict(self.between)))


def read_text(data: bytes) -> tuple[str, str | None]:
    """The text and its encoding (None for plain ASCII). Raises TableError.

    What is not UTF-8 is taken for the western letters of Windows (cp1252), which older spreadsheets
    write, unless it holds bytes that no text has.
    """
    sixteen = _UTF16.get(data[:2])
    encoding = sixteen or ("utf-8-sig" if data.startswith(codecs.BOM_UTF8) else "utf-8")
    try:
        text = data[2:].decode(sixteen) if sixteen else data.decode(encoding)
    except UnicodeDecodeError as error:
        if encoding == "utf-8" and not _NO_TEXT.search(data):
            return data.decode("cp1252"), "cp1252"
        line = data[: error.start].count(b"\n") + 1
        raise TableError(line, message("table-not-utf8")) from error
    return text, None if data.isascii() else encoding


def newline_of(text: str) -> str:
    """How the lines of a text end."""
    return next((end for end in ("\r\n", "\n", "\r") if end in text), "\r\n")


@dataclass(frozen=True, slots=True)
class Opened:
    """A table opened at its headings: what stands above them, they, and the records below, those
    without cells too."""

    above: tuple[CellTexts, ...]
    headings: Record
    records: Iterator[Record]


def open_table(text: str, wanted: Iterable[str]) -> tuple[str, Opened]:
    """The separator of a CSV text, and its table.

    The headings are the first record that holds all of `wanted`, in whatever words
    (`spelling.columns_of`). Raises TableError.
    """
    names = frozenset(wanted)
    faults: list[TableError] = []
    for separator in SEPARATORS:
        try:
            return separator, open_records(_records(text, separator), names)
        except TableError as fault:
            faults.append(fault)
    raise max(faults, key=lambda fault: fault.cells)


def open_records(records: Iterator[Record], wanted: Iterable[str]) -> Opened:
    """The table of these records, as `open_table` finds it. Raises TableError."""
    names = frozenset(wanted)
    above: list[CellTexts] = []
    widest: Record = (1, ())
    for line, cells in records:
        if names <= set(columns_of(cells)):
            return Opened(tuple(above), (line, cells), records)
        above.append(cells)
        if any(map(str.strip, cells)) and len(cells) > len(widest[1]):
            widest = (line, cells)
        if len(above) >= _MOST_ABOVE:
            break
    found = ", ".join(repr(cell[:20]) for cell in widest[1][:8]) or "missing"
    joined = " and ".join(sorted(names, reverse=True))
    what = message("table-without-headings", wanted=joined, found=found)
    raise TableError(widest[0], what, len(widest[1]))


def _records(text: str, separator: str) -> Iterator[Record]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader, None)
        except csv.Error as error:
            raise TableError(line, message("table-cells-unreadable", why=str(error))) from error
        if cells is None:
            return
        yield line, tuple(unguard(cell) for cell in cells)


def table_bytes(layout: Layout, header: CellTexts, rows: Iterable[tuple[str, CellTexts]]) -> bytes:
    """The file: headings, then rows under their keys, with all that the layout keeps.

    Text that a spreadsheet would run as a formula gets an apostrophe in front, which reading takes
    off again.
    """
    lines = [_line(cells, layout) for cells in (*layout.above, header)]
    for key, cells in rows:
        lines += [_line(blank, layout) for blank in layout.between.get(key, ())]
        lines.append(_line(cells, layout))
    lines += [_line(blank, layout) for blank in layout.between.get(None, ())]
    text = "".join(lines)
    encoding = layout.encoding or ("utf-8" if text.isascii() else "utf-8-sig")
    if encoding == "cp1252" and text.encode(encoding, "ignore").decode(encoding) != text:
        encoding = "utf-8-sig"  # letters that cp1252 lacks came in
    mark = next((mark for mark, name in _UTF16.items() if name == encoding), b"")
    return mark + text.encode(encoding)


def _line(cells: CellTexts, layout: Layout) -> str:
    """Written with both ends of lines, so that either inside a cell is quoted."""
    line = io.StringIO()
    csv.writer(line, delimiter=layout.separator, lineterminator="\r\n").writerow(map(guard, cells))
    return line.getvalue().removesuffix("\r\n") + layout.newline
