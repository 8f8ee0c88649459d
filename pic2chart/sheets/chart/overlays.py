"""Marks laid over the squares: shaping, openings, catches, ladders, changed stitches, and findings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.finding import Finding
from pic2chart.model.chart import Chart
from pic2chart.model.construction import CALLED, MIRRORED
from pic2chart.model.keys import KEYS
from pic2chart.sheets.chart.grid_layout import PAPER, GridLayout
from pic2chart.sheets.marks.order import page_column, page_row, to_page
from pic2chart.sheets.marks.page import Boxes, Glyph, Label, Lines, Mark, Point, Rect, Stamps, Style
from pic2chart.sheets.marks.symbols import ink_on

# Shaping marks: decreases and increases drawn on the squares they are worked in.
#
# The chart's construction says where they are. The slants are those of the Craft Yarn Council's knit chart symbols (from memory):
# `/` two together leaning right, `\` leaning left. The others are plain figures of the project's own.

_INK = "#b00020"
_UP = ((0.0, -0.6), (0.0, 0.6))


@dataclass(frozen=True, slots=True)
class Sign:
    """How a kind of shaping is drawn, inside the square from -1 to 1, and named in the key."""

    words: str
    lines: tuple[tuple[Point, ...], ...]


SHAPES: Mapping[str, Sign] = {
    "k2tog": Sign("two together, leaning right", (((-0.7, 0.75), (0.7, -0.75)),)),
    "ssk": Sign("two together, leaning left", (((-0.7, -0.75), (0.7, 0.75)),)),
    "centred": Sign(
        "three together, the middle one on top",
        (((-0.7, 0.75), (0.0, -0.75), (0.7, 0.75)), ((0, -0.75), (0, 0.75))),
    ),
    "increase-right": Sign(
        "one made, leaning right", (_UP, ((-0.6, 0.0), (0.6, 0.0)), ((0.0, -0.6), (0.6, -0.6)))
    ),
    "increase-left": Sign(
        "one made, leaning left", (_UP, ((-0.6, 0.0), (0.6, 0.0)), ((0.0, -0.6), (-0.6, -0.6)))
    ),
    "increase": Sign("one made", (_UP, ((-0.6, 0.0), (0.6, 0.0)))),
}
"""Every kind of shaping, in the order of the key."""


def sign(kind: str, hand: str) -> Sign:
    """The sign of a kind; worked by the left hand it leans the other way."""
    return SHAPES[kind if hand == "right" else MIRRORED.get(kind, kind)]


def named(kind: str, hand: str) -> str:
    """'k2tog: two together, leaning right', as the words call it and what it does."""
    return f"{CALLED[kind]}: {sign(kind, hand).words}"


def shaping_marks(layout: GridLayout) -> list[Mark]:
    """The sign of every shaping in its square, red on a white line that lifts it."""
    found = layout.chart.shaped
    marks: list[Mark] = []
    for kind in SHAPES:
        places = tuple(layout.middle(s.round, s.stitch) for s in found if s.kind == kind)
        if places:
            marks += shape_stamps(kind, places, layout.square, layout.chart.hand)
    return marks + opening_marks(layout)


def opening_marks(layout: GridLayout) -> list[Mark]:
    """A heavy line along the foot of the stitches below which waste yarn is knitted in, and along the
    head of those that are set aside on it.
    """
    chart, half = layout.chart, layout.square[1] / 2
    spans = [(o.round, o.stitch, o.count, half) for o in chart.construction.openings]
    spans += [(s.round - 1, s.stitch, s.count, -half) for s in chart.construction.set_aside]
    lines = []
    for r, first, count, edge in spans:
        ends = [first, first + count - 1]
        if not (0 <= r < chart.round_count and first >= 0 and ends[1] < chart.stitch_count):
            continue
        places = [layout.middle(r, stitch) for stitch in ends]
        left, right = min(x for x, _ in places), max(x for x, _ in places)
        y = places[0][1] + edge
        lines.append(((left - layout.square[0] / 2, y), (right + layout.square[0] / 2, y)))
    return opening_lines(tuple(lines), 0.3 * min(layout.square)) if lines else []


def opening_lines(lines: tuple[tuple[Point, Point], ...], width: float) -> list[Mark]:
    """The lines of openings, on a white line that lifts them."""
    return [
        Lines(lines, Style(stroke=PAPER, width=1.7 * width), "opening under"),
        Lines(lines, Style(stroke=_INK, width=width), "opening"),
    ]


def shape_stamps(
    kind: str, places: tuple[Point, ...], square: tuple[float, float], hand: str = "right"
) -> list[Mark]:
    """The sign of one kind at the middles of its squares."""
    x, y = 0.42 * square[0], 0.42 * square[1]
    lines = tuple(tuple((px * x, py * y) for px, py in line) for line in sign(kind, hand).lines)
    thin = 0.11 * min(square)
    under, over = Style(stroke=PAPER, width=2.2 * thin), Style(stroke=_INK, width=thin)
    return [
        Stamps(Glyph(lines), places, under, "shaping under"),
        Stamps(Glyph(lines), places, over, f"shaping {kind}"),
    ]


CHANGED = "#e0007a"
ALERT = {"error": "#d00000", "warning": "#d06a00", "note": "#0062b8"}
_PAPER = "#ffffff"


def catch_marks(layout: GridLayout) -> list[Mark]:
    """A short bit of the caught yarn lying along the foot of each square behind which it is caught."""
    marks: list[Mark] = []
    caught: list[list[Point]] = [[] for _ in layout.chart.yarns]
    for c in layout.chart.catches:
        caught[c.yarn].append(layout.middle(c.round, c.stitch))
    for index, (yarn, places) in enumerate(zip(layout.chart.yarns, caught, strict=True)):
        if places:
            letter = KEYS[index] if letters_catches(layout.chart) else ""
            name = f"catch yarn-{index + 1}"
            marks += catch_stamps(yarn.colour, letter, tuple(places), layout.square, name)
    return marks + ladder_marks(layout)


def ladder_marks(layout: GridLayout) -> list[Mark]:
    """An upright bit of the yarn beside every square behind which a ladder stitch of it stands, so that
    those of a ladder make a line, at the side where the next stitch follows.
    """
    marks: list[Mark] = []
    for index, yarn in enumerate(layout.chart.yarns):
        places = tuple(
            layout.middle(c.round, c.stitch) for c in layout.chart.rungs if c.yarn == index
        )
        if places:
            name = f"ladder yarn-{index + 1}"
            marks += ladder_stamps(yarn.colour, places, layout.square, layout.chart.hand, name)
    return marks


def ladder_stamps(
    colour: str, middles: tuple[Point, ...], square: tuple[float, float], hand: str, name: str
) -> list[Mark]:
    """Ladder marks in one yarn's colour on the squares with these middles, outlined to show on any."""
    x, y, beside = 0.1 * square[0], 0.5 * square[1], (0.34 if hand == "left" else -0.34) * square[0]
    shape = Glyph((((-x, -y), (x, -y), (x, y), (-x, y)),), closed=True)
    places = tuple((px + beside, py) for px, py in middles)
    style = Style(fill=colour, stroke=ink_on(colour), width=0.07 * min(square))
    return [Stamps(shape, places, style, name)]


def letters_catches(chart: Chart) -> bool:
    """Whether catches carry their yarn's letter: in a round of three it need not be the other one."""
    return chart.rules.colours_per_round > 2


def catch_stamps(
    colour: str, letter: str, middles: tuple[Point, ...], square: tuple[float, float], name: str
) -> list[Mark]:
    """Catch marks in one yarn's colour at the foot of the squares with these middles.

    They are outlined so that they show on any square, and taller when they hold a letter.
    """
    size = 0.42 * min(square)
    x, y = (0.36 * square[0], 0.46 * size) if letter else (0.38 * square[0], 0.11 * square[1])
    low = 0.46 * square[1] - y
    shape = Glyph((((-x, -y), (x, -y), (x, y), (-x, y)),), closed=True)
    ink = ink_on(colour)
    places = tuple((px, py + low) for px, py in middles)
    marks: list[Mark] = [
        Stamps(shape, places, Style(fill=colour, stroke=ink, width=0.07 * min(square)), name)
    ]
    return marks + [
        Label((px, py + 0.36 * size), letter, size, "middle", True, ink, "catch letter")
        for px, py in places
        if letter
    ]


def changed_marks(layout: GridLayout, changed: NDArray[np.bool_]) -> list[Mark]:
    """A bright outline inside every changed square; `changed` is in knitting order."""
    places = layout.middles(to_page(changed, layout.chart.hand))
    return changed_stamps(places, layout.square) if places else []


def changed_stamps(places: tuple[Point, ...], square: tuple[float, float]) -> list[Mark]:
    """The outlines of changed squares at these middles, on a white line that lifts them."""
    x, y = 0.4 * square[0], 0.4 * square[1]
    shape = Glyph((((-x, -y), (x, -y), (x, y), (-x, y)),), closed=True)
    wide, narrow = 0.2 * min(square), 0.12 * min(square)
    return [
        Stamps(shape, places, Style(stroke=_PAPER, width=wide), "changed under"),
        Stamps(shape, places, Style(stroke=CHANGED, width=narrow), "changed"),
    ]


def finding_marks(layout: GridLayout, findings: Sequence[Finding]) -> list[Mark]:
    """An outline round the stitches each finding speaks of, notes first so that errors lie on top."""
    marks: list[Mark] = []
    for level in ("note", "warning", "error"):
        boxes = tuple(b for f in findings if f.level == level for b in _finding_boxes(layout, f))
        marks += alert_boxes(boxes, level) if boxes else []
    return marks


def alert_boxes(boxes: tuple[Rect, ...], level: str) -> list[Mark]:
    """The outlines of findings of one level: errors in a full line, the others dashed."""
    dash = () if level == "error" else (0.9, 0.9)
    style = Style(stroke=ALERT[level], width=0.4, dash=dash)
    return [
        Boxes(boxes, Style(stroke=_PAPER, width=0.7), "finding under"),
        Boxes(boxes, style, f"finding {level}"),
    ]


def _finding_boxes(layout: GridLayout, finding: Finding) -> list[Rect]:
    """Boxes round the live stitches a finding names: a whole round when it names no stitch."""
    if finding.round is None or not 1 <= finding.round <= layout.chart.round_count:
        return []
    columns = np.flatnonzero(layout.chart.live[finding.round - 1])
    if finding.stitch is not None:
        circle = layout.chart.closes(finding.round - 1)
        columns = _stretch(columns, finding.stitch - 1, finding.length or 1, circle)
    pieces = np.split(columns, np.flatnonzero(np.diff(columns) > 1) + 1)
    return [_piece_box(layout, finding.round - 1, piece) for piece in pieces if piece.size]


def _stretch(live: NDArray[np.intp], first: int, length: int, circle: bool) -> NDArray[np.intp]:
    """The columns of `length` live stitches from `first` on, round the join when it is a circle."""
    start = int(np.searchsorted(live, first))
    places = np.arange(start, start + min(length, live.size))
    places = places % live.size if circle and live.size else places[places < live.size]
    return np.sort(live[places])


def _piece_box(layout: GridLayout, round_: int, columns: NDArray[np.intp]) -> Rect:
    ends = [page_column(layout.chart, int(c)) for c in (columns[0], columns[-1])]
    left, top = layout.corner(page_row(layout.chart, round_), min(ends))
    return left, top, columns.size * layout.square[0], layout.square[1]
