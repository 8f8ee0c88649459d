"""How people spell the cells of a shelf: headings, numbers with their units, colours."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

import numpy as np

from pic2chart.core.colour import lab_to_srgb, parse_hex, to_hex

_PLAIN_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?", re.ASCII)
_THOUSANDS = re.compile(r"[1-9]\d{0,2}[.,]\d{3}", re.ASCII)
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}(?:(?:\.\d{3})+,\d+|(?:,\d{3})+\.\d+)", re.ASCII)
"""Thousands and decimals, which then say themselves which is which: 1.250,50 or 1,250.50."""

# Headings.

COLUMNS = ("name", "colour", "weight", "m_per_100g", "grams", "price", "lot", "note", "within")
NUMBERS = ("m_per_100g", "grams", "price", "within")
_SAME = {"color": "colour"}
_WORDS: dict[str, str] = {
    "name": "yarn yarn_name garn garnname wolle wollname fil laine nom nombre hilo lana filato nome "
    "navn namn nimi lanka garen naam nafn przędza nazwa fio пряжа название 糸 名前",
    "colour": "hex rgb colour_hex color_hex hex_colour hex_color farbe farbcode farbwert couleur "
    "colore cor kleur farge färg farve väri litur kolor barva цвет 色",
    "weight": "class weight_class yarn_weight garnstärke stärke grosseur épaisseur grosor spessore "
    "peso_del_filato dikte tykkelse tjocklek paksuus grubość толщина 太さ",
    "grams": "g gram gramm grammes gramos grammi grammen gramas weight_g weight_in_g stock "
    "in_stock gewicht bestand menge vorrat poids "
    "quantité peso cantidad quantità quantidade voorraad vekt "
    "vikt vægt paino þyngd waga вес граммы 重さ",
    "price": "price_per_ball ball_price cost preis preis_pro_knäuel prix precio prezzo preço prijs "
    "pris hinta verð cena цена 値段",
    "lot": "dye_lot dyelot batch partie farbpartie partie_nr bain lote bagno lotto verfbad badnummer "
    "parti färgbad innfarging farvebad erä värierä partia партия ロット",
    "note": "notes remark remarks comment comments notiz bemerkung bemerkungen notizen kommentar "
    "remarque nota notas osservazioni opmerking merknad anteckning bemærkning huom uwagi примечание",
}
_ANY_WEIGHT = frozenset(
    ["gewicht", "poids", "peso", "vekt", "vikt", "vægt", "paino", "þyngd", "waga", "вес"]
)
"""Words for grams that may as well be a ball's."""
_METRES_IN_100G = re.compile(r"(?:^|_)m(?:[eéè]t[^\W_]+)?_?(?:/|_|in|per|pro|par|por|je|på)*100_?g")
_IN_GRAMS = re.compile(r"(_(en|in|i|w))?_(g|gr|grams?|gramm)$")
_COLUMN_OF = {word: column for column, words in _WORDS.items() for word in words.split()}


def heading(cell: str) -> str:
    """A heading without the ways people vary it: capitals, spaces, and a stop or colon behind it."""
    word = "_".join(cell.casefold().split()).strip(".:_")
    return _SAME.get(word, word)


def columns_of(header: Sequence[str]) -> tuple[str, ...]:
    """What each heading stands for: one of COLUMNS, or itself when it is a column of one's own.

    Our own words go before those of other languages, and of two other words for one column the first
    counts: 'Garn' is the name where there is no 'name'. Units may follow: 'Weight (g)', 'Preis €'.
    """
    own = [heading(cell) for cell in header]
    taken = set(own) & set(COLUMNS)
    others = [_other_word(cell) for cell in header]
    # 'Gewicht' is a ball's or the yarn's thickness where another column tells the stock
    sure = [c for c, word in zip(others, own, strict=True) if word not in _ANY_WEIGHT]
    found = []
    for other, word in zip(others, own, strict=True):
        column = word if word in COLUMNS else other
        if column == "grams" and word in _ANY_WEIGHT and "grams" in sure:
            column = word
        if word not in COLUMNS and (column in taken or column not in COLUMNS):
            column = word
        taken |= {column} & set(COLUMNS)
        found.append(column)
    return tuple(found)


def _other_word(cell: str) -> str:
    """The column that a heading means in another language, or with its unit behind it."""
    spread = "".join(" " if c in "()[],;:" or unicodedata.category(c) == "Sc" else c for c in cell)
    without = re.sub(r"[(\[].*?[)\]]", " ", cell)
    for text in (spread, without):
        word = heading(text)
        if _METRES_IN_100G.search(word):
            return "m_per_100g"
        if word in COLUMNS or word in _COLUMN_OF:
            return _COLUMN_OF.get(word, word)
        if _COLUMN_OF.get(_IN_GRAMS.sub("", word)) == "grams":
            return "grams"
    return heading(cell)


TOTALS = frozenset(
    [
        "total",
        "totals",
        "sum",
        "all",
        "summe",
        "gesamt",
        "insgesamt",
        "totaal",
        "totale",
        "totaux",
        "somme",
        "suma",
        "summa",
        "sum_total",
        "samlet",
        "yhteensä",
        "samtals",
        "razem",
        "итого",
        "合計",
    ]
)
"""What stands in the place of a name where a column is added up."""


# Numbers.

_OUNCE, _YARD = 28.349523125, 0.9144
_GRAMS = {"g": 1.0, "gr": 1.0, "gram": 1.0, "grams": 1.0, "gramm": 1.0, "kg": 1000.0}
_GRAMS |= {"oz": _OUNCE, "ounce": _OUNCE, "ounces": _OUNCE}
_METRES = {"m": 1.0, "metres": 1.0, "meters": 1.0, "meter": 1.0, "yd": _YARD, "yds": _YARD}
_METRES |= {"yards": _YARD}
_PRICES = dict.fromkeys(
    [
        "eur",
        "euro",
        "usd",
        "gbp",
        "chf",
        "sek",
        "nok",
        "dkk",
        "isk",
        "kr",
        "fr",
        "pln",
        "cad",
        "aud",
        "zł",
    ],
    1.0,
)
_UNITS = {
    "grams": _GRAMS,
    "m_per_100g": _METRES,
    "price": _PRICES,
    "within": {"l": 1.0},
}


def read_amount(column: str, text: str, separator: str) -> float:
    """What a cell of one of the NUMBERS says in the column's unit: grams, metres in 100 g, money.

    Units are understood: '50 g', '3.5 oz', '210 m / 50 g', '4,50 EUR'. Raises ValueError.
    """
    length, slash, ball = text.partition("/")
    if column == "m_per_100g" and slash:
        grams = _with_unit(ball, _GRAMS, separator)
        if not grams > 0:
            raise ValueError(f"{text[:20]!r} is not a number; write the metres in 100 g")
        value = _with_unit(length, _METRES, separator) * 100 / grams
    else:
        value = _with_unit(text, _UNITS[column], separator)
    if not 0 <= value < 1e7:
        raise ValueError(f"{text[:20]!r} cannot be negative, and must be below 10 million")
    return value


def _with_unit(text: str, units: dict[str, float], separator: str) -> float:
    plain = text.strip()[:400].casefold()
    match = re.fullmatch(r"(.*?\d)\s*([^\W\d_]+)\.?", plain)
    if match and match[2] in units:
        return read_number(match[1], separator) * units[match[2]]
    match = re.fullmatch(r"([^\W\d_]+)\.?\s*(\d.*)", plain)
    if match and match[1] in units:
        return read_number(match[2], separator) * units[match[1]]
    return read_number(text, separator)


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


# Colours.

_LAB = re.compile(r"lab\s*\(([^()]*)\)\s*(D50|D65)?", re.IGNORECASE)
_RGB = re.compile(r"rgb\s*\(\s*(\d{1,3}%?)[\s,;]+(\d{1,3}%?)[\s,;]+(\d{1,3}%?)\s*\)", re.IGNORECASE)


def read_colour(text: str) -> str:
    """A colour as people write it → '#rrggbb': '#rrggbb', '#rgb', 'rrggbb', 'rgb(r, g, b)' in 0–255
    or per cent, a name of CSS, or 'lab(L, a, b)' with ' D50' or ' D65' after it.

    Lab without an illuminant is D65; a D50 measurement is adapted (Bradford). Lab colours that
    sRGB cannot show are clipped. Lab numbers are parted by commas, or by semicolons or spaces
    when they have decimal commas. Raises ValueError.
    """
    if re.fullmatch(r"#([0-9a-fA-F]{3}){1,2}", text):
        return to_hex(parse_hex(text))
    if re.fullmatch(r"[0-9a-fA-F]{6}", text):
        return f"#{text.lower()}"
    if (match := _RGB.fullmatch(text)) is not None:
        return _from_rgb(match.groups())
    match = _LAB.fullmatch(text)
    if match is None:
        return _named(text)
    lab = _lab_numbers(match[1])
    if (match[2] or "D65").upper() == "D50":
        lab = _adapted_from_d50(lab)
    return to_hex(lab_to_srgb(lab))


_BETWEEN = re.compile(r"\s*[/+&|;]\s*|\s+(?:and|und|et|og|och|y|e|en)\s+|,?\s*(?=#)")


def read_colours(text: str) -> tuple[str, ...]:
    """One colour, or those of a yarn of several: '#26304c #3b4a2c', 'navy / teal'. Raises ValueError."""
    try:
        return (read_colour(text),)
    except ValueError:
        parts = [part for part in _BETWEEN.split(text) if part]
        if len(parts) < 2:
            raise
        return tuple(read_colour(part) for part in parts)


def _from_rgb(parts: Sequence[str]) -> str:
    """Raises ValueError when a channel is more than 255, or 100%."""
    channels = [(int(p[:-1]) * 255 + 50) // 100 if p.endswith("%") else int(p) for p in parts]
    if max(channels) > 255:
        raise ValueError("an rgb colour has numbers from 0 to 255")
    return to_hex(channels)


def _named(text: str) -> str:
    from PIL.ImageColor import colormap  # the names of CSS Color Module Level 4

    named = colormap.get(text.casefold().replace(" ", ""))
    if not isinstance(named, str):
        raise ValueError(
            f"{text[:20]!r} is not a colour; write it like #26304c, "
            'or in double quotes like "lab(45, 10, -20)"'
        )
    return named


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
