"""Paint fabric as a PNG: the boxes and strokes of its sheet, without text.

One picture has tens of thousands of strokes with round ends, which OpenCV draws fast and well.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.colour import parse_hex
from pic2chart.draw.fabric import MAX_PIXELS, png_bytes
from pic2chart.draw.page import Boxes, Paths, Sheet
from pic2chart.errors import SettingError

_FINER = 3
_FINE_PIXELS = 30_000_000
_BITS = 4


def strokes_png(sheet: Sheet, px_per_mm: float) -> bytes:
    """The boxes and paths of a sheet, smoothed.

    Raises SettingError when the picture would have more than 60 million pixels.
    """
    import cv2

    width, height = (max(1, round(side * px_per_mm)) for side in (sheet.width, sheet.height))
    if width * height > MAX_PIXELS:
        raise SettingError(
            f"A picture of {width} × {height} pixels is too large; ask for fewer pixels a stitch."
        )
    finer = next((f for f in range(_FINER, 1, -1) if width * height * f * f <= _FINE_PIXELS), 1)
    fine = np.full((height * finer, width * finer, 3), 255, np.uint8)
    scale = (fine.shape[1] / sheet.width, fine.shape[0] / sheet.height)
    known: dict[int, list[NDArray[np.int32]]] = {}
    for mark in sheet.marks:
        if isinstance(mark, Boxes) and mark.style.fill is not None:
            _fill(fine, mark, scale)
        elif isinstance(mark, Paths) and mark.style.stroke is not None:
            if id(mark.paths) not in known:
                known[id(mark.paths)] = [_pixels(path, scale) for path in mark.paths]
            lines = known[id(mark.paths)]
            thick = max(1, round(mark.style.width * scale[0]))
            colour = _colour(mark.style.stroke)
            cv2.polylines(fine, lines, mark.closed, colour, thick, cv2.LINE_8, _BITS)
    smooth = cv2.resize(fine, (width, height), interpolation=cv2.INTER_AREA)
    return png_bytes(smooth.astype(np.uint8))


def _fill(picture: NDArray[np.uint8], mark: Boxes, scale: tuple[float, float]) -> None:
    colour = _colour(mark.style.fill or "#ffffff")
    for left, top, width, height in mark.boxes:
        x, y = round(left * scale[0]), round(top * scale[1])
        past = round((left + width) * scale[0]), round((top + height) * scale[1])
        picture[y : past[1], x : past[0]] = colour


def _pixels(path: Any, scale: tuple[float, float]) -> NDArray[np.int32]:
    places = np.array(path) * scale * (1 << _BITS)
    return np.rint(places).astype(np.int32).reshape(-1, 1, 2)


def _colour(colour: str) -> tuple[int, int, int]:
    red, green, blue = parse_hex(colour)
    return red, green, blue
