"""Marks in the squares faded to the strength of the paper's lines, so that the lines can be found.

Pencil on squared paper is far darker than the lines, and strokes and crosses have edges as lines do:
a search for lines would follow them. No mark is as long as a line, so what is dark along a long bar
tells how dark lines are; nothing needs to be darker than that.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats

_PAPER, _LONG = 0.05, 0.07
"""Parts of the shorter side: wider than a mark, longer than a mark."""
_SIDE = 1000
"""Shorter side, px, of the view that is looked at."""
_NOISE = 5.0
"""Grey levels that are no ink."""
_FEW = 0.03
"""Least share of the view that lines take up."""
_DARKER = 1.4
"""How much darker than the lines something may stay."""


def faded(gray: NDArray[np.uint8], homography: Floats) -> NDArray[np.uint8]:
    """The photo with nothing small darker than its lines; `homography` 3×3 to an upright view.

    The photo as it is where no lines are seen, or where they are as dark as what is in the squares.
    """
    paper = _paper(gray)
    ink = np.asarray(paper, dtype=np.float32) - gray
    strength = _line_ink(ink, homography)
    if strength is None:
        return gray
    darkest = np.clip(paper - _DARKER * strength, 0, 255).astype(np.uint8)
    return np.asarray(np.maximum(gray, darkest), dtype=np.uint8)


def _paper(gray: NDArray[np.uint8]) -> NDArray[np.float32]:
    """How light the ground is at each pixel: what is smaller than a mark is closed."""
    import cv2

    side = max(3, int(_PAPER * min(gray.shape) / 4) | 1)
    small = cv2.resize(gray, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    closed = cv2.morphologyEx(small, cv2.MORPH_CLOSE, np.ones((side, side), np.uint8))
    size = (gray.shape[1], gray.shape[0])
    return np.asarray(cv2.resize(closed, size, interpolation=cv2.INTER_LINEAR), dtype=np.float32)


def _line_ink(ink: NDArray[np.float32], homography: Floats) -> float | None:
    """How much darker than the ground most of the long lines are, in grey levels; None without any."""
    import cv2

    height, width = ink.shape
    scale = min(1.0, _SIDE / min(height, width))
    shrink = np.diag([scale, scale, 1.0])
    size = (int(width * scale), int(height * scale))
    view = cv2.warpPerspective(ink, shrink @ homography, size, flags=cv2.INTER_AREA)
    long = int(_LONG * min(size))
    most: NDArray[np.float32] = np.zeros_like(view)
    for across in ((3, 1), (1, 3)):
        # Lines that are not quite straight stay within three pixels.
        wide = cv2.dilate(view, np.ones(across, np.uint8))
        bar = (1, long) if across == (3, 1) else (long, 1)
        opened = cv2.morphologyEx(wide, cv2.MORPH_OPEN, np.ones(bar, np.uint8))
        most = np.maximum(most, opened)
    seen = most[most > _NOISE]
    if seen.size < _FEW * most.size:
        return None
    return float(np.percentile(seen, 75))
