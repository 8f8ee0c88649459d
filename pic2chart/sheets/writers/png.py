"""Write PNG pictures: a chart as one pixel a stitch, and a sheet with every mark painted."""

from __future__ import annotations

import io
from collections.abc import Iterable
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from pic2chart.core.colour import parse_hex
from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.sheets.fabric.front import MAX_PIXELS, png_bytes
from pic2chart.sheets.marks.order import to_page
from pic2chart.sheets.marks.page import (
    Boxes,
    Bundle,
    Label,
    Lines,
    Mark,
    Paths,
    Point,
    Raster,
    Sheet,
    Stamps,
)
from pic2chart.sheets.marks.printed import shown
from pic2chart.sheets.marks.type_files import BOLD, REGULAR, type_file
from pic2chart.sheets.writers.latest import Latest

# A chart as an indexed PNG, one pixel a stitch: top of the picture = last round.

_ABSENT = (128, 128, 128)


def pixels_png(chart: Chart) -> bytes:
    """One pixel a stitch, palette in yarn order, no stitch = index 255, transparent.

    Always stored with stitch 1 on the right, whichever hand knits: the file carries the chart's
    data, and a picture cannot say which hand it is for.
    """
    colours = [channel for yarn in chart.yarns for channel in yarn.rgb]
    options: dict[str, object] = {}
    if not chart.live.all():
        colours += _ABSENT * (NO_STITCH + 1 - len(chart.yarns))
        options["transparency"] = bytes([255] * NO_STITCH + [0])
    picture = Image.fromarray(to_page(chart.stitches, "right").copy()).convert("L")
    picture.putpalette(colours)
    out = io.BytesIO()
    picture.save(out, "PNG", optimize=False, compress_level=9, **options)
    return out.getvalue()


# Write a sheet as a PNG picture: every mark painted larger, then averaged.
#
# A fabric has tens of thousands of strokes with round ends, which OpenCV draws fast and well; the
# letters come from the type file by way of Pillow. Dashes are drawn as full lines.

_FINER = 3
_FINE_PIXELS = 30_000_000
"""Each pixel is the mean of 3 × 3, or of fewer where there would be more than this in all."""
_BITS = 4
"""Bits behind the point of the places OpenCV is given."""
_ANCHORS = {"start": "ls", "middle": "ms", "end": "rs"}

Pixels = NDArray[np.uint8]
Factors = tuple[float, float]
Polylines = list[NDArray[np.int32]]


def sheet_png(sheet: Sheet, px_per_mm: float = 6.0) -> bytes:
    """The sheet as an RGB PNG. Raises SettingError when it would have over 60 million pixels."""
    import cv2

    width, height = (max(1, round(side * px_per_mm)) for side in (sheet.width, sheet.height))
    if width * height > MAX_PIXELS:
        raise SettingError(message("png-too-many-pixels", width=width, height=height))
    finer = next((f for f in range(_FINER, 1, -1) if width * height * f * f <= _FINE_PIXELS), 1)
    fine = np.full((height * finer, width * finer, 3), 255, np.uint8)
    scale = (fine.shape[1] / sheet.width, fine.shape[0] / sheet.height)
    known: Latest[Polylines] = Latest()
    for mark in sheet.marks:
        _paint(fine, mark, scale, known)
    return png_bytes(
        np.asarray(cv2.resize(fine, (width, height), interpolation=cv2.INTER_AREA), np.uint8)
    )


def _paint(fine: Pixels, mark: Mark, scale: Factors, known: Latest[Polylines]) -> None:
    if isinstance(mark, Raster):
        _raster(fine, mark, scale)
    elif isinstance(mark, Label):
        _label(fine, mark, scale)
    elif isinstance(mark, Boxes):
        _boxes(fine, mark, scale)
    else:
        _strokes(fine, mark, scale, known)


def _raster(fine: Pixels, mark: Raster, scale: Factors) -> None:
    left, top, width, height = (round(side * scale[n % 2]) for n, side in enumerate(mark.box))
    picture = Image.open(io.BytesIO(mark.png)).convert("RGB")
    size = (max(1, width), max(1, height))
    paint = np.asarray(picture.resize(size, Image.Resampling.LANCZOS), np.float32)
    _blend(fine, (left, top), paint, np.ones((*paint.shape[:2], 1), np.float32))


def _label(fine: Pixels, label: Label, scale: Factors) -> None:
    font = _font(label.bold, max(1, round(label.size * scale[1])))
    text, anchor = shown(label.text), _ANCHORS[label.anchor]
    x, y = label.at[0] * scale[0], label.at[1] * scale[1]
    left, top, right, bottom = (
        int(side)
        for side in ImageDraw.Draw(Image.new("L", (1, 1))).textbbox(
            (x, y), text, font, anchor, language=language_of(font)
        )
    )
    if right <= left or bottom <= top:
        return
    cover = Image.new("L", (right - left + 2, bottom - top + 2))
    ImageDraw.Draw(cover).text(
        (x - left, y - top), text, 255, font, anchor, language=language_of(font)
    )
    shares = np.asarray(cover, np.float32)[..., None] / 255
    _blend(fine, (left, top), np.array(parse_hex(label.colour), np.float32), shares)


def _boxes(fine: Pixels, mark: Boxes, scale: Factors) -> None:
    import cv2

    style = mark.style
    if style.fill is not None:
        colour = np.array(parse_hex(style.fill), np.float32)
        for left, top, width, height in mark.boxes:
            x, y = round(left * scale[0]), round(top * scale[1])
            past = round((left + width) * scale[0]), round((top + height) * scale[1])
            part = fine[max(0, y) : max(0, past[1]), max(0, x) : max(0, past[0])]
            if style.opacity == 1:
                corner, last = (max(0, x), max(0, y)), (past[0] - 1, past[1] - 1)
                if part.size:
                    cv2.rectangle(fine, corner, last, parse_hex(style.fill), cv2.FILLED)
            else:
                part[:] = np.rint(part + (colour - part) * np.float32(style.opacity))
    if style.stroke is not None:
        corners = [((x, y), (x + w, y), (x + w, y + h), (x, y + h)) for x, y, w, h in mark.boxes]
        _draw(fine, _all_places(corners, scale), True, style, scale)


def _strokes(
    fine: Pixels, mark: Lines | Paths | Stamps, scale: Factors, known: Latest[Polylines]
) -> None:
    """Polylines, filled and then stroked; those that several marks share are worked out once."""
    import cv2

    lines = known.get(mark.paths) if isinstance(mark, Paths) else None
    if lines is None:
        lines = _all_places(_polylines(mark), scale)
        if isinstance(mark, Paths):
            known.keep(mark.paths, lines)
    closed = (
        mark.closed if isinstance(mark, Paths) else isinstance(mark, Stamps) and mark.shape.closed
    )
    if closed and mark.style.fill is not None:
        for line in lines:
            cv2.fillPoly(fine, [line], parse_hex(mark.style.fill), cv2.LINE_8, _BITS)
    if mark.style.stroke is not None:
        _draw(fine, lines, closed, mark.style, scale)


def _draw(fine: Pixels, lines: Polylines, closed: bool, style: Any, scale: Factors) -> None:
    import cv2

    thick = max(1, round(style.width * scale[0]))
    cv2.polylines(fine, lines, closed, parse_hex(style.stroke), thick, cv2.LINE_8, _BITS)


def _polylines(mark: Lines | Paths | Stamps) -> Iterable[tuple[Point, ...]]:
    """Every polyline of a mark in millimetres."""
    if isinstance(mark, Lines):
        return mark.lines
    if isinstance(mark, Paths):
        return mark.paths
    return [
        tuple((x + dx, y + dy) for dx, dy in line)
        for x, y in mark.places
        for line in mark.shape.polylines
    ]


def _all_places(lines: Iterable[tuple[Point, ...]], scale: Factors) -> Polylines:
    """Every polyline in OpenCV's places."""
    bundle = Bundle.of(lines)
    places = np.rint(bundle.points[:, None] * scale * (1 << _BITS)).astype(np.int32)
    return [places[start:end] for start, end in pairwise((0, *bundle.ends))]


def _blend(fine: Pixels, at: tuple[int, int], paint: Any, shares: Any) -> None:
    """Lay paint [height, width, 3] or [3] on the picture from a corner on; what lies outside is cut.

    `shares` [height, width, 1], 0 to 1, tell how much of it covers.
    """
    past = [
        min(s, side - a) for s, side, a in zip(shares.shape, fine.shape, at[::-1], strict=False)
    ]
    down, across = (slice(max(0, -a), p) for a, p in zip(at[::-1], past, strict=True))
    cover = shares[down, across]
    if not cover.size:
        return
    part = fine[max(0, at[1]) :, max(0, at[0]) :][: cover.shape[0], : cover.shape[1]]
    laid = paint[down, across] if paint.ndim == 3 else paint
    part[:] = np.rint(part + (laid - part) * cover)


@cache
def language_of(font: ImageFont.FreeTypeFont) -> str | None:
    """English, where letters are shaped by language; else they would follow the system's own."""
    return "en" if font.layout_engine == ImageFont.Layout.RAQM else None


def _font(bold: bool, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(io.BytesIO(type_file(BOLD if bold else REGULAR)), size)
