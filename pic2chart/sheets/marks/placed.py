"""A whole sheet drawn small or large within another."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from pic2chart.sheets.marks.page import (
    Boxes,
    Glyph,
    Label,
    Lines,
    Mark,
    Paths,
    Point,
    Raster,
    Rect,
    Sheet,
    Stamps,
    Style,
)

Move = Callable[[Point], Point]


def placed(sheet: Sheet, box: Rect) -> list[Mark]:
    """The marks of a sheet in the middle of a box, as large as it allows, their shapes kept."""
    scale = min(box[2] / sheet.width, box[3] / sheet.height)
    left = box[0] + (box[2] - sheet.width * scale) / 2
    top = box[1] + (box[3] - sheet.height * scale) / 2

    def at(point: Point) -> Point:
        return left + point[0] * scale, top + point[1] * scale

    return [_moved(mark, at, scale) for mark in sheet.marks]


def _moved(mark: Mark, at: Move, scale: float) -> Mark:
    if isinstance(mark, Label):
        return replace(mark, at=at(mark.at), size=mark.size * scale)
    if isinstance(mark, Raster):
        return replace(mark, box=_rect(mark.box, at, scale))
    style = _thinner(mark.style, scale)
    if isinstance(mark, Boxes):
        return Boxes(tuple(_rect(box, at, scale) for box in mark.boxes), style, mark.name)
    if isinstance(mark, Lines):
        return Lines(tuple((at(a), at(b)) for a, b in mark.lines), style, mark.name)
    if isinstance(mark, Paths):
        paths = tuple(tuple(map(at, path)) for path in mark.paths)
        return Paths(paths, style, mark.name, mark.closed)
    assert isinstance(mark, Stamps)
    lines = tuple(tuple((x * scale, y * scale) for x, y in line) for line in mark.shape.polylines)
    glyph = Glyph(lines, mark.shape.closed)
    return Stamps(glyph, tuple(map(at, mark.places)), style, mark.name)


def _rect(box: Rect, at: Move, scale: float) -> Rect:
    return (*at((box[0], box[1])), box[2] * scale, box[3] * scale)


def _thinner(style: Style, scale: float) -> Style:
    return replace(
        style, width=style.width * scale, dash=tuple(dash * scale for dash in style.dash)
    )
