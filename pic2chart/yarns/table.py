"""CSV files of spreadsheets of whatever country: their cells and layout, read and written."""

from __future__ import annotations

import codecs
import csv
import io
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from pic2chart.core.colour import lab_to_srgb, parse_hex, to_hex

# How a shelf's cells are spelled: numbers, colours, and text a spreadsheet must not run.

# A cell that begins so is run as a formula by some spreadsheet (the last four in East Asian ones).
_FORMULA = re.compile(r"'*[=+\-@\t\r\n＝＋－＠]")
_PLAIN_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?", re.ASCII)
_THOUSANDS = re.compile(r"[1-9]\d{0,2}[.,]\d{3}", re.ASCII)
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}(?:(?:\.\d{3})+,\d+|(?:,\d{3})+\.\d+)", re.ASCII)
"""Thousands and decimals, which then say themselves which is which: 1.250,50 or 1,250.50."""
_LAB = re.compile(r"lab\s*\(([^()]*)\)\s*(D50|D65)?", re.IGNORECASE)


def guard(text: str) -> str:
    """Text as it is written: an apostrophe in front when a spreadsheet might run it."""
    risky = _FORMULA.match(text) and not _PLAIN_NUMBER.fullmatch(text)
    return "'" + text if risky else text


def unguard(cell: str) -> str:
    """The text that `guard` wrote; any other cell is left as it is."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell


def read_number(text: str, separator: str) -> float:
    """A number with a decimal point or comma; a currency sign round it is dropped.

    Raises ValueError when it is no number, or when it could be thousands: '1,250' anywhere, and
    '1.250' in a file whose cells are parted by something else than commas.
    """
    plain = "".join(c for c in text if unicodedata.category(c) not in ("Sc", "Zs")).strip()
    if len(plain) < 400 and _GROUPED.fullmatch(plain):
        decimal = max(plain.rfind("."), plain.rfind(","))
        return float(re.sub(r"[.,]", "", plain[:decimal]) + "." + plain[decimal + 1 :])
    if not _PLAIN_NUMBER.fullmatch(plain) or len(plain) > 400:
        raise ValueError(f"{text[:20]!r} is not a number; write it like 12.5, without a unit")
    if _is_ambiguous(plain, separator):
        raise ValueError(
            f"{text[:20]!r} could be thousands or decimals; write it like 1250 or 1.25"
        )
    return float(plain.replace(",", "."))


def write_number(value: float, separator: str) -> str:
    """The shortest text that `read_number` reads back as the same number.

    The decimal sign is a comma when commas do not part the cells: that is how spreadsheets set
    to a language with decimal commas write and read such files.
    """
    text = np.format_float_positional(value, trim="-")
    if separator != ",":
        text = text.replace(".", ",")
    return text + "0" if _is_ambiguous(text, separator) else text


def _is_ambiguous(text: str, separator: str) -> bool:
    return _THOUSANDS.fullmatch(text) is not None and ("," in text or separator != ",")


def read_colour(text: str) -> str:
    """'#rrggbb', '#rgb' or 'lab(L, a, b)', with ' D50' or ' D65' after it → '#rrggbb'.

    Lab without an illuminant is D65; a D50 measurement is adapted (Bradford). Lab colours that
    sRGB cannot show are clipped. Lab numbers are parted by commas, or by semicolons or spaces
    when they have decimal commas. Raises ValueError.
    """
    if re.fullmatch(r"#([0-9a-fA-F]{3}){1,2}", text):
        return to_hex(parse_hex(text))
    match = _LAB.fullmatch(text)
    if match is None:
        raise ValueError(
            f"{text[:20]!r} is not a colour; write it like #26304c, "
            'or in double quotes like "lab(45, 10, -20)"'
        )
    lab = _lab_numbers(match[1])
    if (match[2] or "D65").upper() == "D50":
        lab = _adapted_from_d50(lab)
    return to_hex(lab_to_srgb(lab))


def _lab_numbers(text: str) -> tuple[float, float, float]:
    commas = ";" not in text and "," in text
    parts = [p.strip() for p in (text.split(",") if commas else re.split(r"[;\s]+", text.strip()))]
    if len(parts) != 3 or not all(_PLAIN_NUMBER.fullmatch(part) for part in parts):
        raise ValueError("a lab colour needs three numbers, like lab(45.2, 10, -20)")
    L, a, b = (float(part.replace(",", ".")) for part in parts)
    if not (0 <= L <= 100 and abs(a) <= 150 and abs(b) <= 150):
        raise ValueError("a lab colour has L from 0 to 100, a and b from -150 to 150")
    return (L, a, b)


def _adapted_from_d50(lab: tuple[float, float, float]) -> tuple[float, float, float]:
    from colormath.color_conversions import convert_color
    from colormath.color_objects import LabColor, XYZColor

    xyz = convert_color(LabColor(*lab, observer="2", illuminant="d50"), XYZColor)
    xyz.apply_adaptation("d65")
    L, a, b = convert_color(xyz, LabColor).get_value_tuple()
    return (float(L), float(a), float(b))


# A table as spreadsheets write it to a CSV file, in whatever country: read, and written the same
# way.
#
# Cells are parted by commas, semicolons or tabs; lines end as on any system; the text is UTF-8 with
# or without a mark, or the UTF-16 that spreadsheets call Unicode text. What stands above the
# headings (a title, Excel's `sep=;`) and lines without cells are kept.

SEPARATORS = (",", ";", "\t")
_MOST_ABOVE = 10
"""Lines looked at for the headings."""
_UTF16 = {codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}

CellTexts = tuple[str, ...]
Record = tuple[int, CellTexts]
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
    above: tuple[CellTexts, ...] = ()
    between: Mapping[str | None, tuple[CellTexts, ...]] = field(default_factory=dict)

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
) -> tuple[str, tuple[CellTexts, ...], Record, Iterator[Record]]:
    """The separator, what stands above the headings, the headings, and an iterator of all records
    after them, those without cells too.

    The headings are the first record that holds all of `wanted` once case, spaces and other spellings
    (`plain`: from one to the word in `wanted`) are out of the way. Raises TableError.
    """
    names = frozenset(wanted)
    faults: list[TableError] = []
    first: Record = (1, ())
    for separator in SEPARATORS:
        above: list[CellTexts] = []
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
    mark = next((mark for mark, name in _UTF16.items() if name == encoding), b"")
    return mark + text.encode(encoding)


def _line(cells: CellTexts, layout: Layout) -> str:
    """Written with both ends of lines, so that either inside a cell is quoted."""
    line = io.StringIO()
    csv.writer(line, delimiter=layout.separator, lineterminator="\r\n").writerow(map(guard, cells))
    return line.getvalue().removesuffix("\r\n") + layout.newline
