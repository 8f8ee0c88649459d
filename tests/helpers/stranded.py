"""Photos of stranded swatches whose every stitch is known: what reading knitted fabric is tried on.

The yarn is laid and lit by `loops.py`; patterns are of two or three yarns that a knitter would put
together, at least _APART in lightness or hue.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from pic2chart.core.colour import delta_e2000, srgb_to_lab
from tests.helpers.fabrics import PER_MM, _table
from tests.helpers.loops import _PALETTE, Knit, knitted
from tests.helpers.photograph import Shot, photograph, random_shot

PATTERNS = ("bands", "all over", "motifs", "three yarns", "checks")
_APART = 25.0
_LEVELS = (
    Shot(0, 6, 60, 0, 0.8, 1.5, 0.1, 0.0, 92),
    Shot(0, 14, 60, 0, 1.1, 4.0, 0.25, 0.2, 85),
)


@dataclass(frozen=True, eq=False)
class Stranded:
    """`photo`: RGB; `yarn`: yarn of every stitch [rows from the top, columns]; `places`: the middle
    of every stitch in the photo's pixels [rows, columns, 2]; `colours` [yarns, 3]."""

    pattern: str
    photo: np.ndarray
    yarn: np.ndarray
    places: np.ndarray
    colours: np.ndarray
    knit: Knit


def stranded(number: int, pattern: str | None = None) -> Stranded:
    """One of PATTERNS in turn, 'plain' or 'stripes', in easy and middling light by turns."""
    rng = np.random.default_rng([21, number])
    pattern = pattern or PATTERNS[number % len(PATTERNS)]
    stitches = float(rng.uniform(18, 34))
    count = (int(rng.integers(28, 61)), int(rng.integers(28, 61)))
    gauge = (stitches, stitches * float(rng.uniform(1.02, 1.35)))
    knit = Knit(
        "motifs",
        gauge,
        hand=float(rng.uniform(0.01, 0.1)),
        thick=float(rng.uniform(0.19, 0.25)),
        open=float(rng.uniform(0.15, 0.22)),
        tall=float(rng.uniform(0.78, 0.95)),
        skew=float(rng.normal(0, 0.04)),
        plied=float(rng.uniform(0, 0.5)),
        heather=float(rng.uniform(0, 0.12)),
        halo=float(rng.uniform(0, 0.15)),
        turn=float(rng.uniform(-12, 12)),
        seed=int(rng.integers(1 << 30)),
    )
    yarn = pattern_of(pattern, count[1], count[0], rng)
    colours = _yarns(int(yarn.max()) + 1, rng)
    cloth, cover = knitted(knit, yarn, colours, rng)
    page, move = _laid(cloth, cover, knit.turn, rng)
    shot = random_shot(rng, _LEVELS[number // len(PATTERNS) % 2], roll=10)
    shot = replace(shot, size=(1600, 1200), fill=float(rng.uniform(0.9, 1.0)))
    photo, project = photograph(page, shot)
    w, h = (100 / count * PER_MM for count in gauge)
    x, y = np.meshgrid((np.arange(count[0]) + 0.5) * w, (np.arange(count[1]) + 0.5) * h)
    whole = project @ np.vstack([move, [0, 0, 1]])
    at = cv2.perspectiveTransform(np.stack([x, y], axis=-1).astype(np.float64), whole)
    return Stranded(pattern, photo, yarn, at, colours, knit)


def pattern_of(pattern: str, rows: int, columns: int, rng: np.random.Generator) -> np.ndarray:
    """A stranded pattern, int [rows from the top, columns]."""
    y, x = np.indices((rows, columns))
    if pattern == "bands":
        return _bands(rows, columns, 2, rng)
    if pattern == "three yarns":
        return _bands(rows, columns, 3, rng)
    if pattern == "all over":
        half = rng.random((int(rng.integers(5, 12)), int(rng.integers(3, 8)))) < 0.45
        tile = np.hstack([half, half[:, ::-1]])
        return tile[y % tile.shape[0], x % tile.shape[1]].astype(int)
    if pattern == "motifs":
        soft = cv2.GaussianBlur(rng.normal(size=(rows, columns)), (0, 0), 1.4)
        return (soft > 0.3 * soft.std()).astype(int)
    if pattern in ("plain", "stripes"):
        return np.where(pattern == "stripes", y // 3 % 2, 0)
    side = int(rng.integers(2, 5))
    return (y // side + x // side) % 2


def _bands(rows: int, columns: int, yarns: int, rng: np.random.Generator) -> np.ndarray:
    """Mirrored repeats in changing pairs of yarns, plain rounds between them."""
    chart, row = np.zeros((rows, columns), int), 0
    while row < rows:
        high, repeat = int(rng.integers(3, 10)), int(rng.integers(2, 7))
        ground, other = (0, int(rng.integers(1, yarns)))
        half = rng.random((high, repeat)) < 0.45
        tile = np.hstack([half, half[:, ::-1]])
        chart[row : row + high] = np.where(
            tile[:, np.arange(columns) % (2 * repeat)], other, ground
        )[: rows - row]
        row += high + int(rng.integers(1, 4))
    return chart


def _yarns(count: int, rng: np.random.Generator) -> np.ndarray:
    """Colours of a palette that are all apart."""
    while True:
        colours = rng.permutation(_PALETTE)[:count]
        lab = srgb_to_lab(colours.astype(np.uint8))
        apart = delta_e2000(lab[:, None], lab[None]) + 100 * np.eye(count)
        if apart.min() > _APART:
            return colours


def _laid(
    cloth: np.ndarray, cover: np.ndarray, turn: float, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """The cloth on a table, and the affine [2, 3] from its pixels to the page's."""
    high, wide = cloth.shape[:2]
    angle = np.radians(turn)
    across = abs(wide * np.cos(angle)) + abs(high * np.sin(angle))
    down = abs(high * np.cos(angle)) + abs(wide * np.sin(angle))
    margin = 5 * PER_MM
    size = (int(across + 2 * margin), int(down + 2 * margin))
    move = cv2.getRotationMatrix2D((wide / 2, high / 2), -turn, 1.0)
    move[:, 2] += np.array(size) / 2 - [wide / 2, high / 2]
    laid = cv2.warpAffine(cloth, move, size, flags=cv2.INTER_LINEAR)
    seen = cv2.warpAffine(cover, move, size)[..., None]
    page = laid * seen + _table(size, rng) * (1 - seen)
    return np.clip(page, 0, 255).astype(np.uint8), move
