"""The schematic: a thing's parts as plain lines, with what they measure beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from pic2chart.sheets.marks.page import Label, Lines, Mark, Paths, Point, Style, clean
from pic2chart.sheets.sheet_settings import CM_PER_INCH, SheetLook
from pic2chart.sheets.thing import FlatView

_LINE = Style(fill="#ffffff", stroke="#1c1c1c", width=0.4)
_RIB = Style(stroke="#9a9a9a", width=0.18)
_DIM = Style(stroke="#5a5a5a", width=0.2)
_SIZE, _CAPTION = 2.9, 3.1
_BESIDE = 15.0
"""Room for the heights on the left of a view, mm."""
_BETWEEN = 7.0
_STRAIGHT = 0.05
"""Shapes whose foot leans more than this, as a share of its length, stand aslant and get no measures."""

Extent = tuple[float, float, float, float]
"""Left, bottom, right and top, cm."""


@dataclass(frozen=True, slots=True)
class Schematic:
    """Views side by side at one scale in a box so wide, at most so high; marks come from `marks`.

    `tube`: the views show tubes laid flat.
    """

    views: tuple[FlatView, ...]
    width: float
    most: float
    look: SheetLook
    tube: bool

    @property
    def scale(self) -> float:
        """Millimetres a centimetre."""
        boxes = [view_box(view) for view in self.views]
        wide = sum(right - left for left, _, right, _ in boxes)
        high = max(top - bottom for _, bottom, _, top in boxes)
        beside = (_BESIDE * self.look.scale + _BETWEEN) * len(boxes)
        return max(1e-3, min(10.0, (self.most - self._words) / high, (self.width - beside) / wide))

    @property
    def _words(self) -> float:
        """Room over and under a view: the width below, the caption."""
        return (3.3 * _SIZE + 1.6 * _CAPTION + 4) * self.look.scale

    @property
    def height(self) -> float:
        boxes = [view_box(view) for view in self.views]
        return self.scale * max(top - bottom for _, bottom, _, top in boxes) + self._words

    def marks(self, at: Point, _: float = 0.0) -> list[Mark]:
        """The marks with the top left corner of the box at that place."""
        boxes, scale = [view_box(view) for view in self.views], self.scale
        beside = _BESIDE * self.look.scale
        taken = sum((r - l) * scale + beside for l, _, r, _ in boxes)  # noqa: E741
        gap = (self.width - taken) / (len(boxes) + 1)
        x, marks = at[0] + gap, []
        high = max(top - bottom for _, bottom, _, top in boxes)
        foot = at[1] + high * scale + 1
        for view, (left, bottom, right, _) in zip(self.views, boxes, strict=True):
            place = _Place(x + beside - left * scale, foot + bottom * scale, scale)
            marks += _view_marks(view, place, self, x + beside)
            x += beside + (right - left) * scale + gap
        return marks


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a view's origin lies, mm, and how many mm a centimetre is."""

    x: float
    y: float
    scale: float

    def at(self, point: Point) -> Point:
        return self.x + point[0] * self.scale, self.y - point[1] * self.scale


def view_box(view: FlatView) -> Extent:
    """Left, bottom, right and top of a view, cm."""
    points = [point for shape in view.shapes for point in shape.points]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def _view_marks(view: FlatView, place: _Place, whole: Schematic, left: float) -> list[Mark]:
    marks: list[Mark] = []
    look = whole.look
    for shape in view.shapes:
        marks.append(Paths((tuple(map(place.at, shape.points)),), _LINE, "schematic", closed=True))
        if shape.rib:
            marks.append(Lines(_ribs(shape.points, place), _RIB, "schematic rib"))
    boxes = [_box(shape.points) for shape in view.shapes if _upright(shape.points)]
    size = _SIZE * look.scale
    low = min(point[1] for shape in view.shapes for point in shape.points)
    for bottom, top in _heights(boxes):
        a, b = place.at((0, bottom))[1], place.at((0, top))[1]
        marks += _upright_measure(left - 3.0, a, b, rounded(top - bottom, look), size)
    y = place.at((0, low))[1] + 1.5
    widest = max(boxes, key=lambda box: box[2] - box[0], default=None)
    if widest is not None:
        ends = [place.at((x, 0))[0] for x in (widest[0], widest[2])]
        disc = any(map(_is_disc, (shape.points for shape in view.shapes)))
        flat = _across(widest[2] - widest[0], look, tube=whole.tube and not disc)
        marks += _level_measure(ends[0], ends[1], y, flat, size)
    if look.words:
        caption = clean(view.caption)
        y += (0.1 + 1.3 * (1 + whole.tube)) * size + 1.5 * _CAPTION * look.scale
        marks.append(Label((left, y), caption, _CAPTION * look.scale, bold=True, name="caption"))
    return marks


_COARSE = 25.0
"""A longer measure is told to half a centimetre, cm."""


def rounded(cm: float, look: SheetLook) -> str:
    """A measure that can be kept with a tape: short ones to a millimetre, long ones to half a
    centimetre; in inches to a quarter.
    """
    if look.units == "in":
        return f"{round(4 * cm / CM_PER_INCH) / 4:g} in"
    return f"{round(cm, 1) if cm < _COARSE else round(2 * cm) / 2:g} cm"


def _across(cm: float, look: SheetLook, *, tube: bool) -> tuple[str, ...]:
    """'19.3 cm round', '9.6 cm flat' of a tube."""
    flat = rounded(cm, look)
    if not tube:
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
    return all(abs(hypot(px - x, py - y) - radius) < 0.02 * radius for px, py in points)


def _heights(boxes: Sequence[Extent]) -> list[tuple[float, float]]:
    """The heights of the parts that stand one above another, from the foot up, cm."""
    stops = sorted({round(y, 2) for box in boxes for y in (box[1], box[3])})
    found: list[float] = []
    for y in stops:
        if not found or y - found[-1] > 0.8:
            found.append(y)
    return list(pairwise(found))


def _ribs(points: Sequence[Point], place: _Place) -> tuple[tuple[Point, Point], ...]:
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
        lines.append((place.at(foot), place.at(head)))
    return tuple(lines)


def _upright_measure(x: float, low: float, high: float, words: str, size: float) -> list[Mark]:
    ticks = (((x - 0.9, low), (x + 0.9, low)), ((x - 0.9, high), (x + 0.9, high)))
    lines = (((x, low), (x, high)), *ticks)
    at = (x - 1.2, (low + high) / 2 + 0.36 * size)
    return [Lines(lines, _DIM, "measure"), Label(at, words, size, "end", name="measure")]


def _level_measure(
    left: float, right: float, y: float, words: Sequence[str], size: float
) -> list[Mark]:
    ticks = (((left, y - 0.9), (left, y + 0.9)), ((right, y - 0.9), (right, y + 0.9)))
    lines = (((left, y), (right, y)), *ticks)
    middle = (left + right) / 2
    words_marks = [
        Label((middle, y + size * (1.2 + 1.3 * n)), line, size, "middle", name="measure")
        for n, line in enumerate(words)
    ]
    return [Lines(lines, _DIM, "measure"), *words_marks]
