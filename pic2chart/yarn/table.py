"""A table as spreadsheets write it to a CSV file, in whatever country: read, and written the same way.

Cells are parted by commas, semicolons or tabs; lines end as on any system; the text is UTF-8 with or
without a mark, or the UTF-16 that spreadsheets call Unicode text. What stands above the headings (a
title, Excel's `sep=;`) and lines without cells are kept.
"""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from pic2chart.yarn.cells import guard, unguard

SEPARATORS = (",", ";", "\t")
_MOST_ABOVE = 10
"""Lines looked at for the headings."""
_UTF16 = {codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}

Cells = tuple[str, ...]
Record = tuple[int, Cells]
"""The line a record begins on, counted from 1, and its cells."""


class TableError(Exception):
    """What is wrong with a table, and the line, counted from 1."""

    def __init__(self, line: int, what: str) -> None:
        super().__init__(what)
        self.line, self.what = line, what


@dataclass(frozen=True, slots=True)
class Layout:
    """How a file spells its table.

    `encoding`: None for UTF-8 with a mark where there is more than ASCII, as spreadsheets need it
    to know UTF-8. `above`: records above the headings. `between`: records without anything in them,
    by the key of the record that follows, None at the end.
    """

    separator: str = ","
    newline: str = "\r\n"
    encoding: str | None = None
    above: tuple[Cells, ...] = ()
    between: Mapping[str | None, tuple[Cells, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "between", MappingProxyType(dict(self.between)))


def read_text(data: bytes) -> tuple[str, str | None]:
    """The text and its encoding (None for plain ASCII). Raises TableError."""
    sixteen = _UTF16.get(data[:2])
    encoding = sixteen or ("utf-8-sig" if data.startswith(codecs.BOM_UTF8) else "utf-8")
    try:
        text = data[2:].decode(sixteen) if sixteen else data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise TableError(line, "it is not UTF-8 text; save it as CSV in UTF-8") from error
    return text, None if data.isascii() else encoding


def newline_of(text: str) -> str:
    """How the lines of a text end."""
    return next((end for end in ("\r\n", "\n", "\r") if end in text), "\r\n")


def open_table(
    text: str, wanted: Iterable[str], plain: Mapping[str, str] | None = None
) -> tuple[str, tuple[Cells, ...], Record, Iterator[Record]]:
    """The separator, what stands above the headings, the headings, and an iterator of all records
    after them, those without cells too.

    The headings are the first record that holds all of `wanted` once case, spaces and other spellings
    (`plain`: from one to the word in `wanted`) are out of the way. Raises TableError.
    """
    names = frozenset(wanted)
    faults: list[TableError] = []
    first: Record = (1, ())
    for separator in SEPARATORS:
        above: list[Cells] = []
        records = _records(text, separator)
        try:
            for line, cells in records:
                if names <= {heading(cell, plain) for cell in cells}:
                    return separator, tuple(above), (line, cells), records
                above.append(cells)
                if any(map(str.strip, cells)) and len(cells) > len(first[1]):
                    first = (line, cells)
                if len(above) >= _MOST_ABOVE:
                    break
        except TableError as fault:
            faults.append(fault)
    if faults and not first[1]:
        raise faults[0]
    found = ", ".join(repr(cell[:20]) for cell in first[1][:8]) or "missing"
    joined = " and ".join(sorted(names, reverse=True))
    raise TableError(first[0], f"the headings must hold {joined}; they are {found}")


def heading(cell: str, plain: Mapping[str, str] | None = None) -> str:
    """A heading without the ways people vary it."""
    word = "_".join(cell.casefold().split())
    return (plain or {}).get(word, word)


def _records(text: str, separator: str) -> Iterator[Record]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader, None)
        except csv.Error as error:
            raise TableError(line, f"the quotes or cells cannot be read ({error})") from error
        if cells is None:
            return
        yield line, tuple(unguard(cell) for cell in cells)


def table_bytes(layout: Layout, header: Cells, rows: Iterable[tuple[str, Cells]]) -> bytes:
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
    mark = next((mark for mark, name in _UTF16.items() if name == encoding), b"")
    return mark + text.encode(encoding)


def _line(cells: Cells, layout: Layout) -> str:
    """Written with both ends of lines, so that either inside a cell is quoted."""
    line = io.StringIO()
    csv.writer(line, delimiter=layout.separator, lineterminator="\r\n").writerow(map(guard, cells))
    return line.getvalue().removesuffix("\r\n") + layout.newline
