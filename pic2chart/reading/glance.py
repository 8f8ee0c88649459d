"""A quick look at a photo: whether it shows a chart on squared paper and not what one would chart."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from pic2chart.core.errors import InputError
from pic2chart.picture.decode import load_picture
from pic2chart.reading.chart_grid import find_grid
from pic2chart.reading.reading_settings import ReadSettings

_ACROSS = 700
"""Pixels along the longer side that are looked at."""
_FEWEST, _CLEAR = 8, 0.65
"""Squares a side, and how clear the grid is (0-1), from which it is a chart: tiles and fences are less."""


def shows_chart(path: Path) -> bool:
    """Whether a grid of squares is clearly seen. Raises InputError where the picture cannot be read."""
    import cv2

    photo = load_picture(path, across=_ACROSS)
    gray = photo.gray
    size = _ACROSS / max(gray.shape)
    if size < 1:
        small = cv2.resize(gray, None, fx=size, fy=size, interpolation=cv2.INTER_AREA)
        gray = np.asarray(small, dtype=np.uint8)
    try:
        grid = find_grid(gray, ReadSettings(), photo.name)
    except InputError:
        return False
    return min(grid.columns, grid.rows) >= _FEWEST and grid.clearness >= _CLEAR
