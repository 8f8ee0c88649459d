"""The shelf: a CSV file of the yarns one has, read and written.

Columns, in any order: name and colour must be there; weight, m_per_100g, grams, price, lot and
note may be. Cells are parted by commas, semicolons or tabs, as spreadsheets write them. Columns of
one's own, and the spelling of cells that still mean the same, are kept when the file is rewritten.
"""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, Self

from pic2chart.errors import InputError, SettingError
from pic2chart.files import read_bytes, write_atomic
from pic2chart.yarn.cells import guard, read_colour, read_number, unguard, write_number
from pic2chart.yarn.yarn import Yarn

MAX_BYTES = 5_000_000
MAX_SHELF = 20_000
MAX_COLUMNS = 100
COLUMNS = ("name", "colour", "weight", "m_per_100g", "grams", "price", "lot", "note")
_NUMBERS = ("m_per_100g", "grams", "price")
_SEPARATORS = (",", ";", "\t")

Record = tuple[int, list[str]]
"""The line a record begins on, counted from 1, and its cells."""


def read_shelf(path: Path) -> tuple[Yarn, ...]:
    """The yarns of a shelf file, in its order; raises InputError naming the line at fault."""
    return Shelf.read(path).yarns


def write_shelf(path: Path, yarns: Iterable[Yarn]) -> None:
    """Write yarns to a shelf file; over an existing shelf, its own columns stay with their yarns.

    Raises InputError when something else than a shelf is there, OutputError when the disk refuses.
    """
    old = Shelf.read(path) if path.exists() else Shelf(())
    old.with_yarns(yarns).write(path)


@dataclass(frozen=True, slots=True)
class Shelf:
    """Yarns, each name once, and beside them the file they came from.

    `header`: the headings of the file. `rows`: for each yarn of the file its cells by heading
    number, under the yarn's name; yarns that came from no file have none. `separator`: what parts
    the cells. Raises SettingError when there are too many yarns.
    """

    yarns: tuple[Yarn, ...]
    header: tuple[str, ...] = ("name", "colour")
    rows: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    separator: str = ","

    def __post_init__(self) -> None:
        object.__setattr__(self, "rows", MappingProxyType(dict(self.rows)))
        if len(self.yarns) > MAX_SHELF:
            raise SettingError(f"A shelf holds at most {MAX_SHELF} yarns, not {len(self.yarns)}.")
        taken: set[str] = set()
        for yarn in self.yarns:
            if yarn.name.casefold() in taken:
                raise SettingError(f"Two yarns are called '{yarn.name}'; give each its own name.")
            taken.add(yarn.name.casefold())

    @classmethod
    def read(cls, path: Path) -> Self:
        """Read a shelf file of at most 5 MB and 20 000 yarns; raises InputError naming the line."""
        text = _decode(read_bytes(path, MAX_BYTES, "shelf"), path)
        separator, header, records = _open_table(text, path)
        yarns: list[Yarn] = []
        rows: dict[str, tuple[str, ...]] = {}
        lines: dict[str, int] = {}
        for line, cells in records:
            try:
                row = _fit(cells, len(header))
                yarn = _read_yarn(header, row, separator)
                _claim(yarn.name, line, lines)
            except (ValueError, SettingError) as error:
                raise _fault(path, line, error) from error
            yarns.append(yarn)
            rows[yarn.name] = row
        return cls(tuple(yarns), header, rows, separator)

    def with_yarns(self, yarns: Iterable[Yarn]) -> Shelf:
        """The same file with other yarns; a yarn keeps the cells of its name."""
        return Shelf(tuple(yarns), self.header, self.rows, self.separator)

    def write(self, path: Path) -> None:
        """Write the file all at once; raises OutputError when the disk refuses.

        Text that a spreadsheet would run as a formula gets an apostrophe in front, which reading
        takes off again.
        """
        header = self.header + self._missing_columns()
        table = io.StringIO()
        writer = csv.writer(table, delimiter=self.separator, lineterminator="\r\n")
        for cells in (header, *(self._cells(yarn, header) for yarn in self.yarns)):
            writer.writerow(guard(cell) for cell in cells)
        text = table.getvalue()
        # Spreadsheets take a file for UTF-8 only when it begins with a byte-order mark.
        write_atomic(path, text if text.isascii() else "\ufeff" + text)

    def _missing_columns(self) -> tuple[str, ...]:
        present = {_column(heading) for heading in self.header}
        wanted = (c for c in COLUMNS if any(getattr(yarn, c) is not None for yarn in self.yarns))
        return tuple(column for column in wanted if column not in present)

    def _cells(self, yarn: Yarn, header: tuple[str, ...]) -> list[str]:
        """The yarn's cells: those of its file where they still say the same, else new ones."""
        row = _fit(self.rows.get(yarn.name, ()), len(header))
        return [
            cell if _means(heading, cell, yarn, self.separator) else self._cell(heading, yarn)
            for heading, cell in zip(header, row, strict=True)
        ]

    def _cell(self, heading: str, yarn: Yarn) -> str:
        value = getattr(yarn, _column(heading))
        if value is None:
            return ""
        is_number = _column(heading) in _NUMBERS
        return write_number(float(value), self.separator) if is_number else str(value)


def _decode(data: bytes, path: Path) -> str:
    """UTF-8 with or without a mark, or the UTF-16 that spreadsheets call Unicode text."""
    utf16 = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        return data.decode("utf-16" if utf16 else "utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise _fault(path, line, "it is not UTF-8 text; save it as CSV in UTF-8") from error


def _open_table(text: str, path: Path) -> tuple[str, tuple[str, ...], Iterator[Record]]:
    """The separator, the headings and the records after them."""
    line, headings = 1, [""]
    for separator in _SEPARATORS:
        records = _records(text, separator, path)
        line, cells = next(records, (1, [""]))
        columns = [_column(cell) for cell in cells]
        if "name" in columns and "colour" in columns:
            _check_headings(columns, path, line)
            return separator, tuple(cells), records
        headings = max(headings, cells, key=len)
    found = ", ".join(repr(heading[:20]) for heading in headings[:8])
    raise _fault(path, line, f"the headings must hold name and colour; they are {found}")


def _records(text: str, separator: str, path: Path) -> Iterator[Record]:
    """Every record that is not blank, with the line it begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader, None)
        except csv.Error as error:
            raise _fault(path, line, f"the quotes or cells cannot be read ({error})") from error
        if cells is None:
            return
        if any(cell.strip() for cell in cells):
            yield line, [unguard(cell) for cell in cells]


def _check_headings(columns: list[str], path: Path, line: int) -> None:
    if len(columns) > MAX_COLUMNS:
        raise _fault(path, line, f"it has {len(columns)} columns; {MAX_COLUMNS} are the most")
    for column in COLUMNS:
        if columns.count(column) > 1:
            raise _fault(path, line, f"two columns are headed '{column}'; keep one")


def _column(heading: str) -> str:
    """A heading without the ways people vary it: case, spaces, 'color'."""
    plain = "_".join(heading.casefold().split())
    return "colour" if plain == "color" else plain


def _fit(cells: Iterable[str], count: int) -> tuple[str, ...]:
    """As many cells as there are headings; raises ValueError when a cell has no heading."""
    row = list(cells)
    if any(cell.strip() for cell in row[count:]):
        raise ValueError(
            f"it has {len(row)} cells but there are {count} headings; put cells that hold "
            "the separator in double quotes"
        )
    return tuple(row[:count] + [""] * (count - len(row)))


def _read_yarn(header: tuple[str, ...], row: tuple[str, ...], separator: str) -> Yarn:
    facts = {
        column: _read_cell(column, cell, separator)
        for column, cell in zip(map(_column, header), row, strict=True)
        if column in COLUMNS
    }
    for column in ("name", "colour"):
        if not facts[column]:
            raise ValueError(f"the yarn has no {column}")
    return Yarn(**facts)


def _read_cell(column: str, cell: str, separator: str) -> Any:
    """What a cell says, None when it is blank; raises ValueError when it says nothing sensible."""
    text = cell.strip()
    if not text:
        return None
    if column == "name":
        return " ".join(text.split())
    if column == "colour":
        return read_colour(text)
    try:
        return read_number(text, separator) if column in _NUMBERS else text
    except ValueError as error:
        raise ValueError(f"{column} {error}") from error


def _means(heading: str, cell: str, yarn: Yarn, separator: str) -> bool:
    """Whether the cell already says what the yarn is; a column of one's own always does."""
    column = _column(heading)
    if column not in COLUMNS:
        return True
    try:
        return bool(_read_cell(column, cell, separator) == getattr(yarn, column))
    except ValueError:
        return False


def _claim(name: str, line: int, lines: dict[str, int]) -> None:
    """Note the line of a name; raises ValueError when the name is taken or the shelf is full."""
    if (first := lines.setdefault(name.casefold(), line)) != line:
        raise ValueError(
            f"the yarn '{name}' is on line {first} already; give each its own name, "
            "for example with its lot"
        )
    if len(lines) > MAX_SHELF:
        raise ValueError(f"a shelf holds at most {MAX_SHELF} yarns; split it")


def _fault(path: Path, line: int, what: object) -> InputError:
    return InputError(f"Line {line} of the shelf '{path}': {str(what).rstrip('.')}.")
