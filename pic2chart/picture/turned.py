"""A picture turned about its middle by a few degrees, its subject with it; its size stays.

What comes in at the corners is the picture mirrored at its edges, so that no line is seen there where
everything is kept; it is never part of a subject.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from pic2chart.picture.decode import Picture
from pic2chart.picture.focus import Spot
from pic2chart.picture.subject import Mask, Subject


def turned(picture: Picture, degrees: float) -> Picture:
    """The whole picture turned clockwise; what comes in at the corners is clear if it has opacity."""
    if not degrees:
        return picture
    turn, size = _turn(picture.rgb.shape[:2], degrees)
    rgb = cv2.warpAffine(
        picture.rgb, turn, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT_101
    )
    opacity = None if picture.opacity is None else _turned_mask(picture.opacity, degrees)
    return replace(picture, rgb=np.asarray(rgb, np.uint8), opacity=opacity)


def turned_subject(subject: Subject, degrees: float) -> Subject:
    """The subject of the whole picture, turned with it; what comes in at the corners is left out."""
    if not degrees or subject.mask is None:
        return subject
    belief = None if subject.belief is None else _turned_mask(subject.belief, degrees)
    return replace(subject, mask=_turned_mask(subject.mask, degrees), belief=belief)


def turned_spot(spot: Spot, degrees: float, size: tuple[int, int]) -> Spot:
    """Where a spot of a picture of (width, height) `size` lies after the turn; it stays inside."""
    if not degrees:
        return spot
    turn, _ = _turn((size[1], size[0]), degrees)
    x, y = turn @ (spot.x, spot.y, 1)
    return replace(
        spot,
        x=int(np.clip(round(x), 0, size[0] - 1)),
        y=int(np.clip(round(y), 0, size[1] - 1)),
    )


def _turn(shape: tuple[int, ...], degrees: float) -> tuple[NDArray[np.float64], tuple[int, int]]:
    """The matrix [2, 3] for pixels of this (height, width), and their (width, height)."""
    height, width = shape
    middle = (width - 1) / 2, (height - 1) / 2
    return np.asarray(cv2.getRotationMatrix2D(middle, -degrees, 1.0)), (width, height)


def _turned_mask(mask: Mask, degrees: float) -> Mask:
    turn, size = _turn(mask.shape, degrees)
    return np.asarray(cv2.warpAffine(mask, turn, size, flags=cv2.INTER_LINEAR), np.float32)
