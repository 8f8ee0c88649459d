"""The shelf: a file of the yarns one has, read and written.

A CSV file, or a workbook (xlsx, ods), which is only read. Columns, in any order and in the words of
many languages: name and colour must be there; weight, m_per_100g, grams, price, lot and note may be.
A row that cannot be used is left aside with a remark, and everything else is used. Columns of one's
own, the order and the spelling of cells that still mean the same, rows left aside, and the way the
file is written (`table`), are kept when it is rewritten.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, Self

from pic2chart.core.colour import mixed
from pic2chart.core.errors import InputError, OutputError, SettingError
from pic2chart.core.files import read_bytes, write_atomic
from pic2chart.core.messages import Message, message, said
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.spelling import (
    COLUMNS,
    NUMBERS,
    TOTALS,
    columns_of,
    read_amount,
    read_colours,
    write_number,
)
from pic2chart.yarns.spreadsheet import is_workbook, workbook_records
from pic2chart.yarns.table import (
    CellTexts,
    Layout,
    Opened,
    TableError,
    newline_of,
    open_records,
    open_table,
    read_text,
    table_bytes,
)

MAX_BYTES = 5_000_000
MAX_SHELF = 20_000
MAX_COLUMNS = 100
MOST_NAMED = 20
"""Rows left aside that are named one by one."""
_NEEDED = ("name", "colour")


def read_shelf(path: Path) -> tuple[Yarn, ...]:
    """The yarns of a shelf file, in its order; raises InputError naming the line at fault."""
    return Shelf.read(path).yarns


def begins_as_shelf(data: bytes) -> bool:
    """Whether the first bytes of a file (a thousand or so) hold a shelf's headings."""
    for cut in range(4):  # the last letter may be there in part
        with suppress(TableError):
            open_table(read_text(data[: len(data) - cut])[0], _NEEDED)
            return True
    return False


def name_key(name: str) -> str:
    """The same for two names that no reader would tell apart: capitals, and accents however typed."""
    return unicodedata.normalize("NFC", name.casefold())


@dataclass(frozen=True, slots=True)
class Uncoloured:
    """A yarn of the shelf without a colour: its name, what else its row says (by Yarn's fields), the
    row itself, and the yarn that follows in the file (None at the end).
    """

    name: str
    facts: Mapping[str, Any]
    row: CellTexts
    before: str | None

    def in_colour(self, colour: str) -> Yarn:
        """The yarn, once its colour '#rrggbb' is known."""
        return Yarn(self.name, colour, **self.facts)


@dataclass(frozen=True, slots=True)
class Shelf:
    """Yarns, each name once, and beside them the file they came from.

    `header`: the headings of the file. `rows`: for each yarn of the file its cells by heading
    number, under the yarn's name; yarns that came from no file have none. `layout`: how the file is
    written. `uncoloured`: yarns that wait for a colour. `remarks`: what was left aside, and why.
    `fixed`: the file is a workbook, which is not written. Raises SettingError when there are too
    many yarns.
    """

    yarns: tuple[Yarn, ...] = ()
    header: CellTexts = _NEEDED
    rows: Mapping[str, CellTexts] = field(default_factory=dict)
    layout: Layout = field(default_factory=Layout)
    uncoloured: tuple[Uncoloured, ...] = ()
    remarks: tuple[Message, ...] = ()
    fixed: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "rows", MappingProxyType(dict(self.rows)))
        if len(self.yarns) > MAX_SHELF:
            raise SettingError(message("shelf-too-long", most=MAX_SHELF, yarns=len(self.yarns)))
        taken: set[str] = set()
        for yarn in self.yarns:
            if name_key(yarn.name) in taken:
                raise SettingError(message("two-yarns-of-a-name", name=yarn.name))
            taken.add(name_key(yarn.name))

    @classmethod
    def read(cls, path: Path) -> Self:
        """Read a shelf file of at most 5 MB and 20 000 yarns; raises InputError naming the line when
        the file as a whole cannot be read, or holds rows and not one that can be used."""
        try:
            data = read_bytes(path, MAX_BYTES, "shelf")
            if is_workbook(data):
                return cls._of(
                    open_records(workbook_records(path, data), _NEEDED), Layout(), path, True
                )
            text, encoding = read_text(data)
            separator, opened = open_table(text, _NEEDED)
            layout = Layout(separator, newline_of(text), encoding, opened.above)
            return cls._of(opened, layout, path, False)
        except TableError as fault:
            raise InputError(
                message("shelf-bad-line", line=fault.line, path=str(path), what=fault.what)
            ) from fault

    @classmethod
    def _of(cls, opened: Opened, layout: Layout, path: Path, fixed: bool) -> Self:
        line, header = opened.headings
        columns = _columns(header, line)
        rows = _named_by_lot([_read_row(at, c, columns, layout) for at, c in opened.records])
        taken: dict[str, int] = {}
        rows = [_claimed(row, taken) for row in rows]
        faults = [row for row in rows if row.fault is not None]
        yarns = tuple(row.yarn for row in rows if row.yarn is not None)
        uncoloured = tuple(_uncoloured(rows))
        if faults and not yarns and not uncoloured:
            raise TableError(faults[0].line, faults[0].what)
        kept = {row.yarn.name: row.cells for row in rows if row.yarn is not None}
        layout = replace(layout, between=_between(rows))
        remarks = _remarks(rows, uncoloured, path)
        return cls(yarns, header, kept, layout, uncoloured, remarks, fixed)

    @classmethod
    def at(cls, path: Path) -> Self:
        """The shelf of a file, or an empty one when there is no such file. Raises InputError."""
        return cls.read(path) if path.exists() else cls()

    def with_yarns(self, yarns: Iterable[Yarn]) -> Shelf:
        """The same file with other yarns; a yarn keeps the cells of its name, also of a row that had
        no colour before."""
        chosen = tuple(yarns)
        names = {name_key(yarn.name): yarn.name for yarn in chosen}
        found = [one for one in self.uncoloured if name_key(one.name) in names]
        gone = {one.row for one in found}
        between = {
            key: tuple(cells for cells in records if cells not in gone)
            for key, records in self.layout.between.items()
        }
        return replace(
            self,
            yarns=chosen,
            rows={**self.rows, **{names[name_key(one.name)]: one.row for one in found}},
            layout=replace(self.layout, between=between) if found else self.layout,
            uncoloured=tuple(one for one in self.uncoloured if one not in found),
        )

    @property
    def in_grey(self) -> tuple[Yarn, ...]:
        """The yarns without a colour, in mid grey, for what needs none."""
        return tuple(one.in_colour("#808080") for one in self.uncoloured)

    def without_colour(self, name: str) -> Shelf:
        """The same shelf with one yarn waiting for a colour again, its row where it stands."""
        at = next(i for i, yarn in enumerate(self.yarns) if name_key(yarn.name) == name_key(name))
        columns, gone = columns_of(self.header), self.yarns[at]
        blank = replace(gone, shades=(), within=None)
        row = tuple(
            "" if column in ("colour", "within") else cell
            for column, cell in zip(columns, self._cells(blank, columns), strict=True)
        )
        before = self.yarns[at + 1].name if at + 1 < len(self.yarns) else None
        between = dict(self.layout.between)
        between[before] = (*between.pop(gone.name, ()), row, *between.get(before, ()))
        kept = self.yarns[:at] + self.yarns[at + 1 :]
        return replace(self, yarns=kept, layout=replace(self.layout, between=between))

    def renamed(self, old: str, new: str) -> Shelf:
        """The same shelf with one yarn under another name; its cells, and the rows that were left
        aside before it, go along."""
        called = {old: new}
        at = {called.get(name, name): cells for name, cells in self.rows.items()}
        between = {
            name and called.get(name, name): rows for name, rows in self.layout.between.items()
        }
        yarns = tuple(replace(y, name=new) if y.name == old else y for y in self.yarns)
        return replace(self, yarns=yarns, rows=at, layout=replace(self.layout, between=between))

    def write(self, path: Path) -> None:
        """Write the file all at once; raises OutputError when the disk refuses, or when the yarns come
        from a workbook."""
        write_atomic(path, self.to_bytes(path))

    def to_bytes(self, path: Path) -> bytes:
        """The file as `write` writes it to that path; raises OutputError for a workbook."""
        if self.fixed:
            raise OutputError(message("workbook-not-written", path=str(path)))
        header = self.header + self._missing_columns()
        columns = columns_of(header)
        rows = ((yarn.name, self._cells(yarn, columns)) for yarn in self.yarns)
        return table_bytes(self._layout_kept(), header, rows)

    def _layout_kept(self) -> Layout:
        """The layout, where what stood before a yarn that is gone stands before the next one there is."""
        there, order = {yarn.name for yarn in self.yarns}, list[str | None](self.rows)
        between: dict[str | None, tuple[CellTexts, ...]] = {}
        for name, records in self.layout.between.items():
            after = order[order.index(name) :] if name in self.rows else [name]
            home = next((one for one in after if one in there), None)
            between[home] = (*between.get(home, ()), *records)
        return replace(self.layout, between=between)

    def _missing_columns(self) -> tuple[str, ...]:
        present = columns_of(self.header)
        wanted = (c for c in COLUMNS if any(getattr(yarn, c) is not None for yarn in self.yarns))
        return tuple(column for column in wanted if column not in present)

    def _cells(self, yarn: Yarn, columns: tuple[str, ...]) -> CellTexts:
        """The yarn's cells: those of its file where they still say the same, else new ones."""
        known, separator = self.rows.get(yarn.name), self.layout.separator
        row = known or ("",) * len(columns)
        row = row + ("",) * (len(columns) - len(row))
        return tuple(
            cell
            if (column == "name" and known and _names(cell, yarn))
            or _means(column, cell, yarn, separator)
            else _cell(column, yarn, separator)
            for column, cell in zip(columns, row, strict=True)
        )


def _names(cell: str, yarn: Yarn) -> bool:
    """Whether the cell names the yarn, with or without its lot."""
    return name_key(cell) in {name_key(yarn.name), name_key(name_of_lots(yarn))}


def name_of_lots(yarn: Yarn) -> str:
    """The name that all lots of a yarn share: 'Ink' of 'Ink, lot 4471'."""
    return yarn.name.removesuffix(_lot_words(yarn.lot))


def _lot_words(lot: str | None) -> str:
    return "" if lot is None else f", lot {' '.join(lot.split())}"


# Rows.


@dataclass(frozen=True, slots=True)
class _Row:
    """A record below the headings: what it says by Yarn's fields, and what is wrong with it.

    `fault`: why it is no yarn of its own; None with `facts` of one. `cells_aside`: what some of its
    cells should have said. `empty`: nothing stands there.
    """

    line: int
    cells: CellTexts
    facts: Mapping[str, Any] = field(default_factory=dict)
    fault: Message | None = None
    cells_aside: tuple[Message, ...] = ()
    empty: bool = False
    yarn: Yarn | None = None

    @property
    def what(self) -> Message:
        """The fault of a row that has one."""
        assert self.fault is not None
        return self.fault


def _columns(header: CellTexts, line: int) -> tuple[str, ...]:
    columns = columns_of(header)
    if len(columns) > MAX_COLUMNS:
        raise TableError(
            line, message("shelf-too-many-columns", columns=len(columns), most=MAX_COLUMNS)
        )
    for column in COLUMNS:
        if columns.count(column) > 1:
            raise TableError(line, message("shelf-two-columns-alike", column=column))
    return columns


def _read_row(line: int, cells: CellTexts, columns: tuple[str, ...], layout: Layout) -> _Row:
    if not any(map(str.strip, cells)):
        return _Row(line, cells, empty=True)
    facts: dict[str, Any] = {}
    aside: list[Message] = []
    try:
        row = _fit(cells, len(columns))
        for column, cell in zip(columns, row, strict=True):
            if column not in COLUMNS:
                continue
            try:
                facts[column] = _read_cell(column, cell, layout.separator)
            except ValueError as error:
                if column not in NUMBERS:
                    raise
                aside.append(said(str(error)))
        _check_name(facts)
        facts |= _colours_of(facts.pop("colour"))
    except ValueError as error:
        return _Row(line, cells, fault=said(str(error)))
    return _Row(
        line,
        row,
        {key: value for key, value in facts.items() if value is not None},
        None,
        tuple(aside),
    )


def _colours_of(colours: tuple[str, ...] | None) -> dict[str, Any]:
    """A yarn's `colour`, and its `shades` where it has several."""
    if colours is None:
        return {}
    return (
        {"colour": colours[0]}
        if len(colours) == 1
        else {"colour": mixed(colours), "shades": colours}
    )


def _check_name(facts: Mapping[str, Any]) -> None:
    """Raises ValueError when a row is no yarn."""
    name = facts["name"]
    if not name:
        raise ValueError("the yarn has no name")
    if not facts["colour"] and name_key(name).strip(" :.") in TOTALS:
        raise ValueError("it adds up the yarns and is none itself")


def _named_by_lot(rows: list[_Row]) -> list[_Row]:
    """The rows, with the lot in the names of yarns that come in several lots."""
    lots: dict[str, set[str]] = {}
    for row in rows:
        if "name" in row.facts:
            lots.setdefault(name_key(row.facts["name"]), set()).add(row.facts.get("lot") or "")
    return [
        replace(row, facts={**row.facts, "name": row.facts["name"] + _lot_words(row.facts["lot"])})
        if row.facts.get("lot") and len(lots[name_key(row.facts["name"])]) > 1
        else row
        for row in rows
    ]


def _claimed(row: _Row, taken: dict[str, int]) -> _Row:
    """The row with its yarn, or with why it is none; `taken` notes the line of each name."""
    if not row.facts:
        return row
    name = row.facts["name"]
    first = taken.setdefault(name_key(name), row.line)
    if len(taken) > MAX_SHELF:
        raise TableError(row.line, message("shelf-full", most=MAX_SHELF))
    if first != row.line:
        return replace(row, fault=message("shelf-name-taken", name=name, line=first))
    try:
        yarn = Yarn(**{"colour": "#808080", **row.facts})
    except SettingError as error:
        return replace(row, fault=error.message)
    return replace(row, yarn=yarn if "colour" in row.facts else None)


def _uncoloured(rows: list[_Row]) -> Iterator[Uncoloured]:
    before: str | None = None
    found = []
    for row in reversed(rows):
        if row.yarn is not None:
            before = row.yarn.name
        elif row.facts and row.fault is None:
            facts = {key: value for key, value in row.facts.items() if key != "name"}
            found.append(Uncoloured(row.facts["name"], MappingProxyType(facts), row.cells, before))
    return reversed(found)


def _between(rows: list[_Row]) -> dict[str | None, tuple[CellTexts, ...]]:
    """The records that are no yarns, by the name of the yarn that follows."""
    between: dict[str | None, tuple[CellTexts, ...]] = {}
    waiting: list[CellTexts] = []
    for row in rows:
        if row.yarn is None:
            waiting.append(row.cells)
        elif waiting:
            between[row.yarn.name] = tuple(waiting)
            waiting = []
    return between | ({None: tuple(waiting)} if waiting else {})


def _remarks(
    rows: list[_Row], uncoloured: tuple[Uncoloured, ...], path: Path
) -> tuple[Message, ...]:
    """What was left aside, row by row as long as there are few."""
    remarks, name = [], str(path)
    for row in rows:
        if row.fault is not None:
            remarks.append(message("shelf-row-aside", line=row.line, path=name, what=row.fault))
        remarks += [
            message("shelf-cell-aside", line=row.line, path=name, what=what)
            for what in row.cells_aside
        ]
    if len(remarks) > MOST_NAMED:
        more = message("shelf-more-aside", count=len(remarks) - MOST_NAMED, path=name)
        remarks = [*remarks[:MOST_NAMED], more]
    if uncoloured:
        names = tuple(f"'{one.name}'" for one in uncoloured[:MOST_NAMED])
        rest = len(uncoloured) - len(names)
        remarks.append(
            message("shelf-no-colour", names=names)
            if not rest
            else message("shelf-no-colour-many", names=names, rest=rest)
        )
    return tuple(remarks)


def _fit(cells: Iterable[str], count: int) -> CellTexts:
    """As many cells as there are headings; raises ValueError when a cell has no heading."""
    row = list(cells)
    if any(cell.strip() for cell in row[count:]):
        raise ValueError(
            f"it has {len(row)} cells but there are {count} headings; put cells that hold "
            "the separator in double quotes"
        )
    return tuple(row[:count] + [""] * (count - len(row)))


def _read_cell(column: str, cell: str, separator: str) -> Any:
    """What a cell says, None when it is blank; raises ValueError when it says nothing sensible."""
    text = cell.strip()
    if not text:
        return None
    if column == "name":
        return " ".join(text.split())
    if column == "colour":
        return read_colours(text)
    try:
        return read_amount(column, text, separator) if column in NUMBERS else text
    except ValueError as error:
        raise ValueError(f"{column} {error}") from error


def _cell(column: str, yarn: Yarn, separator: str) -> str:
    value = getattr(yarn, column)
    if value is None:
        return ""
    if column == "colour":
        return " ".join(yarn.shades) or yarn.colour
    return write_number(float(value), separator) if column in NUMBERS else str(value)


def _means(column: str, cell: str, yarn: Yarn, separator: str) -> bool:
    """Whether the cell already says what the yarn is; a column of one's own always does, and what
    cannot be read stays as long as nothing better is known."""
    if column not in COLUMNS:
        return True
    known = getattr(yarn, column)
    if column == "colour":
        known = yarn.shades or (yarn.colour,)
    try:
        return bool(_read_cell(column, cell, separator) == known)
    except ValueError:
        return known is None
