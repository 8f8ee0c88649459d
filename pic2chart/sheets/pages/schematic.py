"""The schematic: a thing's parts as plain lines, with what they measure beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from pic2chart.sheets.marks.page import (
    Label,
    Lines,
    Mark,
    Paths,
    Point,
    Style,
    clean,
    text_width,
    wrap,
)
from pic2chart.sheets.sheet_settings import CM_PER_INCH, SheetLook
from pic2chart.sheets.thing import FlatView

_LINE = Style(fill="#ffffff", stroke="#1c1c1c", width=0.4)
_RIB = Style(stroke="#9a9a9a", width=0.18)
_DIM = Style(stroke="#5a5a5a", width=0.2)
_SIZE, _CAPTION = 2.9, 3.1
_BESIDE = 15.0
"""Room for the heights on the left of a view, mm."""
_BETWEEN, _APART = 7.0, 2.0
"""Between two views, and between the words under them, mm."""
_MUCH = 1.2
"""More rows are taken for a drawing so many times as large."""
_STRAIGHT = 0.05
"""Shapes whose foot leans more than this, as a share of its length, stand aslant and get no measures."""

Extent = tuple[float, float, float, float]
"""Left, bottom, right and top, cm."""


@dataclass(frozen=True, slots=True)
class Schematic:
    """Views at one scale in a box so wide, at most so high, side by side or in rows of as many; marks
    come from `marks`.

    `tube`: the views show tubes laid flat.
    """

    views: tuple[FlatView, ...]
    width: float
    most: float
    look: SheetLook
    tube: bool

    @property
    def height(self) -> float:
        return self._best.height

    def marks(self, at: Point, _: float = 0.0) -> list[Mark]:
        """The marks with the top left corner of the box at that place."""
        best, marks = self._best, list[Mark]()
        for number, row in enumerate(best.rows):
            x, foot = at[0], at[1] + sum(best.heights[: number + 1]) - best.words
            for view in row:
                slot = _Slot(x, x + best.slot(view, row), foot, best)
                marks += _view_marks(view, slot, self)
                x = slot.right
        return marks

    @property
    def _best(self) -> _Rows:
        """The rows that give the largest drawing, among those in whose slots the measures have room;
        fewer rows unless more of them are much the larger.
        """
        ways = [
            _Rows.of(self, -(-len(self.views) // count)) for count in range(1, len(self.views) + 1)
        ]
        fits = [way for way in ways if way.roomy] or ways
        best = fits[0]
        for way in fits[1:]:
            if way.scale > _MUCH * best.scale:
                best = way
        return best


@dataclass(frozen=True, slots=True)
class _Rows:
    """The views of a schematic in rows, at `scale` millimetres a centimetre; `words`: room under each row
    for widths and captions, mm.
    """

    whole: Schematic
    rows: tuple[tuple[FlatView, ...], ...]
    words: float
    scale: float

    @classmethod
    def of(cls, whole: Schematic, across: int) -> _Rows:
        """With so many views a row, as large as the box allows."""
        views = whole.views
        rows = tuple(views[i : i + across] for i in range(0, len(views), across))
        beside, look = (_BESIDE * whole.look.scale + _BETWEEN) * across, whole.look
        wide = max(sum(map(_wide, row)) for row in rows)
        by_width = min(10.0, (whole.width - beside) / wide)
        high = sum(max(map(_high, row)) for row in rows)
        scale, words = max(1e-3, by_width), 0.0
        for _ in range(2):  # the captions' lines follow from the slots, and those from the scale
            trial = cls(whole, rows, words, scale)
            lines = max(len(trial.caption(view, row)) for row in rows for view in row)
            words = (3.3 * _SIZE + (0.3 + 1.3 * lines) * _CAPTION + 5) * look.scale
            over = sum(trial.heights) - high * scale - trial.words * len(rows)
            by_height = (whole.most - over - words * len(rows)) / high
            scale = max(1e-3, min(by_width, by_height))
        return cls(whole, rows, words, scale)

    @property
    def heights(self) -> list[float]:
        """Of the rows with their words, mm."""
        return [max(map(self._top, row)) + self.words for row in self.rows]

    def _top(self, view: FlatView) -> float:
        """How far a view and the figures beside it reach above its foot, mm."""
        figure = 0.8 * _SIZE * self.whole.look.scale
        return 1 + max(_high(view) * self.scale, *(y + figure for y in self.figures(view)), 0.0)

    def figures(self, view: FlatView) -> list[float]:
        """Where the figures of its heights stand, mm above its foot: in the middle of their parts, but
        none on another.
        """
        size, free, found = _SIZE * self.whole.look.scale, -_SIZE, list[float]()
        low = view_box(view)[1]
        for bottom, top in _heights(view):
            found.append(max(((bottom + top) / 2 - low) * self.scale - 0.36 * size, free))
            free = found[-1] + size
        return found

    @property
    def height(self) -> float:
        return sum(self.heights)

    def slot(self, view: FlatView, row: Sequence[FlatView]) -> float:
        """The width that is a view's own in its row, mm: what is spare is shared out evenly."""
        beside = _BESIDE * self.whole.look.scale
        taken = sum(map(_wide, row)) * self.scale + beside * len(row)
        return _wide(view) * self.scale + beside + (self.whole.width - taken) / len(row)

    def caption(self, view: FlatView, row: Sequence[FlatView]) -> list[str]:
        """The caption in lines that the view's slot holds."""
        if not self.whole.look.words:
            return []
        size = _CAPTION * self.whole.look.scale
        return wrap(clean(view.caption), size, self.slot(view, row) - _APART, bold=True)

    @property
    def roomy(self) -> bool:
        """Whether every slot is as wide as the longest words in it that cannot be broken."""
        look = self.whole.look
        for row in self.rows:
            for view in row:
                widths = [
                    text_width(line, _SIZE * look.scale) for line in _across(view, self.whole)
                ]
                words = clean(view.caption).split() if look.words else []
                widths += [text_width(w, _CAPTION * look.scale, bold=True) for w in words]
                if max(widths, default=0.0) > self.slot(view, row) - _APART:
                    return False
        return True


@dataclass(frozen=True, slots=True)
class _Slot:
    """Where a view stands: left and right of what is its own, and its foot, mm."""

    left: float
    right: float
    foot: float
    rows: _Rows

    def caption(self, view: FlatView) -> list[str]:
        row = next(row for row in self.rows.rows if view in row)
        return self.rows.caption(view, row)

    def at(self, point: Point, view: FlatView) -> Point:
        """A point of a view, cm, on the page, mm: the view stands in the middle of what its heights leave."""
        left, bottom, _, _ = view_box(view)
        scale, beside = self.rows.scale, _BESIDE * self.rows.whole.look.scale
        spare = self.right - self.left - beside - _wide(view) * scale
        x = self.left + spare / 2 + beside + (point[0] - left) * scale
        return x, self.foot - (point[1] - bottom) * scale


def view_box(view: FlatView) -> Extent:
    """Left, bottom, right and top of a view, cm."""
    points = [point for shape in view.shapes for point in shape.points]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def _wide(view: FlatView) -> float:
    left, _, right, _ = view_box(view)
    return right - left


def _high(view: FlatView) -> float:
    _, bottom, _, top = view_box(view)
    return top - bottom


def _view_marks(view: FlatView, slot: _Slot, whole: Schematic) -> list[Mark]:
    marks: list[Mark] = []
    look = whole.look
    for shape in view.shapes:
        line = tuple(slot.at(point, view) for point in shape.points)
        marks.append(Paths((line,), _LINE, "schematic", closed=True))
        if shape.rib:
            marks.append(Lines(_ribs(shape.points, slot, view), _RIB, "schematic rib"))
    size = _SIZE * look.scale
    left, low, right, _ = view_box(view)
    sides = [slot.at((x, low), view)[0] for x in (left, right)]
    marks += _upright_measures(view, slot, sides[0] - 3.0)
    y = slot.foot + 1.5
    widest = _widest(view)
    if widest is not None:
        ends = [slot.at((x, low), view)[0] for x in (widest[0], widest[2])]
        flat = _across(view, whole)
        room = max(text_width(line, size) for line in flat) / 2
        middle = min(max(sum(ends) / 2, slot.left + room), slot.right - room)
        marks += _level_measure(ends[0], ends[1], y, flat, middle, size)
    return [*marks, *_caption_marks(view, slot, sum(sides) / 2, whole)]


def _caption_marks(view: FlatView, slot: _Slot, middle: float, whole: Schematic) -> list[Mark]:
    """The caption below the measures, under the middle of the view as far as its slot allows."""
    size = _CAPTION * whole.look.scale
    lines = slot.caption(view)
    y = slot.foot + 1.5 + (0.1 + 1.3 * (1 + whole.tube)) * _SIZE * whole.look.scale + 0.2 * size
    marks: list[Mark] = []
    for n, line in enumerate(lines, 1):
        half = (text_width(line, size, bold=True) + _APART) / 2
        x = min(max(middle, slot.left + half), slot.right - half)
        marks.append(Label((x, y + 1.3 * size * n), line, size, "middle", True, name="caption"))
    return marks


def _widest(view: FlatView) -> Extent | None:
    """The part whose width is told: the lowest that is not of ribbing, of those the widest."""
    shapes = [shape for shape in view.shapes if _upright(shape.points)]
    parts = [_box(shape.points) for shape in shapes if not shape.rib] or [
        _box(shape.points) for shape in shapes
    ]
    return min(parts, key=lambda box: (box[1], box[0] - box[2]), default=None)


_CIRCLE = 24
"""Points that a line round a circle has at the least."""
_COARSE = 25.0
"""A longer measure is told to half a centimetre, cm."""


def rounded(cm: float, look: SheetLook) -> str:
    """A measure that can be kept with a tape: short ones to a millimetre, long ones to half a
    centimetre; in inches to a quarter.
    """
    if look.units == "in":
        return f"{round(4 * cm / CM_PER_INCH) / 4:g} in"
    return f"{round(cm, 1) if cm < _COARSE else round(2 * cm) / 2:g} cm"


def _across(view: FlatView, whole: Schematic) -> tuple[str, ...]:
    """'19.3 cm round', '9.6 cm flat' of a tube; nothing where no part stands upright."""
    widest, look = _widest(view), whole.look
    if widest is None:
        return ()
    cm = widest[2] - widest[0]
    flat = rounded(cm, look)
    if not whole.tube or any(_is_disc(shape.points) for shape in view.shapes):
        return (flat,)
    return (f"{rounded(2 * cm, look)} round", f"{flat} flat") if look.words else (f"{flat} × 2",)


def _box(points: Sequence[Point]) -> Extent:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def _upright(points: Sequence[Point]) -> bool:
    """Whether a shape stands on a level foot."""
    left, bottom, right, top = _box(points)
    near = _STRAIGHT * (top - bottom)
    feet = [x for x, y in points if y < bottom + near]
    return max(feet) - min(feet) > 0.3 * (right - left)


def _is_disc(points: Sequence[Point]) -> bool:
    """Whether a shape is a circle: a crown from above."""
    left, bottom, right, top = _box(points)
    x, y, radius = (left + right) / 2, (bottom + top) / 2, (right - left) / 2
    return len(points) >= _CIRCLE and all(
        abs(hypot(px - x, py - y) - radius) < 0.02 * radius for px, py in points
    )


def _heights(view: FlatView) -> list[tuple[float, float]]:
    """The heights of the parts that stand one above another, from the foot up, cm."""
    boxes = [_box(shape.points) for shape in view.shapes if _upright(shape.points)]
    stops = sorted({round(y, 2) for box in boxes for y in (box[1], box[3])})
    found: list[float] = []
    for y in stops:
        if not found or y - found[-1] > 0.8:
            found.append(y)
    return list(pairwise(found))


def _ribs(points: Sequence[Point], slot: _Slot, view: FlatView) -> tuple[tuple[Point, Point], ...]:
    """Upright lines of a ribbing told by its four corners."""
    if len(points) != 4:
        return ()
    a, b, c, d = points
    count = max(4, round(((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5 / 0.7))
    lines = []
    for i in range(1, count):
        t = i / count
        foot = (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))
        head = (d[0] + t * (c[0] - d[0]), d[1] + t * (c[1] - d[1]))
        lines.append((slot.at(foot, view), slot.at(head, view)))
    return tuple(lines)


def _upright_measures(view: FlatView, slot: _Slot, x: float) -> list[Mark]:
    """The heights of the parts beside a view."""
    look = slot.rows.whole.look
    marks: list[Mark] = []
    for (bottom, top), up in zip(_heights(view), slot.rows.figures(view), strict=True):
        low, high = (slot.at((0.0, y), view)[1] for y in (bottom, top))
        ticks = (((x - 0.9, low), (x + 0.9, low)), ((x - 0.9, high), (x + 0.9, high)))
        marks.append(Lines((((x, low), (x, high)), *ticks), _DIM, "measure"))
        at, words = (x - 1.2, slot.foot - up), rounded(top - bottom, look)
        marks.append(Label(at, words, _SIZE * look.scale, "end", name="measure"))
    return marks


def _level_measure(
    left: float, right: float, y: float, words: Sequence[str], middle: float, size: float
) -> list[Mark]:
    """A line with the words under it."""
    ticks = (((left, y - 0.9), (left, y + 0.9)), ((right, y - 0.9), (right, y + 0.9)))
    lines = (((left, y), (right, y)), *ticks)
    words_marks = [
        Label((middle, y + size * (1.2 + 1.3 * n)), line, size, "middle", name="measure")
        for n, line in enumerate(words)
    ]
    return [Lines(lines, _DIM, "measure"), *words_marks]
