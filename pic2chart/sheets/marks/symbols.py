"""A symbol for each yarn, so that a chart can be read in black and white.

The twelve figures are plain geometry of the project's own. Slants (decreases), a dash or dot (purl)
and a ring (yarn over) are left out, since knitters read those as something to do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import contrast_ratio, parse_hex
from pic2chart.sheets.marks.page import Glyph, Point, Stamps, Style

Strokes = tuple[tuple[Point, ...], ...]

_SQUARE: tuple[Point, ...] = ((-0.8, -0.8), (0.8, -0.8), (0.8, 0.8), (-0.8, 0.8))


@dataclass(frozen=True, slots=True)
class Symbol:
    """A figure inside the square from -1 to 1: filled outlines, or strokes."""

    name: str
    polylines: Strokes
    filled: bool


SYMBOLS = (
    Symbol("blank", (), True),
    Symbol("diamond", (((0, -1), (1, 0), (0, 1), (-1, 0)),), True),
    Symbol("plus", (((-1, 0), (1, 0)), ((0, -1), (0, 1))), False),
    Symbol("triangle", (((0, -0.9), (1, 0.8), (-1, 0.8)),), True),
    Symbol("bar", (((0, -1), (0, 1)),), False),
    Symbol("saltire", (((-0.8, -0.8), (0.8, 0.8)), ((0.8, -0.8), (-0.8, 0.8))), False),
    Symbol("frame", ((*_SQUARE, _SQUARE[0]),), False),
    Symbol("hourglass", (((-0.9, -1), (0.9, -1), (-0.9, 1), (0.9, 1)),), True),
    Symbol("rails", (((-0.6, -1), (-0.6, 1)), ((0.6, -1), (0.6, 1))), False),
    Symbol("step", (((-0.9, -0.9), (-0.9, 0.9), (0.9, 0.9)),), True),
    Symbol(
        "star",
        (((0, -1), (0, 1)), ((-0.87, -0.5), (0.87, 0.5)), ((0.87, -0.5), (-0.87, 0.5))),
        False,
    ),
    Symbol("block", (_SQUARE,), True),
)


def symbol_stamps(yarn: int, colour: str, places: tuple[Point, ...], size: float) -> Stamps | None:
    """The yarn's symbol at the middles of its squares, or None when its symbol is blank.

    `size` is the shorter side of a square, mm; `colour` is the yarn's, and the ink contrasts with it.
    """
    symbol = SYMBOLS[yarn]
    if not symbol.polylines or not places:
        return None
    scale = 0.24 * size
    lines = tuple(tuple((x * scale, y * scale) for x, y in line) for line in symbol.polylines)
    ink = ink_on(colour)
    style = Style(fill=ink) if symbol.filled else Style(stroke=ink, width=0.13 * size)
    return Stamps(Glyph(lines, symbol.filled), places, style, f"symbol yarn-{yarn + 1}")


def ink_on(colour: str) -> str:
    """The softest ink that still stands 4.5 to 1 against `colour`, else plain black or white.

    4.5 to 1 is WCAG 2.2's success criterion 1.4.3 (text); black or white always reaches 4.58.
    """
    base = parse_hex(colour)
    end = max(
        ((0, 0, 0), (255, 255, 255)),
        key=lambda ink: float(contrast_ratio(_bytes(base), _bytes(ink))),
    )
    for strength in (0.65, 0.75, 0.85):
        mixed = tuple(round(b + (e - b) * strength) for b, e in zip(base, end, strict=True))
        if contrast_ratio(_bytes(base), _bytes(mixed)) >= 4.5:
            return "#{:02x}{:02x}{:02x}".format(*mixed)
    return "#{:02x}{:02x}{:02x}".format(*end)


def _bytes(colour: tuple[int, ...]) -> NDArray[np.uint8]:
    return np.array(colour, np.uint8)
