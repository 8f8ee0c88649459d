"""Text and figures set in columns from the top down, page after page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from pic2chart.sheets.marks.page import Label, Mark, Point, Sheet, clean, fit, wrap
from pic2chart.sheets.marks.paper import EDGE, FOOT
from pic2chart.sheets.sheet_settings import SheetLook

TYPE_MM, LARGE_TYPE_MM, HEADING = 3.05, 3.25, 1.2
"""Type of the text, in large print before its scale, and that of a heading over it."""
BETWEEN = 8.0
"""Between two columns, mm."""
LEADING = 1.38
_INDENT = 3.4
_GREY = "#444444"

Draw = Callable[[Point, float], list[Mark]]
"""Marks of a block whose top left corner is at a point, in a column so wide."""


@dataclass(frozen=True, slots=True)
class FlowBlock:
    """A block of a column: its height, its marks, and whether it must not stand last in a column.

    `about`: the name of what it belongs to, by which its page is found again.
    """

    height: float
    draw: Draw
    with_next: bool = False
    about: str = ""


@dataclass(frozen=True, slots=True)
class Setter:
    """Makes blocks of text for columns of one width; `close`: of the type's size, to save a page."""

    look: SheetLook
    width: float
    close: float = 1.0

    @property
    def size(self) -> float:
        usual = LARGE_TYPE_MM if self.look.scale > 1 else TYPE_MM
        return usual * self.close * self.look.scale

    def heading(self, words: str, about: str = "") -> FlowBlock:
        """A heading, kept with what follows it."""
        size = HEADING * self.size
        lines = wrap(clean(words), size, self.width, bold=True)

        def draw(at: Point, width: float) -> list[Mark]:
            return [
                Label(
                    (at[0], at[1] + size * (1.35 + 1.25 * n)), line, size, bold=True, name="heading"
                )
                for n, line in enumerate(lines)
            ]

        return FlowBlock(size * (0.75 + 1.25 * len(lines)), draw, True, about)

    def line(
        self, words: str, *, dot: bool = False, bold: bool = False, quiet: bool = False,
        about: str = "", with_next: bool = False,
    ) -> FlowBlock:  # fmt: skip
        """A paragraph, or with a dot before it one item of a list."""
        size, indent = self.size, _INDENT * self.look.scale if dot else 0.0
        lines = wrap(clean(words), size, self.width - indent, bold=bold) or [""]
        colour = _GREY if quiet else "#1c1c1c"

        def draw(at: Point, width: float) -> list[Mark]:
            x, y = at[0] + indent, at[1]
            marks: list[Mark] = []
            for n, line in enumerate(lines):
                foot = y + size * (1.05 + LEADING * n)
                if dot and n == 0:
                    marks.append(Label((at[0] + 0.6, foot), "•", size, name="dot"))
                marks.append(Label((x, foot), line, size, bold=bold, colour=colour, name="pattern"))
            return marks

        return FlowBlock(size * (LEADING * len(lines) + 0.25), draw, with_next, about)

    def section(self, heading: str, lines: Iterable[str], about: str = "") -> list[FlowBlock]:
        """A heading and its lines."""
        blocks = [self.line(line, dot=True, about=about) for line in lines]
        return [self.heading(heading, about), *blocks] if blocks else []


def column_width(size: tuple[float, float], look: SheetLook) -> float:
    """Two columns; one in large print."""
    room = size[0] - 2 * EDGE
    return room if look.scale > 1 else (room - BETWEEN) / 2


@dataclass(frozen=True, slots=True)
class Flowed:
    """Pages of marks without their titles, where the text ends on the last, and the pages (from 0) on
    which each thing is spoken of last.
    """

    pages: tuple[tuple[Mark, ...], ...]
    ends: float
    last: dict[str, int]


def flow(
    blocks: Sequence[FlowBlock],
    size: tuple[float, float],
    look: SheetLook,
    tops: Callable[[int], float],
) -> Flowed:
    """Blocks set in columns; `tops`: where the columns of a page (from 0) begin, mm.

    The columns of the last page are made even.
    """
    width = column_width(size, look)
    columns = max(1, round((size[0] - 2 * EDGE) / width - 0.05))
    foot = size[1] - EDGE - FOOT
    pages: list[tuple[Mark, ...]] = []
    last: dict[str, int] = {}
    rest, ends = list(blocks), tops(0)
    while rest:
        top = tops(len(pages))
        shared = _filled(rest, columns, foot - top)
        if sum(map(len, shared)) == len(rest):
            shared = _even(rest, columns, foot - top)
        marks: list[Mark] = []
        for place, column in enumerate(shared):
            y = top
            for block in column:
                marks += block.draw((EDGE + place * (width + BETWEEN), y), width)
                y += block.height
                if block.about:
                    last[block.about] = len(pages)
            ends = max(y, ends) if place else y
        pages.append(tuple(marks))
        rest = rest[sum(map(len, shared)) :]
    return Flowed(tuple(pages), ends, last)


def _filled(blocks: Sequence[FlowBlock], columns: int, height: float) -> list[list[FlowBlock]]:
    """As many of the first blocks as fill columns so high; at least one goes in."""
    shared: list[list[FlowBlock]] = []
    start = 0
    for _ in range(columns):
        stop, used = start, 0.0
        while stop < len(blocks) and used + blocks[stop].height <= height + 1e-6:
            used += blocks[stop].height
            stop += 1
        kept = stop
        while stop < len(blocks) and kept > start and blocks[kept - 1].with_next:
            kept -= 1
        stop = kept if kept > start else max(stop, start + (not shared and start < len(blocks)))
        shared.append(list(blocks[start:stop]))
        start = stop
    return shared


def _even(blocks: Sequence[FlowBlock], columns: int, height: float) -> list[list[FlowBlock]]:
    """All blocks in columns as low as they can be."""
    low, high = sum(block.height for block in blocks) / columns, height
    best = _filled(blocks, columns, height)
    for _ in range(12):
        middle = (low + high) / 2
        tried = _filled(blocks, columns, middle)
        if sum(map(len, tried)) == len(blocks):
            best, high = tried, middle
        else:
            low = middle
    return best


def page_title(words: str, size: tuple[float, float], look: SheetLook) -> tuple[list[Mark], float]:
    """The title of a page of the document, and where it ends."""
    type_mm = 5.0 * min(look.scale, 1.4)
    text = fit(clean(words), type_mm, size[0] - 2 * EDGE, bold=True)
    y = EDGE + 0.8 * type_mm
    return [Label((EDGE, y), text, type_mm, bold=True, name="title")], y + 0.6 * type_mm


def sheet_of(marks: Iterable[Mark], size: tuple[float, float], title: str, words: str) -> Sheet:
    """A page of the document; `words` say what it is for those who cannot see it."""
    return Sheet(*size, clean(title), words, tuple(marks))
