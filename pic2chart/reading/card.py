"""A card of size ID-1 in a photo: the scale, and the angle the photo was taken at.

Cards of size ID-1 are 85.60 × 53.98 mm with corners rounded by 2.88 to 3.48 mm (ISO/IEC 7810).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.card_edge import Edge, edges
from pic2chart.reading.lattice import projected
from pic2chart.reading.perspective import Floats

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
    card's shape are taken, and the others that might count towards the doubt. None when a side is
    not seen at all.
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
