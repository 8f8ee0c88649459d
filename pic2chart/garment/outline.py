"""Views of pieces laid flat: part of a chart's stitches, each round as wide as its stitches are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from math import cos, hypot, radians, sin

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import parse_hex
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.sheets.marks.order import to_page
from pic2chart.sheets.marks.page import Label, Lines, Mark, Paths, Point, Sheet, Style, clean, wrap
from pic2chart.sheets.thing import FlatShape, FlatView

# The picture of the whole garment: its outline with every stitch in place, at true proportions.
#
# Views are laid out in centimetres, x to the right and y upwards; one scale holds for all views of a
# sheet. Stitches are drawn as two legs each, or as plain cells where there are very many.

MARGIN, GAP = 10.0, 16.0
_CAPTION, _TITLE, _NOTE = 3.6, 6.0, 3.0
_MOST_MM = 150.0
_WIDEST_MM = 420.0
_MOST_LEGS = 9000
_INK = "#3a3a3a"
_STITCH = ((0.05, 0.70), (0.29, 1.10), (0.5, 0.46), (0.71, 1.10), (0.95, 0.70), (0.5, 0.02))
"""The two legs of a stitch in its cell, x and y from 0 to 1."""

Polygon = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Cell:
    """One stitch: its corners (lower left, lower right, upper right, upper left) and its colour."""

    corners: tuple[Point, Point, Point, Point]
    colour: str


@dataclass(frozen=True, slots=True)
class Layer:
    """Cells and the line round them; `ribs` are polygons of one colour with upright lines."""

    cells: tuple[Cell, ...] = ()
    outline: Polygon = ()
    ribs: tuple[tuple[Polygon, str], ...] = ()
    plain: tuple[tuple[Polygon, str], ...] = ()

    def points(self) -> Iterable[Point]:
        """Every corner, to find how large the layer is."""
        yield from self.outline
        for cell in self.cells:
            yield from cell.corners
        for polygon, _ in (*self.ribs, *self.plain):
            yield from polygon

    def turned(self, degrees: float, pivot: Point, to: Point) -> Layer:
        """The layer turned (anticlockwise) about `pivot`, which moves to the place `to`."""
        c, s = cos(radians(degrees)), sin(radians(degrees))

        def move(point: Point) -> Point:
            x, y = point[0] - pivot[0], point[1] - pivot[1]
            return to[0] + c * x - s * y, to[1] + s * x + c * y

        def moved(polygon: Polygon) -> Polygon:
            return tuple(move(point) for point in polygon)

        return Layer(
            tuple(replace(cell, corners=moved(cell.corners)) for cell in self.cells),  # type: ignore[arg-type]
            moved(self.outline),
            tuple((moved(polygon), colour) for polygon, colour in self.ribs),
            tuple((moved(polygon), colour) for polygon, colour in self.plain),
        )


@dataclass(frozen=True, slots=True)
class View:
    """One side of the garment: layers in painting order, what it is called, what it measures.

    `narrowed`: its stitches are drawn narrower where it narrows, as it lies, not in their own shape.
    """

    caption: str
    layers: tuple[Layer, ...]
    facts: tuple[str, ...] = field(default=())
    narrowed: bool = False

    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top, cm."""
        points = [point for layer in self.layers for point in layer.points()]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        return min(xs), min(ys), max(xs), max(ys)


def outline_picture(title: str, views: Sequence[View]) -> Sheet:
    """All views side by side at one scale, and nothing else."""
    boxes = [view.box() for view in views]
    scale = _scale(boxes)
    high = max(top - bottom for _, bottom, _, top in boxes) * scale
    x, marks = 1.0, list[Mark]()
    for view, (left, bottom, right, _) in zip(views, boxes, strict=True):
        place = _Place(x - left * scale, 1.0 + high + bottom * scale, scale)
        marks += [mark for layer in view.layers for mark in _layer_marks(layer, place)]
        x += (right - left) * scale + GAP
    return Sheet(x - GAP + 1.0, high + 2.0, clean(title), _described(views), tuple(marks))


def _scale(boxes: Sequence[tuple[float, float, float, float]]) -> float:
    """Millimetres a centimetre."""
    wide = sum(right - left for left, _, right, _ in boxes)
    high = max(top - bottom for _, bottom, _, top in boxes)
    room = _WIDEST_MM - 2 * MARGIN - GAP * (len(boxes) - 1)
    return min(10.0, _MOST_MM / high, room / wide)


def _described(views: Sequence[View]) -> str:
    words = "; ".join(f"{view.caption}: {', '.join(view.facts)}" for view in views)
    return f"Outline. {words}."


def flat_views(views: Sequence[View]) -> tuple[FlatView, ...]:
    """The lines of the views, for the schematic."""
    return tuple(
        FlatView(
            view.caption,
            view.facts,
            tuple(shape for layer in view.layers for shape in _flat_shapes(layer)),
        )
        for view in views
    )


def _flat_shapes(layer: Layer) -> Iterable[FlatShape]:
    if layer.outline:
        yield FlatShape(layer.outline)
    for polygon, _ in layer.ribs:
        yield FlatShape(polygon, rib=True)
    for polygon, _ in () if layer.outline else layer.plain:
        yield FlatShape(polygon)


def outline_sheet(title: str, views: Sequence[View], notes: Sequence[str] = ()) -> Sheet:
    """All views side by side at one scale, with their captions and measures."""
    boxes = [view.box() for view in views]
    high = max(top - bottom for _, bottom, _, top in boxes)
    scale = _scale(boxes)
    marks: list[Mark] = [
        Label((MARGIN, MARGIN + _TITLE), clean(title), _TITLE, bold=True, name="title")
    ]
    x, foot = MARGIN, MARGIN + _TITLE + 8 + high * scale
    for view, (left, bottom, right, _) in zip(views, boxes, strict=True):
        place = _Place(x - left * scale, foot + bottom * scale, scale)
        marks += [mark for layer in view.layers for mark in _layer_marks(layer, place)]
        width = max((right - left) * scale, 44.0)
        marks += _captions(view, x, foot, width)
        x += width + GAP
    total = max(x - GAP + MARGIN, 120.0)
    facts = max(len(_facts(view, 60.0)) for view in views)
    y = foot + 8 + _CAPTION + facts * 1.5 * _NOTE + 4
    lines = [
        line
        for note in (
            *notes,
            f"Drawn at {scale / 10:.2f} of its size; {_shapes(views)}.",
        )
        for line in wrap(clean(note), _NOTE, total - 2 * MARGIN)
    ]
    for line in lines:
        marks.append(Label((MARGIN, y), line, _NOTE, colour="#444444", name="note"))
        y += 1.5 * _NOTE
    return Sheet(total, y + MARGIN - _NOTE, clean(title), _described(views), tuple(marks))


def _shapes(views: Sequence[View]) -> str:
    """What is true of the stitches' shapes."""
    narrowed = [view.caption.lower() for view in views if view.narrowed]
    if not narrowed:
        return "every stitch has its true shape"
    where = ", ".join(narrowed)
    return f"stitches have their true shape, but for those drawn in as the piece narrows ({where})"


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the origin of a view lies on the sheet, mm, and how many mm a centimetre is."""

    x: float
    y: float
    scale: float

    def at(self, point: Point) -> Point:
        return self.x + point[0] * self.scale, self.y - point[1] * self.scale

    def all(self, polygon: Polygon) -> Polygon:
        return tuple(self.at(point) for point in polygon)


def _facts(view: View, width: float) -> list[str]:
    return [line for fact in view.facts for line in wrap(fact, _NOTE, max(width, 60.0))]


def _captions(view: View, x: float, foot: float, width: float) -> list[Mark]:
    y = foot + 4 + _CAPTION
    marks: list[Mark] = [Label((x, y), view.caption, _CAPTION, bold=True, name="caption")]
    for line in _facts(view, width):
        y += 1.5 * _NOTE
        marks.append(Label((x, y), line, _NOTE, name="fact"))
    return marks


def _layer_marks(layer: Layer, place: _Place) -> list[Mark]:
    marks: list[Mark] = []
    for polygon, colour in layer.plain:
        marks.append(_filled((place.all(polygon),), colour, "plain"))
    for polygon, colour in layer.ribs:
        marks += _rib_marks(polygon, colour, place)
    legs = len(layer.cells) <= _MOST_LEGS
    grounds: dict[str, list[Polygon]] = defaultdict(list)
    stitches: dict[str, list[Polygon]] = defaultdict(list)
    for run, colour in _runs(layer.cells):
        grounds[colour].append(place.all(run))
    for cell in layer.cells if legs else ():
        stitches[cell.colour].append(place.all(_stitch(cell)))
    for colour, polygons in grounds.items():
        marks.append(_filled(tuple(polygons), _shade(colour, 0.86) if legs else colour, "cells"))
    for colour, polygons in stitches.items():
        marks.append(_filled(tuple(polygons), colour, "stitches"))
    if layer.outline:
        marks += _line_round(place.all(layer.outline))
    return marks


def _line_round(polygon: Polygon) -> list[Mark]:
    """A dark line on a white one, seen on any yarn."""
    return [
        Paths((polygon,), Style(stroke="#ffffff", width=1.1), "outline under", closed=True),
        Paths((polygon,), Style(stroke=_INK, width=0.5), "outline", closed=True),
    ]


def _filled(polygons: tuple[Polygon, ...], colour: str, name: str) -> Paths:
    return Paths(polygons, Style(fill=colour), name, closed=True)


def _runs(cells: Sequence[Cell]) -> Iterable[tuple[Polygon, str]]:
    """Cells of one colour that touch along a round, as one shape: its corners and its colour."""
    run: list[Cell] = []
    for cell in cells:
        if run and not (cell.colour == run[-1].colour and cell.corners[0] == run[-1].corners[1]):
            yield _whole(run), run[0].colour
            run = []
        run.append(cell)
    if run:
        yield _whole(run), run[0].colour


def _whole(run: Sequence[Cell]) -> Polygon:
    """The line round a run of cells, with as many corners as it needs: four where it lies straight."""
    first, middle, last = run[0], run[len(run) // 2], run[-1]
    if _straight(first.corners[0], middle.corners[0], last.corners[1]):
        return first.corners[0], last.corners[1], last.corners[2], first.corners[3]
    feet = (first.corners[0], *(cell.corners[1] for cell in run))
    return (*feet, last.corners[2], *(cell.corners[3] for cell in reversed(run)))


def _straight(start: Point, middle: Point, end: Point) -> bool:
    """Whether three points lie on a line, as nearly as is seen."""
    across, up = end[0] - start[0], end[1] - start[1]
    off = across * (middle[1] - start[1]) - up * (middle[0] - start[0])
    return abs(off) < 1e-3 * (across * across + up * up)


def _stitch(cell: Cell) -> Polygon:
    """The legs of a stitch, in its cell's own slanted square."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = cell.corners
    return tuple(
        (
            (1 - v) * ((1 - u) * ax + u * bx) + v * ((1 - u) * dx + u * cx),
            (1 - v) * ((1 - u) * ay + u * by) + v * ((1 - u) * dy + u * cy),
        )
        for u, v in _STITCH
    )


def _rib_marks(polygon: Polygon, colour: str, place: _Place) -> list[Mark]:
    """Ribbing: the polygon (lower left, lower right, upper right, upper left) with upright lines."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = polygon
    count = max(4, round(hypot(bx - ax, by - ay) / 0.7))
    lines = tuple(
        (
            place.at((ax + (bx - ax) * i / count, ay + (by - ay) * i / count)),
            place.at((dx + (cx - dx) * i / count, dy + (cy - dy) * i / count)),
        )
        for i in range(1, count)
    )
    return [
        _filled((place.all(polygon),), colour, "rib"),
        Lines(lines, Style(stroke=_shade(colour, 0.68), width=0.12 * place.scale), "rib lines"),
        *_line_round(place.all(polygon)),
    ]


def _shade(colour: str, share: float) -> str:
    return "#{:02x}{:02x}{:02x}".format(*(round(c * share) for c in parse_hex(colour)))


Widths = Callable[[int, int], float]
"""Width in cm of a round, from its number and its visible stitches."""


def fabric(
    chart: Chart,
    columns: Sequence[int],
    at: Point = (0.0, 0.0),
    *,
    first: int = 0,
    widths: Widths | None = None,
) -> Layer:
    """The stitches of some chart columns from round `first` on, every round centred over `at`.

    `columns` are chart columns (stitches from 0) in knitting order. `widths`: how wide a round lies,
    when not as wide as its stitches.
    """
    w, h = chart.gauge.stitch_width, chart.gauge.round_height
    page = to_page(chart.stitches[:, list(columns)], chart.hand)[::-1]
    cells: list[Cell] = []
    sides: list[tuple[float, float, float]] = []
    for up, row in enumerate(page[first:]):
        yarns = row[row != NO_STITCH]
        if not yarns.size:
            continue
        span = [w * yarns.size] * 2 if widths is None else [
            widths(first + up, yarns.size), widths(first + up + 1, yarns.size)
        ]  # fmt: skip
        low, high = at[1] + up * h, at[1] + (up + 1) * h
        cells += _row_cells(chart, yarns, at[0], span, (low, high))
        sides += [(span[0] / 2, low, at[0]), (span[1] / 2, high, at[0])]
    return Layer(tuple(cells), _around(sides))


def _row_cells(
    chart: Chart,
    yarns: NDArray[np.uint8],
    middle: float,
    span: Sequence[float],
    heights: tuple[float, float],
) -> list[Cell]:
    """The cells of one round, `span` wide at its foot and its head."""
    edges = [[middle + s * (i / yarns.size - 0.5) for i in range(yarns.size + 1)] for s in span]
    low, high = heights
    return [
        Cell(
            (
                (edges[0][i], low),
                (edges[0][i + 1], low),
                (edges[1][i + 1], high),
                (edges[1][i], high),
            ),
            chart.yarns[int(yarn)].colour,
        )
        for i, yarn in enumerate(yarns)
    ]


def _around(sides: Sequence[tuple[float, float, float]]) -> Polygon:
    right = [(x + half, y) for half, y, x in sides]
    left = [(x - half, y) for half, y, x in reversed(sides)]
    return tuple(right + left)


def front_columns(chart: Chart) -> list[int]:
    """The half of a tube that lies opposite the join."""
    count = chart.stitch_count
    return list(range(count // 4, count // 4 + count // 2))


def rib_layer(width: float, low: float, high: float, colour: str, middle: float = 0.0) -> Layer:
    """A block of ribbing, a little drawn in."""
    half = width / 2
    box = ((-half, low), (half, low), (half, high), (-half, high))
    return Layer(ribs=((tuple((x + middle, y) for x, y in box), colour),))


def tube_view(
    chart: Chart,
    caption: str,
    colour: str,
    below: float,
    above: float = 0.0,
    more: tuple[str, ...] = (),
) -> View:
    """A tube laid flat, seen from the side opposite the join, with ribbing below and above.

    `more`: further facts to tell under it.
    """
    layer = fabric(chart, front_columns(chart))
    width = chart.stitch_count / 2 * chart.gauge.stitch_width
    high = chart.round_count * chart.gauge.round_height
    layers = [layer]
    if below:
        layers.insert(0, rib_layer(width * 0.96, -below, 0.0, colour))
    if above:
        layers.append(rib_layer(width * 0.96, high, high + above, colour))
    facts = (
        f"{2 * width:.1f} cm round, {width:.1f} cm flat",
        f"{high + below + above:.1f} cm high with ribbing",
    )
    return View(caption, tuple(layers), (*facts, *more))


def disc_view(chart: Chart, first: int, wedges: int, caption: str, colour: str) -> View:
    """A crown from above: rounds from `first` on as rings, wedge beside wedge, its middle drawn up.

    `colour`: the ground's, seen between the stitches.
    """
    w, h = chart.gauge.stitch_width, chart.gauge.round_height
    total = chart.round_count - first
    inner = chart.live[-1].sum() * w / (2 * np.pi)
    page = to_page(chart.stitches, chart.hand)[::-1][first:]
    sector = chart.stitch_count // wedges
    cells: list[Cell] = []
    for up, row in enumerate(page):
        rings = (inner + (total - up) * h, inner + (total - up - 1) * h)
        for wedge in range(wedges):
            yarns = row[wedge * sector : (wedge + 1) * sector]
            yarns = yarns[yarns != NO_STITCH]
            turns = (wedge + np.arange(yarns.size + 1) / yarns.size) / wedges * 2 * np.pi
            cells += _ring_cells(chart, yarns, turns, rings)
    outer = inner + total * h
    circle = np.linspace(0, 2 * np.pi, 97)[:-1]
    edge = tuple((float(outer * np.cos(a)), float(outer * np.sin(a))) for a in circle)
    layer = Layer(tuple(cells), edge, plain=((edge, colour),))
    return View(caption, (layer,), (f"{2 * outer:.1f} cm across",), narrowed=True)


def _ring_cells(
    chart: Chart,
    yarns: NDArray[np.uint8],
    turns: NDArray[np.float64],
    rings: tuple[float, float],
) -> list[Cell]:
    """Stitches of one wedge in one ring; their feet are outside."""

    def place(radius: float, turn: float) -> Point:
        return float(-radius * np.cos(turn)), float(radius * np.sin(turn))

    return [
        Cell(
            (
                place(rings[0], turns[i]),
                place(rings[0], turns[i + 1]),
                place(rings[1], turns[i + 1]),
                place(rings[1], turns[i]),
            ),
            chart.yarns[int(yarn)].colour,
        )
        for i, yarn in enumerate(yarns)
    ]
