"""A bank or library card in a photo: the scale, and the angle the photo was taken at.

Cards of size ID-1 are 85.60 × 53.98 mm with corners rounded by 2.88 to 3.48 mm (ISO/IEC 7810). A
figure with four straight sides is a card when a camera could see that shape so, and its corners are
rounded as much as a card's.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.lattice import projected
from pic2chart.reading.perspective import Floats

CARD_MM = (85.60, 53.98)
CORNER_MM = 3.18
_WORK = 1100
_SMALLEST, _LARGEST = 0.006, 0.5
"""Share of the photo that a card may fill."""
_FOCAL = tuple(0.6 * 1.05**k for k in range(22))
"""Focal lengths of cameras over the longer side of the photo, from wide phones to short telephoto."""
_ASPECT_OFF = 0.035
_LIKE = 0.975
_PER_MM = 4

Gray = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Card:
    """`corners`: float [4, 2] photo pixels where the sides would meet, clockwise, the first side
    long; `off`: how far, px, the edge strays from straight sides (standard deviation)."""

    corners: Floats
    off: float

    @property
    def to_mm(self) -> Floats:
        """Homography 3×3 from photo pixels to millimetres on the table."""
        import cv2

        width, height = CARD_MM
        square = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
        found = cv2.getPerspectiveTransform(self.corners.astype(np.float32), square)
        return np.asarray(found, dtype=np.float64)

    @property
    def doubt(self) -> float:
        """Relative uncertainty of the scale: the edge's straying over the shorter side."""
        sides = np.linalg.norm(np.roll(self.corners, -1, axis=0) - self.corners, axis=1)
        return float(max(self.off, 0.3) / sides.min())


def find_card(rgb: NDArray[np.uint8]) -> Card | None:
    """The likeliest card in a photo, or None."""
    import cv2

    scale = min(1.0, _WORK / max(rgb.shape[:2]))
    small = cv2.resize(rgb, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    best: tuple[float, Floats] | None = None
    for outline in _outlines(np.asarray(small, dtype=np.uint8)):
        corners = _four_sides(outline)
        if corners is None or not _seen_by_a_camera(corners, small.shape[:2]):
            continue
        like = _likeness(outline, corners)
        if like > _LIKE and (best is None or like > best[0]):
            best = (like, corners)
    if best is None:
        return None
    return sharpened(rgb, (best[1] + 0.5) / scale - 0.5)


def _outlines(small: NDArray[np.uint8]) -> Iterator[NDArray[np.int32]]:
    """Outlines of plain areas, from edges and from thresholds in lightness and both hues."""
    import cv2

    area = small.shape[0] * small.shape[1]
    lab = cv2.cvtColor(cv2.medianBlur(small, 5), cv2.COLOR_RGB2LAB)
    for mask in _masks(np.asarray(lab, dtype=np.uint8)):
        for outline in cv2.findContours(mask, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)[0]:
            if _SMALLEST * area < cv2.contourArea(outline) < _LARGEST * area:
                yield np.asarray(outline[:, 0], dtype=np.int32)


def _masks(lab: NDArray[np.uint8]) -> Iterator[NDArray[np.uint8]]:
    import cv2

    for channel in cv2.split(lab):
        low, high = np.percentile(channel, [2, 98])
        if high - low < 8:
            continue
        for share in (0.15, 0.3, 0.45, 0.6, 0.75, 0.88):
            level = low + share * (high - low)
            yield np.asarray((channel > level) * np.uint8(255))
            yield np.asarray((channel <= level) * np.uint8(255))
        for strength in (0.15, 0.35):
            edges = cv2.Canny(channel, 0.4 * strength * (high - low), strength * (high - low))
            thick = cv2.dilate(edges, np.ones((3, 3), np.uint8))
            yield np.asarray(255 - thick, dtype=np.uint8)


def _four_sides(outline: NDArray[np.int32]) -> Floats | None:
    """Corners [4, 2] where four straight sides meet, clockwise, or None when it is no such figure."""
    import cv2

    hull = cv2.convexHull(outline)
    if cv2.contourArea(outline) < 0.94 * cv2.contourArea(hull):
        return None
    around = cv2.arcLength(hull, True)
    for share in (0.02, 0.03, 0.045, 0.06, 0.08):
        rough = cv2.approxPolyDP(hull, share * around, True)[:, 0].astype(np.float64)
        if len(rough) <= 4:
            break
    if len(rough) != 4:
        return None
    if _turning(rough) < 0:
        rough = rough[::-1]
    lines = [_side_line(outline.astype(np.float64), rough[k], rough[(k + 1) % 4]) for k in range(4)]
    if any(line is None for line in lines):
        return None
    corners = [np.cross(lines[k - 1], lines[k]) for k in range(4)]  # type: ignore[arg-type]
    if any(abs(c[2]) < 1e-9 for c in corners):
        return None
    return np.array([c[:2] / c[2] for c in corners])


def _turning(corners: Floats) -> float:
    along = np.roll(corners, -1, axis=0) - corners
    after = np.roll(along, -1, axis=0)
    return float((along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0]).sum())


def _side_line(points: Floats, start: Floats, end: Floats) -> Floats | None:
    """The line a·x + b·y + c = 0 through the outline's points along the middle of one side."""
    along = end - start
    length = float(np.hypot(*along))
    if length < 12:
        return None
    along = along / length
    place = (points - start) @ along
    off = (points - start) @ np.array([-along[1], along[0]])
    near = points[(place > 0.15 * length) & (place < 0.85 * length) & (np.abs(off) < 0.06 * length)]
    return _straight(near) if len(near) > 8 else None


def _straight(points: Floats) -> Floats:
    """The line [3] with a unit normal through points, far ones counting less (Huber weights)."""
    weight = np.ones(len(points))
    line = np.zeros(3)
    for _ in range(6):
        middle = (points * weight[:, None]).sum(axis=0) / weight.sum()
        rest = (points - middle) * np.sqrt(weight)[:, None]
        normal = np.linalg.svd(rest.T @ rest)[0][:, 1]
        line = np.array([normal[0], normal[1], -normal @ middle])
        off = np.abs(points @ normal + line[2])
        limit = max(1.5 * float(np.median(off)), 0.15)
        weight = np.minimum(1.0, limit / (off + 1e-9))
    return line


def _seen_by_a_camera(corners: Floats, shape: tuple[int, ...]) -> bool:
    """Whether some camera sees a card so; the corners are turned so that the first side is long."""
    for turn in (0, 1):
        turned = np.roll(corners, -turn, axis=0)
        if misfit(Card(turned, 0.0), shape) < _ASPECT_OFF:
            corners[:] = turned
            return True
    return False


def misfit(card: Card, shape: tuple[int, ...]) -> float:
    """How far the sides of a card in a whole photo of `shape` are from what a camera can see, relative.

    The homography's first two columns, freed of the focal length, are the card's sides in space:
    at right angles, and as long as each other once divided by the card's measures.
    """
    back = np.linalg.inv(card.to_mm)
    centre = np.array([shape[1], shape[0]]) / 2
    flat, depth = back[:2, :2] - np.outer(centre, back[2, :2]), back[2, :2]
    square = (np.array(_FOCAL) * max(shape[:2])) ** 2
    first, second = (flat[:, k] @ flat[:, k] + square * depth[k] ** 2 for k in (0, 1))
    slant = flat[:, 0] @ flat[:, 1] + square * depth[0] * depth[1]
    off = np.maximum(np.abs(np.sqrt(first / second) - 1), np.abs(slant) / np.sqrt(first * second))
    return float(off.min())


def _likeness(outline: NDArray[np.int32], corners: Floats) -> float:
    """0-1: overlap of the figure, seen from in front, with a card's; 0 when its corners are not round."""
    import cv2

    width, height, round_ = (round(v * _PER_MM) for v in (*CARD_MM, CORNER_MM))
    flat = projected(Card(corners, 0.0).to_mm, outline.astype(np.float64)) * _PER_MM
    if not np.isfinite(flat).all() or np.abs(flat).max() > 5 * width:
        return 0.0
    figure, card = np.zeros((2, height + 40, width + 40), np.uint8)
    cv2.fillPoly(figure, [np.round(flat + 20).astype(np.int32)], 1)
    inner = np.array(
        [
            [round_, round_],
            [width - round_, round_],
            [width - round_, height - round_],
            [round_, height - round_],
        ]
    )
    cv2.fillPoly(card, [(inner + 20).astype(np.int32)], 1)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * round_ + 1, 2 * round_ + 1))
    card = np.asarray(cv2.dilate(card, disc), dtype=np.uint8)
    full = [
        figure[y : y + round_, x : x + round_].mean()
        for y in (20, 20 + height - round_)
        for x in (20, 20 + width - round_)
    ]
    # A quarter of a disc fills 0.785 of its square; the sharp corner of a sheet of paper fills it.
    if not 0.45 < float(np.mean(full)) < 0.93:
        return 0.0
    return float((figure & card).sum() / max(1, int((figure | card).sum())))


def sharpened(rgb: NDArray[np.uint8], corners: Floats) -> Card:
    """The card with its sides put where the brightness changes most, to parts of a pixel."""
    import cv2

    gray = np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2LAB), dtype=np.float32)
    lines, strays = [], []
    for k in range(4):
        edge = _edge_points(gray, corners[k], corners[(k + 1) % 4])
        line = _straight(edge)
        off = np.abs(edge @ line[:2] + line[2])
        lines.append(line)
        strays.append(float(np.median(off)) * 1.48)
    meets = [np.cross(lines[k - 1], lines[k]) for k in range(4)]
    return Card(np.array([m[:2] / m[2] for m in meets]), max(strays))


def _edge_points(lab: NDArray[np.float32], start: Floats, end: Floats) -> Floats:
    """Points [n, 2] along the middle of a side where the colour changes most across it."""
    import cv2

    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    normal = np.array([-along[1], along[0]])
    reach = max(3.0, min(8.0, 0.02 * length))
    place = np.linspace(0.12, 0.88, 90)[:, None] * length
    depth = np.linspace(-reach, reach, int(8 * reach) + 1)[None, :]
    at = start + place[..., None] * along + depth[..., None] * normal
    x, y = at[..., 0].astype(np.float32), at[..., 1].astype(np.float32)
    seen = cv2.remap(lab, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    seen = cv2.GaussianBlur(seen, (0, 0), sigmaX=3.0, sigmaY=1.0)
    # The shadow beside a card is an edge too: take what most of the side agrees on.
    change = np.linalg.norm(np.diff(seen, axis=1), axis=2)
    typical = np.median(change, axis=0)
    peak = int(np.argmax(typical))
    low, high = max(0, peak - 8), min(change.shape[1], peak + 9)
    best = low + change[:, low:high].argmax(axis=1)
    depth_at = (depth[0, best] + depth[0, best + 1]) / 2
    return np.asarray(start + place * along + depth_at[:, None] * normal)
