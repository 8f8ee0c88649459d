"""From marks to what a page of a PDF says: drawing operators, and the tags a reading voice follows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from pic2chart.library.pdf_type import font
from pic2chart.sheets.marks.page import Boxes, Label, Lines, Mark, Style, text_width
from pic2chart.sheets.marks.printed import shown
from pic2chart.sheets.marks.type_files import BOLD, REGULAR

MM = 72 / 25.4
_ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}
FONTS = {REGULAR: "F1", BOLD: "F2"}
Ink = Callable[[str, bool], str]
"""The operator that sets a colour '#rrggbb', of strokes when True."""


@dataclass(frozen=True, slots=True)
class Tagged:
    """Marks that belong together. `tag`: H1, H2, P, Figure (with `words` in its place) …, or '' for
    what is no content: running heads, rules."""

    tag: str
    marks: tuple[Mark, ...]
    words: str = ""


@lru_cache(maxsize=1_000)
def rgb(colour: str, stroke: bool) -> str:
    """A colour of the screen."""
    parts = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return f"{' '.join(f'{part:.4g}' for part in parts)} {'RG' if stroke else 'rg'}"


def content_of(parts: Sequence[Tagged], height: float, ink: Ink = rgb, bleed: float = 0.0) -> bytes:
    """The page's operators; the n-th part with a tag is marked content n. `height`: of the trimmed
    page, mm; `bleed`: mm that there are round it.

    Coordinates are millimetres from the top left, as the marks have them; text is turned upright.
    """
    edge = bleed * MM
    lines = [f"{MM:.6f} 0 0 {-MM:.6f} {edge:.4f} {height * MM + edge:.4f} cm 1 J 1 j"]
    number = 0
    for part in parts:
        if part.tag:
            lines.append(f"/{part.tag} <</MCID {number}>> BDC")
            number += 1
        else:
            lines.append("/Artifact BMC")
        lines += _drawn(part.marks, ink)
        lines.append("EMC")
    return "\n".join(lines).encode("ascii")


def _drawn(marks: Iterable[Mark], ink: Ink) -> Iterable[str]:
    for mark in marks:
        if isinstance(mark, Label):
            yield _label(mark, ink)
        elif isinstance(mark, Boxes):
            yield _brush(mark.style, ink)
            yield " ".join(f"{_n(x)} {_n(y)} {_n(w)} {_n(h)} re" for x, y, w, h in mark.boxes)
            yield _painted(mark.style)
        elif isinstance(mark, Lines):
            yield _brush(mark.style, ink)
            yield " ".join(f"{_n(a)} {_n(b)} m {_n(c)} {_n(d)} l" for (a, b), (c, d) in mark.lines)
            yield _painted(mark.style)
        else:
            raise TypeError(f"the booklet draws no {type(mark).__name__}")


def _brush(style: Style, ink: Ink) -> str:
    parts = [] if style.fill is None else [ink(style.fill, False)]
    if style.stroke is not None:
        parts += [ink(style.stroke, True), f"{_n(style.width)} w"]
    return " ".join(parts)


def _painted(style: Style) -> str:
    return {(True, True): "B", (True, False): "f", (False, True): "S", (False, False): "n"}[
        style.fill is not None, style.stroke is not None
    ]


def _label(label: Label, ink: Ink) -> str:
    name = BOLD if label.bold else REGULAR
    text, shift = shown(label.text), _ANCHORS[label.anchor]
    left = label.at[0] - (shift * text_width(text, label.size, bold=label.bold) if shift else 0)
    return (
        f"BT {ink(label.colour, False)} /{FONTS[name]} {_n(label.size)} Tf "
        f"1 0 0 -1 {_n(left)} {_n(label.at[1])} Tm <{coded(text, name)}> Tj ET"
    )


def coded(text: str, name: str) -> str:
    """The glyphs of a text as hexadecimal numbers of four digits."""
    numbers = font(name).numbers
    return "".join(f"{numbers.get(ord(c), 0):04X}" for c in text)


def letters_of(parts: Iterable[Tagged]) -> dict[str, set[str]]:
    """The letters that are set, by font."""
    letters: dict[str, set[str]] = {REGULAR: set(), BOLD: set()}
    for part in parts:
        for mark in part.marks:
            if isinstance(mark, Label):
                letters[BOLD if mark.bold else REGULAR].update(shown(mark.text))
    return letters


@lru_cache(maxsize=10_000)
def _n(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
