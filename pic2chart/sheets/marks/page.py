"""A sheet as plain values: what is drawn and where, in millimetres from the top left corner.

All geometry is settled here once; a writer (SVG, PDF) only translates. Marks are painted in order.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from pic2chart.model.yarn import JOINERS

Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]
Rect = tuple[float, float, float, float]
"""Left, top, width, height in mm."""


@dataclass(frozen=True, slots=True)
class Style:
    """How a mark is painted: fill and stroke as '#rrggbb' or None, stroke width and dashes in mm.

    `opacity` is that of the fill, 0 to 1.
    """

    fill: str | None = None
    stroke: str | None = None
    width: float = 0.0
    dash: tuple[float, ...] = ()
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Boxes:
    """Upright rectangles that share a style. `name` says what they are, for tests and style sheets."""

    boxes: tuple[Rect, ...]
    style: Style
    name: str = ""


@dataclass(frozen=True, slots=True)
class Lines:
    """Straight lines from point to point that share a style."""

    lines: tuple[tuple[Point, Point], ...]
    style: Style
    name: str = ""


@dataclass(frozen=True, slots=True)
class Paths:
    """Polylines that share a style, closed when `closed`; line ends and corners are round."""

    paths: tuple[tuple[Point, ...], ...]
    style: Style
    name: str = ""
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Glyph:
    """A small figure about its own origin, in mm: polylines, closed when `closed`.

    Line ends and corners are round.
    """

    polylines: tuple[tuple[Point, ...], ...]
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Stamps:
    """One shape printed at many places."""

    shape: Glyph
    places: tuple[Point, ...]
    style: Style
    name: str = ""


@dataclass(frozen=True, slots=True)
class Raster:
    """A picture of pixels, a whole PNG file, stretched over a box. `words` say what it shows."""

    box: Rect
    png: bytes
    words: str
    name: str = ""


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text; `at` is on the baseline, `size` is the height of the type in mm."""

    at: Point
    text: str
    size: float
    anchor: Anchor = "start"
    bold: bool = False
    colour: str = "#1c1c1c"
    name: str = ""


Mark = Boxes | Lines | Paths | Stamps | Label | Raster


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page to be written: size in mm, marks in painting order, and words for screen readers."""

    width: float
    height: float
    title: str
    description: str
    marks: tuple[Mark, ...]


def clean(text: str) -> str:
    """The text on one line, with everything that cannot be printed replaced.

    Control characters, lone surrogates and direction overrides would break XML or mislead the eye.
    """
    whole = " ".join(text.split())
    return "".join(c if c.isprintable() or c in JOINERS else "\ufffd" for c in whole)


_ASCII = (
    278,
    333,
    474,
    556,
    556,
    889,
    722,
    238,
    333,
    333,
    389,
    584,
    278,
    333,
    278,
    278,
    556,
    556,
    556,
    556,
    556,
    556,
    556,
    556,
    556,
    556,
    333,
    333,
    584,
    584,
    584,
    611,
    975,
    722,
    722,
    722,
    722,
    667,
    611,
    778,
    722,
    278,
    556,
    722,
    611,
    833,
    722,
    778,
    667,
    778,
    722,
    667,
    611,
    722,
    667,
    944,
    667,
    667,
    611,
    333,
    278,
    333,
    584,
    556,
    333,
    556,
    611,
    556,
    611,
    556,
    333,
    611,
    611,
    278,
    278,
    556,
    278,
    889,
    611,
    611,
    611,
    611,
    389,
    556,
    333,
    611,
    556,
    778,
    556,
    556,
    500,
    389,
    280,
    389,
    584,
)
"""Widths of the printable ASCII letters in Helvetica Bold, thousandths of the type size, from Adobe's
font metrics as they come with ReportLab. Roboto and Helvetica regular are a little narrower."""


def text_width(text: str, size: float) -> float:
    """An estimate, a little on the safe side, of how wide a line of bold sans type is, mm."""
    return size * sum(map(_letter_width, text))


@lru_cache(maxsize=4096)
def _letter_width(letter: str) -> float:
    """Width over type size; beyond ASCII rounded up from the widths usual in sans faces."""
    if " " <= letter <= "~":
        return _ASCII[ord(letter) - 32] / 1000
    if unicodedata.east_asian_width(letter) in "WF":
        return 1.05
    if letter in "…—":
        return 1.0
    return 0.78 if letter.isupper() else 0.62


def fit(text: str, size: float, width: float) -> str:
    """The text, cut with '…' when it would be wider than `width` mm."""
    if text_width(text, size) <= width:
        return text
    while text and text_width(text + "…", size) > width:
        text = text[:-1]
    return text.rstrip() + "…"


def wrap(text: str, size: float, width: float) -> list[str]:
    """The text in lines of at most `width` mm, broken between words."""
    lines: list[str] = []
    for word in text.split():
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(joined, size) <= width:
            lines[-1] = joined
        else:
            lines.append(fit(word, size, width))
    return lines
