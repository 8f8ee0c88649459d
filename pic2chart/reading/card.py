"""A bank or library card in a photo: its shape, its exact edges, and how it is found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.card_edge import Edge, edges, straight
from pic2chart.reading.lattice import projected
from pic2chart.reading.perspective import Floats

# A card of size ID-1 in a photo: the scale, and the angle the photo was taken at.
#
# Cards of size ID-1 are 85.60 × 53.98 mm with corners rounded by 2.88 to 3.48 mm (ISO/IEC 7810).

CARD_MM = (85.60, 53.98)
CORNER_MM = 3.18
_FOCAL = np.array([0.6 * 1.06**k for k in range(34)])
"""Focal lengths of cameras over the longer side of the photo, from wide phones to telephoto."""
_USUAL_MISFIT = 0.003
"""Misfit of a card whose sides are found right (measured), for weighing against other sides."""


@dataclass(frozen=True, slots=True, eq=False)
class Card:
    """`corners`: float [4, 2] photo pixels where the sides would meet, clockwise, the first side
    long; `off`: how far, px, the edge strays from straight sides (standard deviation); `rival`: how
    far the scale of other places of the sides is off, by how likely they are."""

    corners: Floats
    off: float
    rival: float = 0.0

    @property
    def to_mm(self) -> Floats:
        """Homography 3×3 from photo pixels to millimetres on the table."""
        import cv2

        width, height = CARD_MM
        square = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
        found = cv2.getPerspectiveTransform(self.corners.astype(np.float32), square)
        return np.asarray(found, dtype=np.float64)

    @property
    def shorter(self) -> float:
        """The shortest side, px."""
        sides = np.linalg.norm(np.roll(self.corners, -1, axis=0) - self.corners, axis=1)
        return float(sides.min())


def misfit(card: Card, shape: tuple[int, ...]) -> float:
    """How far the sides of a card in a whole photo of `shape` are from what a camera can see, relative.

    The homography's first two columns, freed of the focal length, are the card's sides in space:
    at right angles, and as long as each other once divided by the card's measures.
    """
    back = np.linalg.inv(card.to_mm)
    centre = np.array([shape[1], shape[0]]) / 2
    flat, depth = back[:2, :2] - np.outer(centre, back[2, :2]), back[2, :2]
    square = (_FOCAL * max(shape[:2])) ** 2
    first, second = (flat[:, k] @ flat[:, k] + square * depth[k] ** 2 for k in (0, 1))
    slant = flat[:, 0] @ flat[:, 1] + square * depth[0] * depth[1]
    off = np.maximum(np.abs(np.sqrt(first / second) - 1), np.abs(slant) / np.sqrt(first * second))
    return float(off.min())


def size_by(card: Card, other: Card) -> float:
    """How far the sides of another card, measured by the first, are off a card's, relative."""
    sides = projected(card.to_mm, other.corners)
    lengths = np.linalg.norm(np.roll(sides, -1, axis=0) - sides, axis=1)
    return float(np.abs(lengths / (CARD_MM * 2) - 1).max())


def sharpened(rgb: NDArray[np.uint8], corners: Floats) -> Card | None:
    """The card with its sides put where they fit best, to parts of a pixel.

    Where a side may lie in two places, such as at its shadow's border, the places that make up a
    card's shape are taken, and the others that might count towards the uncertainty. None when a
    side is not seen at all.
    """
    sides = edges(rgb, corners, CARD_MM * 2)
    cards = [(_meeting(chosen), chosen) for chosen in product(*sides)]
    if not cards:
        return None
    weights = np.array([_weight(card, chosen, rgb.shape) for card, chosen in cards])
    best = int(np.argmax(weights))
    card = cards[best][0]
    apart = np.array([_apart(card, other) for other, _ in cards])
    rival = float(np.sqrt((weights * apart**2).sum() / weights.sum()))
    return Card(card.corners, card.off, rival)


def _meeting(sides: tuple[Edge, ...]) -> Card:
    meets = [np.cross(sides[k - 1].line, sides[k].line) for k in range(4)]
    return Card(np.array([m[:2] / m[2] for m in meets]), max(side.stray for side in sides))


def _weight(card: Card, sides: tuple[Edge, ...], shape: tuple[int, ...]) -> float:
    fit = np.exp(-0.5 * (misfit(card, shape) / _USUAL_MISFIT) ** 2)
    return float(np.prod([side.weight for side in sides]) * fit) + 1e-300


def _apart(card: Card, other: Card) -> float:
    """How far the scales of two cards differ along the sides, relative."""
    long, short = (
        [np.linalg.norm(one.corners[a] - one.corners[b]) for one in (card, other)]
        for a, b in ((0, 1), (1, 2))
    )
    return float(max(abs(long[1] / long[0] - 1), abs(short[1] / short[0] - 1)))


# Looking for a bank or library card in a photo.
#
# A figure with four straight sides is a card when a camera could see that shape so, and its corners
# are rounded as much as a card's.

_WORK = 1100
_SMALLEST, _LARGEST = 0.006, 0.5
"""Share of the photo that a card may fill."""
_ASPECT_OFF = 0.035
_LIKE = 0.975
_PER_MM = 4


def find_cards(rgb: NDArray[np.uint8]) -> list[Card]:
    """Cards in a photo, the likeliest first, one at each place."""
    small, scale = reduced(rgb)
    found: list[tuple[float, Floats]] = []
    for outline in outlines(small, (_SMALLEST, _LARGEST)):
        corners = _four_sides(outline)
        if corners is None or not _seen_by_a_camera(corners, small.shape[:2]):
            continue
        like = _likeness(outline, corners)
        if like > _LIKE:
            found.append((like, corners))
    found.sort(key=lambda one: -one[0])
    cards = [sharpened(rgb, (corners + 0.5) / scale - 0.5) for corners in _far_apart(found)]
    return [card for card in cards if card is not None]


def _far_apart(found: list[tuple[float, Floats]]) -> list[Floats]:
    """The first of those that lie at one place."""
    chosen: list[Floats] = []
    for _, corners in found:
        near = 0.25 * float(np.hypot(*(corners[1] - corners[0])))
        middle = corners.mean(axis=0)
        if all(np.hypot(*(other.mean(axis=0) - middle)) > near for other in chosen):
            chosen.append(corners)
    return chosen


def reduced(rgb: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], float]:
    """A photo as small as outlines are looked for in, and its pixels for one of the photo."""
    import cv2

    scale = min(1.0, _WORK / max(rgb.shape[:2]))
    small = cv2.resize(rgb, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=np.uint8), scale


def outlines(small: NDArray[np.uint8], shares: tuple[float, float]) -> Iterator[NDArray[np.int32]]:
    """Outlines of plain areas, from edges and from thresholds in lightness and both hues.

    `shares`: least and most of the photo that an area fills. What touches the photo's border is not
    whole, and left out.
    """
    import cv2

    height, width = small.shape[:2]
    area = height * width
    lab = cv2.cvtColor(cv2.medianBlur(small, 5), cv2.COLOR_RGB2LAB)
    for mask in _masks(np.asarray(lab, dtype=np.uint8)):
        for outline in cv2.findContours(mask, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)[0]:
            x, y, wide, high = cv2.boundingRect(outline)
            whole = min(x, y) > 2 and x + wide < width - 2 and y + high < height - 2
            if whole and shares[0] * area < cv2.contourArea(outline) < shares[1] * area:
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
    return straight(near) if len(near) > 8 else None


def _seen_by_a_camera(corners: Floats, shape: tuple[int, ...]) -> bool:
    """Whether some camera sees a card so; the corners are turned so that the first side is long."""
    for turn in (0, 1):
        turned = np.roll(corners, -turn, axis=0)
        if misfit(Card(turned, 0.0), shape) < _ASPECT_OFF:
            corners[:] = turned
            return True
    return False


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
    if not (min(full) > 0.45 and max(full) < 0.95):
        return 0.0
    return float((figure & card).sum() / max(1, int((figure | card).sum())))
