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

REGULAR, BOLD = "Roboto-Regular", "Roboto-Bold"
MISSING = "?"
_UNITS = 2048
"""Of the grid both files are drawn on, to the height of the type; advances are whole numbers of it."""
_MOST = 4096
"""Letters whose widths are kept: more than any chart has."""


def type_file(name: str) -> bytes:
    """The TrueType file of that name. Raises OutputError when the installation has lost it."""
    try:
        return files("pic2chart.sheets.marks").joinpath("fonts", f"{name}.ttf").read_bytes()
    except OSError as error:
        raise OutputError(
            f"The type file '{name}.ttf' is missing from this installation of pic2chart; install "
            "pic2chart again."
        ) from error


@cache
def letters() -> frozenset[int]:
    """The letters that both weights have, as numbers."""
    from reportlab.pdfbase.ttfonts import TTFontFile

    found = (TTFontFile(io.BytesIO(type_file(name))).charToGlyph for name in (REGULAR, BOLD))
    return frozenset.intersection(*map(frozenset, found))


def plain_letter(letter: str) -> str:
    """The letter itself, or what Unicode says is the same without its dress (A for a wide A), else '?'.

    Marks that cannot be set are dropped.
    """
    known = letters()
    if ord(letter) in known:
        return letter
    if unicodedata.category(letter).startswith("M"):
        return ""
    parts = unicodedata.normalize("NFKD", letter)
    return "".join(c for c in parts if ord(c) in known) or MISSING


@cache
def advances(name: str) -> Advances:
    """How far each letter of that weight moves on, over the height of the type."""
    return Advances(name)


def foreign(text: str) -> bool:
    """Whether a text has letters that the type lacks, which every viewer takes from another."""
    if text.isascii():
        return False
    lacks = advances(REGULAR).lacks
    return any(lacks(letter) for letter in text if not letter.isascii())


class Advances(dict[str, float]):
    """Advance by letter, read from the type file when it is first asked for, without kerning.

    A letter that the type lacks is as wide as the wider of what paper shows in its place and of what
    the other type that an SVG viewer takes for it usually has.
    """

    def __init__(self, name: str) -> None:
        from PIL import ImageFont

        data, layout = io.BytesIO(type_file(name)), ImageFont.Layout.BASIC
        self._length = ImageFont.truetype(data, _UNITS, layout_engine=layout).getlength
        self._nothing = self._length("\uffff")  # the box that stands for every letter it lacks

    def __missing__(self, letter: str) -> float:
        share = self._elsewhere(letter) if self.lacks(letter) else self._length(letter) / _UNITS
        if len(self) < _MOST:
            self[letter] = share
        return share

    def lacks(self, letter: str) -> bool:
        """Whether the file has no such letter; only one as wide as the box is looked for at length."""
        boxed = self._length(letter) == self._nothing
        return boxed and not letter.isascii() and ord(letter) not in letters()

    def _elsewhere(self, letter: str) -> float:
        shown = plain_letter(letter)
        if not shown:
            return 0.0
        usual = 0.78 if letter.isupper() else 0.62
        wide = unicodedata.east_asian_width(letter) in "WF"
        return max(1.05 if wide else usual, sum(self[c] for c in shown))
