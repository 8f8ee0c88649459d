"""The shelf: a CSV file of the yarns one has, read and written.

Columns, in any order: name and colour must be there; weight, m_per_100g, grams, price, lot and
note may be. Columns of one's own, the order and the spelling of cells that still mean the same, and
the way the file is written (`table`), are kept when it is rewritten.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, Self

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.files import read_bytes, write_atomic
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.table import (
    CellTexts,
    Layout,
    TableError,
    heading,
    newline_of,
    open_table,
    read_colour,
    read_number,
    read_text,
    table_bytes,
    write_number,
)

MAX_BYTES = 5_000_000
MAX_SHELF = 20_000
MAX_COLUMNS = 100
COLUMNS = ("name", "colour", "weight", "m_per_100g", "grams", "price", "lot", "note")
_NUMBERS = ("m_per_100g", "grams", "price")
_OTHER_WORDS = {"color": "colour"}


def read_shelf(path: Path) -> tuple[Yarn, ...]:
    """The yarns of a shelf file, in its order; raises InputError naming the line at fault."""
    return Shelf.read(path).yarns


def begins_as_shelf(data: bytes) -> bool:
    """Whether the first bytes of a file (a thousand or so) hold a shelf's headings."""
    for cut in range(4):  # the last letter may be there in part
        with suppress(TableError):
            open_table(read_text(data[: len(data) - cut])[0], ("name", "colour"), _OTHER_WORDS)
            return True
    return False


def name_key(name: str) -> str:
    """The same for two names that no reader would tell apart: capitals, and accents however typed."""
    return unicodedata.normalize("NFC", name.casefold())


@dataclass(frozen=True, slots=True)
class Shelf:
    """Yarns, each name once, and beside them the file they came from.

    `header`: the headings of the file. `rows`: for each yarn of the file its cells by heading
    number, under the yarn's name; yarns that came from no file have none. `layout`: how the file is
    written. Raises SettingError when there are too many yarns.
    """

    yarns: tuple[Yarn, ...] = ()
    header: CellTexts = ("name", "colour")
    rows: Mapping[str, CellTexts] = field(default_factory=dict)
    layout: Layout = field(default_factory=Layout)

    def __post_init__(self) -> None:
        object.__setattr__(self, "rows", MappingProxyType(dict(self.rows)))
        if len(self.yarns) > MAX_SHELF:
            raise SettingError(f"A shelf holds at most {MAX_SHELF} yarns, not {len(self.yarns)}.")
        taken: set[str] = set()
        for yarn in self.yarns:
            if name_key(yarn.name) in taken:
                raise SettingError(f"Two yarns are called '{yarn.name}'; give each its own name.")
            taken.add(name_key(yarn.name))

    @classmethod
    def read(cls, path: Path) -> Self:
        """Read a shelf file of at most 5 MB and 20 000 yarns; raises InputError naming the line."""
        try:
            text, encoding = read_text(read_bytes(path, MAX_BYTES, "shelf"))
            return cls._parse(text, encoding)
        except TableError as fault:
            what = fault.what.rstrip(".")
            raise InputError(f"Line {fault.line} of the shelf '{path}': {what}.") from fault

    @classmethod
    def _parse(cls, text: str, encoding: str | None) -> Self:
        separator, above, (line, header), records = open_table(
            text, ("name", "colour"), _OTHER_WORDS
        )
        _check_headings(header, line)
        layout = Layout(separator, newline_of(text), encoding, above)
        yarns: list[Yarn] = []
        rows: dict[str, CellTexts] = {}
        lines: dict[str, int] = {}
        blanks: list[CellTexts] = []
        between: dict[str | None, tuple[CellTexts, ...]] = {}
        for line, cells in records:
            if not any(map(str.strip, cells)):
                blanks.append(cells)
                continue
            try:
                row = _fit(cells, len(header))
                yarn = _read_yarn(header, row, separator)
                _claim(yarn.name, line, lines)
            except (ValueError, SettingError) as error:
                raise TableError(line, str(error)) from error
            yarns.append(yarn)
            rows[yarn.name] = row
            if blanks:
                between[yarn.name] = tuple(blanks)
                blanks = []
        between |= {None: tuple(blanks)} if blanks else {}
        return cls(tuple(yarns), header, rows, replace(layout, between=between))

    @classmethod
    def at(cls, path: Path) -> Self:
        """The shelf of a file, or an empty one when there is no such file. Raises InputError."""
        return cls.read(path) if path.exists() else cls()

    def with_yarns(self, yarns: Iterable[Yarn]) -> Shelf:
        """The same file with other yarns; a yarn keeps the cells of its name."""
        return replace(self, yarns=tuple(yarns))

    def write(self, path: Path) -> None:
        """Write the file all at once; raises OutputError when the disk refuses."""
        header = self.header + self._missing_columns()
        rows = ((yarn.name, self._cells(yarn, header)) for yarn in self.yarns)
        write_atomic(path, table_bytes(self.layout, header, rows))

    def _missing_columns(self) -> tuple[str, ...]:
        present = {_column(cell) for cell in self.header}
        wanted = (c for c in COLUMNS if any(getattr(yarn, c) is not None for yarn in self.yarns))
        return tuple(column for column in wanted if column not in present)

    def _cells(self, yarn: Yarn, header: CellTexts) -> CellTexts:
        """The yarn's cells: those of its file where they still say the same, else new ones."""
        row = _fit(self.rows.get(yarn.name, ()), len(header))
        separator = self.layout.separator
        return tuple(
            cell if _means(column, cell, yarn, separator) else _cell(column, yarn, separator)
            for column, cell in zip(map(_column, header), row, strict=True)
        )


def _check_headings(header: CellTexts, line: int) -> None:
    columns = [_column(cell) for cell in header]
    if len(columns) > MAX_COLUMNS:
        raise TableError(line, f"it has {len(columns)} columns; {MAX_COLUMNS} are the most")
    for column in COLUMNS:
        if columns.count(column) > 1:
            raise TableError(line, f"two columns are headed '{column}'; keep one")


def _column(cell: str) -> str:
    return heading(cell, _OTHER_WORDS)


def _fit(cells: Iterable[str], count: int) -> CellTexts:
    """As many cells as there are headings; raises ValueError when a cell has no heading."""
    row = list(cells)
    if any(cell.strip() for cell in row[count:]):
        raise ValueError(
            f"it has {len(row)} cells but there are {count} headings; put cells that hold "
            "the separator in double quotes"
        )
    return tuple(row[:count] + [""] * (count - len(row)))


def _read_yarn(header: CellTexts, row: CellTexts, separator: str) -> Yarn:
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


def _cell(column: str, yarn: Yarn, separator: str) -> str:
    value = getattr(yarn, column)
    if value is None:
        return ""
    return write_number(float(value), separator) if column in _NUMBERS else str(value)


def _means(column: str, cell: str, yarn: Yarn, separator: str) -> bool:
    """Whether the cell already says what the yarn is; a column of one's own always does."""
    if column not in COLUMNS:
        return True
    try:
        return bool(_read_cell(column, cell, separator) == getattr(yarn, column))
    except ValueError:
        return False


def _claim(name: str, line: int, lines: dict[str, int]) -> None:
    """Note the line of a name; raises ValueError when the name is taken or the shelf is full."""
    if (first := lines.setdefault(name_key(name), line)) != line:
        raise ValueError(
            f"the yarn '{name}' is on line {first} already; give each its own name, "
            "for example with its lot"
        )
    if len(lines) > MAX_SHELF:
        raise ValueError(f"a shelf holds at most {MAX_SHELF} yarns; split it")
