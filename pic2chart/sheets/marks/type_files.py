"""The type of every sheet: Roboto (Apache licence 2.0), which ships with this package in `fonts/`.

So a sheet looks the same on every machine, also where no fonts are installed. It has the letters of
Latin, Greek and Cyrillic.
"""

from __future__ import annotations

import io
import unicodedata
from functools import cache
from importlib.resources import files

from pic2chart.core.errors import OutputError
from pic2chart.core.messages import message
from pic2chart.sheets.marks.page import clean

REGULAR, BOLD = "Roboto-Regular", "Roboto-Bold"
MISSING = "?"


def type_file(name: str) -> bytes:
    """The TrueType file of that name. Raises OutputError when the installation has lost it."""
    try:
        return files("pic2chart.sheets.marks").joinpath("fonts", f"{name}.ttf").read_bytes()
    except OSError as error:
        raise OutputError(message("type-file-missing", name=name)) from error


def shown(text: str) -> str:
    """The text in letters the type has: else their plain form (A for a wide A), else a '?'."""
    if text.isascii():
        return clean(text)
    known = letters()
    return "".join(
        c if ord(c) in known else _plain(c, known)
        for c in unicodedata.normalize("NFC", clean(text))
    )


def _plain(letter: str, known: frozenset[int]) -> str:
    """What Unicode says is the same letter without its dress; marks that cannot be set are dropped."""
    if unicodedata.category(letter).startswith("M"):
        return ""
    parts = unicodedata.normalize("NFKD", letter)
    return "".join(c for c in parts if ord(c) in known) or MISSING


def lacks(text: str) -> bool:
    """Whether something of a text cannot be shown."""
    return shown(text).count(MISSING) > clean(text).count(MISSING)


def unreadable(text: str) -> bool:
    """Whether half or more of a text cannot be shown, so that what is left would name nothing."""
    lost = shown(text).count(MISSING) - clean(text).count(MISSING)
    return 2 * lost >= len(clean(text))


@cache
def letters() -> frozenset[int]:
    """The letters that both weights have, as numbers."""
    from reportlab.pdfbase.ttfonts import TTFontFile

    found = (TTFontFile(io.BytesIO(type_file(name))).charToGlyph for name in (REGULAR, BOLD))
    return frozenset.intersection(*map(frozenset, found))
