"""Write a sheet as a PNG picture: every mark drawn at twice the size, then averaged."""

from __future__ import annotations

import io
from functools import cache
from typing import Any

from PIL import Image, ImageDraw, ImageFont

from pic2chart.draw.page import Boxes, Label, Lines, Mark, Paths, Point, Raster, Sheet, clean
from pic2chart.draw.type_files import type_file
from pic2chart.errors import SettingError

MAX_PIXELS = 60_000_000
_FINE = 2
_ANCHORS = {"start": "ls", "middle": "ms", "end": "rs"}

Pixels = tuple[float, float]


def sheet_png(sheet: Sheet, dots_per_mm: float = 6.0) -> bytes:
    """The sheet as an RGB PNG. Raises SettingError when it would pass 60 million pixels.

    Dashes and the opacity of fills are left out.
    """
    scale = dots_per_mm * _FINE
    size = (max(1, round(sheet.width * scale)), max(1, round(sheet.height * scale)))
    if size[0] * size[1] > MAX_PIXELS:
        raise SettingError(
            f"A sheet of {sheet.width:.0f} × {sheet.height:.0f} mm is too large for one picture."
        )
    image = Image.new("RGB", size, "white")
    pen = ImageDraw.Draw(image)
    for mark in sheet.marks:
        _draw(image, pen, mark, scale)
    out = io.BytesIO()
    image.reduce(_FINE).save(out, "PNG", compress_level=6)
    return out.getvalue()


def _draw(image: Image.Image, pen: ImageDraw.ImageDraw, mark: Mark, scale: float) -> None:
    if isinstance(mark, Raster):
        left, top, width, height = (round(side * scale) for side in mark.box)
        picture = Image.open(io.BytesIO(mark.png)).convert("RGB")
        image.paste(picture.resize((width, height), Image.Resampling.LANCZOS), (left, top))
    elif isinstance(mark, Label):
        font, at = _font(mark.bold, round(mark.size * scale)), _scaled(mark.at, scale)
        pen.text(at, clean(mark.text), mark.colour, font, anchor=_ANCHORS[mark.anchor])
    elif isinstance(mark, Boxes):
        _boxes(pen, mark, scale)
    else:
        _lines(pen, mark, scale)


def _boxes(pen: ImageDraw.ImageDraw, mark: Boxes, scale: float) -> None:
    width = max(1, round(mark.style.width * scale)) if mark.style.stroke else 0
    for left, top, across, down in mark.boxes:
        corners = [_scaled((left, top), scale), _scaled((left + across, top + down), scale)]
        pen.rectangle(corners, fill=mark.style.fill, outline=mark.style.stroke, width=width)


def _lines(pen: ImageDraw.ImageDraw, mark: Any, scale: float) -> None:
    style, width = mark.style, max(1, round(mark.style.width * scale))
    for line, closed in _polylines(mark):
        points = [_scaled(point, scale) for point in line]
        if closed and style.fill:
            pen.polygon(points, fill=style.fill)
        if style.stroke:
            pen.line([*points, points[0]] if closed else points, style.stroke, width, "curve")


def _polylines(mark: Any) -> list[tuple[tuple[Point, ...], bool]]:
    """Every polyline of a mark in millimetres, and whether it is closed."""
    if isinstance(mark, Lines):
        return [(line, False) for line in mark.lines]
    if isinstance(mark, Paths):
        return [(line, mark.closed) for line in mark.paths]
    return [
        (tuple((x + dx, y + dy) for dx, dy in line), mark.shape.closed)
        for x, y in mark.places
        for line in mark.shape.polylines
    ]


@cache
def _font(bold: bool, size: int) -> ImageFont.FreeTypeFont:
    data = type_file("Roboto-Bold" if bold else "Roboto-Regular")
    return ImageFont.truetype(io.BytesIO(data), max(1, size))


def _scaled(point: Point, scale: float) -> Pixels:
    return point[0] * scale, point[1] * scale
