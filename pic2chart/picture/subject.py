"""Which pixels are the subject: opacity when the picture has one, else GrabCut inside the user's box.

GrabCut: Rother, Kolmogorov & Blake, ACM Transactions on Graphics 23(3), 2004, as OpenCV has it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.picture.decode import Box, Picture

_SIDE = 200
_TURNS = 5
_SEED = 1
_OVAL, _CORE = 1.0, 0.1
"""Squared size, against the oval that touches the box's sides, of what is perhaps and surely subject.

Without the oval, ground inside the box is taken for subject; tried on six photographs.
"""
_LEAST = 0.03
"""Share of the box that must be found, or nothing was."""
_SAMPLES = 20
"""Fewer pixels than this of either kind are too few to learn colours from."""
_PIECE = 0.15
"""Pieces smaller than this share of the largest are dropped."""
_HOLE = 0.03
"""Holes smaller than this share of the subject are filled; the eye of a handle stays open."""

Mask = NDArray[np.float32]
_Bits = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Subject:
    """`mask`: float32 [H, W] on the picture's pixels, 0 background to 1 subject, read-only.

    `found` is False when nothing stood out inside the box and the mask is the box itself.
    """

    mask: Mask
    found: bool

    def __post_init__(self) -> None:
        self.mask.setflags(write=False)


def find_subject(picture: Picture, box: Box | None) -> Subject:
    """The subject inside `box` (pixels of the whole upright picture; None: the whole window).

    Raises InputError when the box leaves the picture or misses the part of it that is used, and when
    all of it is transparent.
    """
    corners = _corners(picture, box or picture.window)
    inside = np.zeros(picture.rgb.shape[:2], dtype=np.float32)
    inside[corners[1] : corners[3], corners[0] : corners[2]] = 1
    if picture.opacity is not None:
        mask = inside * picture.opacity
        if not mask.any():
            raise InputError(
                message("picture-transparent", file=picture.name)
                if box is None
                else message("box-transparent", file=picture.name, box=str(box))
            )
        return Subject(mask, True)
    cut = _grab_cut(picture, corners)
    return Subject(inside, False) if cut is None else Subject(cut * inside, True)


def _corners(picture: Picture, box: Box) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of the box in the pixels of `rgb`."""
    box.inside(picture.size, picture.name)
    window, (height, width) = picture.window, picture.rgb.shape[:2]
    rx, ry = width / window.w, height / window.h
    left, right = (round((edge - window.x) * rx) for edge in (box.x, box.x + box.w))
    top, bottom = (round((edge - window.y) * ry) for edge in (box.y, box.y + box.h))
    left, top, right, bottom = max(left, 0), max(top, 0), min(right, width), min(bottom, height)
    if left >= right or top >= bottom:
        raise InputError(
            message("subject-box-misses", box=str(box), window=str(window), file=picture.name)
        )
    return left, top, right, bottom


def _grab_cut(picture: Picture, corners: tuple[int, int, int, int]) -> Mask | None:
    """The cleaned cut at full size, or None when GrabCut finds nothing or has no background."""
    import cv2

    height, width = picture.rgb.shape[:2]
    ratio = min(1.0, _SIDE / max(height, width))
    size = (max(1, round(width * ratio)), max(1, round(height * ratio)))
    small = cv2.resize(picture.rgb[..., ::-1], size, interpolation=cv2.INTER_AREA)
    marks = _marks(corners, ratio, size)
    subject = int((marks & 1).sum())  # odd marks are subject, even ones background
    if min(subject, marks.size - subject) < _SAMPLES:
        return None
    cv2.setRNGSeed(_SEED)
    models = np.zeros((1, 65)), np.zeros((1, 65))  # OpenCV's working space for the two colours
    cv2.grabCut(small, marks, (0, 0, 0, 0), *models, _TURNS, cv2.GC_INIT_WITH_MASK)
    cut = _clean((marks & 1).astype(np.uint8))
    if cut.sum() < _LEAST * size[0] * size[1] * _share(corners, width, height):
        return None
    soft = cv2.resize(cut.astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR)
    return np.asarray(soft, dtype=np.float32)


def _marks(corners: tuple[int, int, int, int], ratio: float, size: tuple[int, int]) -> _Bits:
    """GrabCut's starting marks: background outside the box, perhaps subject in its oval."""
    import cv2

    left, top, right, bottom = (round(edge * ratio) for edge in corners)
    marks = np.full(size[::-1], cv2.GC_BGD, dtype=np.uint8)
    marks[top : max(bottom, top + 1), left : max(right, left + 1)] = cv2.GC_PR_BGD
    y, x = np.ogrid[: size[1], : size[0]]
    across = (2 * x - left - right + 1) / max(right - left, 1)
    up = (2 * y - top - bottom + 1) / max(bottom - top, 1)
    away = across**2 + up**2
    marks[(away <= _OVAL) & (marks == cv2.GC_PR_BGD)] = cv2.GC_PR_FGD
    marks[away <= _CORE] = cv2.GC_FGD
    return marks


def _share(corners: tuple[int, int, int, int], width: int, height: int) -> float:
    return (corners[2] - corners[0]) * (corners[3] - corners[1]) / (width * height)


def _clean(cut: _Bits) -> _Bits:
    """Keep the large pieces, smooth their edge, fill the small holes."""
    import cv2

    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    smooth = np.asarray(cv2.morphologyEx(cut, cv2.MORPH_OPEN, kernel), dtype=np.uint8)
    areas, labels = _pieces(smooth)
    if areas.size == 0:
        return smooth
    kept = np.isin(labels, 1 + np.flatnonzero(areas >= _PIECE * areas.max()))
    gaps, holes = _pieces((~kept).astype(np.uint8))
    small = 1 + np.flatnonzero(gaps < _HOLE * kept.sum())
    return (kept | np.isin(holes, small)).astype(np.uint8)


def _pieces(bits: _Bits) -> tuple[NDArray[np.int64], NDArray[np.int32]]:
    """Area of each connected piece, and the label (from 1) of each pixel."""
    import cv2

    _, labels, stats, _ = cv2.connectedComponentsWithStats(bits, connectivity=4)
    areas = np.asarray(stats[1:, cv2.CC_STAT_AREA], dtype=np.int64)
    return areas, np.asarray(labels, dtype=np.int32)
