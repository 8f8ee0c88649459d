"""Points that a person gives by hand, in pixels of the photo."""

from __future__ import annotations

import re

import numpy as np

from pic2chart.errors import SettingError
from pic2chart.reading.perspective import Floats


def points(text: str, count: int, name: str) -> Floats:
    """Read `count` points 'x,y,x,y,…' as float [count, 2]; `name` is the flag for the message."""
    parts = re.split(r"[\s,;]+", text.strip())
    if len(parts) != 2 * count or not all(
        re.fullmatch(r"\d{1,6}(\.\d{1,3})?", p, re.A) for p in parts
    ):
        raise SettingError(
            f"{name} is '{text[:80]}'; it must be {2 * count} numbers: x,y of {count} points, in "
            "pixels of the photo."
        )
    return np.array([float(p) for p in parts]).reshape(count, 2)


def four_corners(text: str, name: str) -> Floats:
    """Four corners of a convex figure, clockwise from the top left, float [4, 2]."""
    corners = points(text, 4, name)
    along = np.roll(corners, -1, axis=0) - corners
    after = np.roll(along, -1, axis=0)
    turns = along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0]
    if not (turns > 1).all():
        raise SettingError(
            f"{name} is '{text[:80]}'; the four corners must go clockwise: top left, top right, "
            "bottom right, bottom left."
        )
    return corners
