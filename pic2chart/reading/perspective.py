"""From a photo to an upright view: the two directions of squared paper and where they vanish.

Straight pieces of lines are found (cv2's line segment detector: von Gioi et al., IPOL 2012); those
that run to one vanishing point make a family. The homography that sends both points to infinity,
one straight down and one straight across, makes all squares equal (Hartley & Zisserman, *Multiple
View Geometry*, ch. 8).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError
from pic2chart.core.messages import Message, message

LONG_SIDE = 1100
"""Longer side of the picture in which lines are looked for, px."""
_TRIALS = 400
_NEAR = np.sin(np.radians(1.6))
_FEWEST, _MOST = 12, 1250
"""Pieces of lines that are needed, and that are looked at in each direction."""

Floats = NDArray[np.float64]


def no_grid(name: str) -> Message:
    """That nothing like a chart is seen in the photo of that name."""
    return message("no-grid", file=name, options=("corners", "stitches", "rounds"))


def upright_homographies(gray: NDArray[np.uint8], name: str) -> list[Floats]:
    """Homographies 3×3 from photo pixels to views in which the lines run down and across.

    Likeliest first; scale is kept at the middle of the photo, and its middle stays in place.
    Raises InputError when there are too few straight lines in two directions.
    """
    pieces = _pieces(gray)
    if len(pieces) < _FEWEST:
        raise InputError(no_grid(name))
    height, width = gray.shape
    unit = max(width, height) / 2
    pieces = (pieces - [width / 2, height / 2, width / 2, height / 2]) / unit
    centre = np.array(
        [[1 / unit, 0, -width / 2 / unit], [0, 1 / unit, -height / 2 / unit], [0, 0, 1]]
    )
    homographies = []
    for first, second in _pairs(pieces):
        flat = _flatten(first, second)
        if flat is not None:
            homographies.append(np.asarray(np.linalg.inv(centre) @ flat @ centre))
    if not homographies:
        raise InputError(no_grid(name))
    return homographies


def _pieces(gray: NDArray[np.uint8]) -> Floats:
    """Straight pieces [n, (x1, y1, x2, y2)] in photo pixels: the longest of the steep and of the flat ones,
    since oblong squares would leave those of one direction alone."""
    import cv2

    scale = min(1.0, LONG_SIDE / max(gray.shape))
    small = cv2.resize(gray, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    found = cv2.createLineSegmentDetector().detect(small)[0]
    if found is None:
        return np.zeros((0, 4))
    pieces = (found.reshape(-1, 4).astype(np.float64) + 0.5) / scale - 0.5
    across, up = np.abs(pieces[:, 2] - pieces[:, 0]), np.abs(pieces[:, 3] - pieces[:, 1])
    length = np.hypot(across, up) * scale
    order = np.argsort(-length, kind="stable")
    order = order[length[order] >= 7]
    steep = (up > across)[order]
    kept = np.sort(np.concatenate([np.flatnonzero(part)[:_MOST] for part in (steep, ~steep)]))
    return np.asarray(pieces[order[kept]])


def _pairs(pieces: Floats) -> list[tuple[Floats, Floats]]:
    """Pairs of vanishing points, likeliest first: the strongest family and those across it."""
    middle = (pieces[:, :2] + pieces[:, 2:]) / 2
    along = pieces[:, 2:] - pieces[:, :2]
    length = np.hypot(along[:, 0], along[:, 1])
    along /= length[:, None]
    weight = length.copy()
    points: list[Floats] = []
    for _ in range(4):
        if int((weight > 0).sum()) < _FEWEST // 2:
            break
        point = _vanishing(middle, along, weight)
        points.append(point)
        weight = np.where(_off(point, middle, along) < 1.5 * _NEAR, 0.0, weight)
    return [
        (a, b)
        for i, a in enumerate(points)
        for b in points[i + 1 :]
        if abs(_direction(a) @ _direction(b)) < 0.75
    ]


def _direction(point: Floats) -> Floats:
    """Unit direction from the middle of the photo towards a vanishing point."""
    return np.asarray(point[:2] / np.hypot(*point[:2]))


def _vanishing(middle: Floats, along: Floats, weight: Floats) -> Floats:
    """The point that most length runs towards: trials with pairs of pieces, then least squares."""
    rng = np.random.default_rng(0)
    lines = _lines(middle, along)
    pick = rng.choice(len(middle), (_TRIALS, 2), p=weight / weight.sum())
    points = np.cross(lines[pick[:, 0]], lines[pick[:, 1]])
    size = np.linalg.norm(points, axis=1)
    points = points[size > 1e-9] / size[size > 1e-9, None]
    # A page seen from in front: no family of its lines meets inside the photo.
    far = np.hypot(points[:, 0], points[:, 1]) > 1.3 * np.abs(points[:, 2])
    points = points[far]
    votes = [float(weight[_off(p, middle, along) < _NEAR].sum()) for p in points]
    best: Floats = points[int(np.argmax(votes))] if votes else np.array([1.0, 0.0, 0.0])
    for _ in range(4):
        off = _off(best, middle, along)
        part = np.where(off < _NEAR, weight, 0.0)
        scaled = lines * part[:, None]
        best = np.linalg.svd(scaled.T @ scaled)[0][:, 2]
    return best


def _lines(middle: Floats, along: Floats) -> Floats:
    """Homogeneous lines with unit normals through the pieces."""
    normal = np.column_stack([-along[:, 1], along[:, 0]])
    return np.column_stack([normal, -(normal * middle).sum(axis=1)])


def _off(point: Floats, middle: Floats, along: Floats) -> Floats:
    """Sine of the angle between each piece and the way to the point."""
    way = point[:2] - middle * point[2]
    size = np.hypot(way[:, 0], way[:, 1]) + 1e-12
    return np.asarray(np.abs(along[:, 0] * way[:, 1] - along[:, 1] * way[:, 0]) / size)


def _flatten(first: Floats, second: Floats) -> Floats | None:
    """The homography that sends the steeper point straight down and the other straight across."""
    down, across = (first, second) if _steep(first) >= _steep(second) else (second, first)
    horizon = np.cross(down, across)
    if abs(horizon[2]) < 1e-9:
        return None
    horizon = horizon / horizon[2]
    if np.hypot(*horizon[:2]) > 0.85:  # the horizon would cross the photo
        return None
    project = np.array([[1, 0, 0], [0, 1, 0], horizon])
    ways = [(project @ p)[:2] for p in (across, down)]
    basis = np.column_stack([w / np.hypot(*w) for w in ways])
    basis = basis * np.where(np.diag(basis) < 0, -1.0, 1.0)
    if np.linalg.det(basis) < 0.3:
        return None
    upright = np.eye(3)
    upright[:2, :2] = np.linalg.inv(basis)
    return np.asarray(upright @ project)


def _steep(point: Floats) -> float:
    return float(abs(_direction(point)[1]))
