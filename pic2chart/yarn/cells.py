"""How a shelf's cells are spelled: numbers, colours, and text a spreadsheet must not run."""

from __future__ import annotations

import re
import unicodedata

import numpy as np

from pic2chart.colour import lab_to_srgb, parse_hex, to_hex

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
