"""A sheet as plain values: what is drawn and where, in millimetres from the top left corner.

All geometry is settled here once; a writer (SVG, PDF) only translates. Marks are painted in order.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import accumulate, chain, pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.english.grammar import JOINERS
from pic2chart.sheets.marks.type_files import BOLD, REGULAR, advances

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


@dataclass(frozen=True, slots=True, eq=False)
class Bundle:
    """Many polylines in one array, as a fabric has them: `points` float64 [points, 2], mm, read-only;
    `ends`: for each line the place of the point past its last.
    """

    points: NDArray[np.float64]
    ends: tuple[int, ...]

    @classmethod
    def of(cls, lines: Iterable[tuple[Point, ...]]) -> Bundle:
        """The same lines, however they are given."""
        if isinstance(lines, Bundle):
            return lines
        lines = tuple(lines)
        numbers = chain.from_iterable(chain.from_iterable(lines))
        points = np.fromiter(numbers, np.float64).reshape(-1, 2)
        return cls(points, tuple(accumulate(map(len, lines))))

    def __len__(self) -> int:
        return len(self.ends)

    def __iter__(self) -> Iterator[tuple[Point, ...]]:
        for first, past in pairwise((0, *self.ends)):
            yield tuple([(x, y) for x, y in self.points[first:past].tolist()])


@dataclass(frozen=True, slots=True)
class Paths:
    """Polylines that share a style, closed when `closed`; line ends and corners are round."""

    paths: tuple[tuple[Point, ...], ...] | Bundle
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


@dataclass(frozen=True, slots=True, eq=False)
class MarkStream:
    """Marks that are made anew whenever they are gone through, and let go one by one.

    A fabric of a million stitches has several million strokes, more than memory should hold.
    """

    make: Callable[[], Iterator[Mark]]

    def __iter__(self) -> Iterator[Mark]:
        return self.make()


_KEPT = 100_000
"""Stitches of a fabric whose marks are kept for the next writer, up to some 70 MB."""


def fabric_marks(make: Callable[[], Iterator[Mark]], stitches: int) -> Iterable[Mark]:
    """The marks of a fabric of so many stitches: kept, or made anew each time where they are many."""
    return tuple(make()) if stitches <= _KEPT else MarkStream(make)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page to be written: size in mm, marks in painting order, and words for screen readers.

    The marks are a tuple, but for whole fabrics, which have a `MarkStream`.
    """

    width: float
    height: float
    title: str
    description: str
    marks: Iterable[Mark]


def clean(text: str) -> str:
    """The text on one line, with everything that cannot be printed replaced.

    Control characters, lone surrogates and direction overrides would break XML or mislead the eye.
    """
    whole = " ".join(text.split())
    if whole.isprintable():
        return whole
    return "".join(c if c.isprintable() or c in JOINERS else "\ufffd" for c in whole)


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """How wide a line of the sheets' type is, mm: the sum of its advances, as the PDF sets it.

    Kerning is left out, as the PDF leaves it out; an SVG viewer, which would kern or has another type,
    is told this width.
    """
    widths = advances(BOLD if bold else REGULAR)
    return size * sum(map(widths.__getitem__, text))


def fit(text: str, size: float, width: float, *, bold: bool = False) -> str:
    """The text, cut with '…' when it would be wider than `width` mm."""
    if text_width(text, size, bold=bold) <= width:
        return text
    while text and text_width(text + "…", size, bold=bold) > width:
        text = text[:-1]
    return text.rstrip() + "…"


def wrap(text: str, size: float, width: float, *, bold: bool = False) -> list[str]:
    """The text in lines of at most `width` mm, broken between words."""
    lines: list[str] = []
    wide = 0.0  # of the last line
    for word in text.split():
        more = wide + text_width(f" {word}", size, bold=bold)
        if lines and more <= width:
            lines[-1], wide = f"{lines[-1]} {word}", more
        else:
            lines.append(fit(word, size, width, bold=bold))
            wide = text_width(lines[-1], size, bold=bold)
    return lines
