"""The stitches of knitted fabric sorted into yarns, and which of them are uncertain."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pic2chart.reading.cells import Sorted, light_over, sort_values
from pic2chart.reading.fabric_stitches import LEAST, Legs
from pic2chart.reading.perspective import Floats

_LIKE_A_GAP = 0.1
"""Spread of the noise in the values that are sorted, as the sorting of squares has it."""
_SMALL_STEP = 0.05
_LAGS = (1, 2, 3, 5, 8)
"""Neighbours whose steps tell the light: those side by side alone carry what one yarn casts on the next,
which a pattern repeats."""
_MOST_WAVES, _PER_WAVE = 7, 5
"""Half waves of the light: at the most, and one for so many stitches, so that motifs are no light."""
_RIM, _FEW, _CLEAR = 2, 0.25, 0.75
"""A yarn is a rim's own where less than this share of it lies farther in than so many stitches; a rim
shows clear stitches from this likeness on."""


def sort_stitches(legs: Legs, wanted: int | None = None) -> tuple[Sorted, Floats]:
    """The stitches sorted into yarns, and their log colours with the light taken out [rows, columns, 3].

    A stitch is uncertain, too, where its two legs would be sorted apart, or where none is clearly seen.
    """
    noise = legs.noise
    bright = float(np.sqrt(noise.mean()))
    waves = min(_MOST_WAVES, max(2, min(legs.firm.shape) // _PER_WAVE))
    light = light_over(legs.colour, max(_SMALL_STEP, 1.5 * bright), _LAGS, waves)[..., None]
    colour = legs.colour - light
    to_values = _LIKE_A_GAP * np.linalg.inv(np.linalg.cholesky(noise + 1e-4 * np.eye(3))).T
    found = sort_values((colour @ to_values).reshape(-1, 3), colour.shape[:2], wanted)
    return _less_sure(found, legs, colour, light, to_values), colour


def without_fringe(legs: Legs) -> Legs:
    """The legs without rows and columns at a rim that show a yarn of their own, and no clear stitches.

    The ground beside the cloth, seen between its last stitches, is such a yarn.
    """
    rims = ((0, slice(1, None)), (0, slice(0, -1)), (1, slice(1, None)), (1, slice(0, -1)))
    while min(legs.like.shape) > LEAST:
        yarn = sort_stitches(legs)[0].yarn
        inside = np.bincount(yarn[_RIM:-_RIM, _RIM:-_RIM].ravel(), minlength=int(yarn.max()) + 1)
        foreign = inside < _FEW * np.bincount(yarn.ravel())
        for axis, kept in rims:
            rim = [0 if kept.start else -1]
            own = foreign[np.take(yarn, rim, axis)].mean()
            if own > 0.5 and np.take(legs.like, rim, axis).mean() < _CLEAR:
                legs = legs.cut(axis, kept)
                break
        else:
            return legs
    return legs


def _less_sure(
    found: Sorted, legs: Legs, colour: Floats, light: Floats, to_values: Floats
) -> Sorted:
    """Less confidence where legs disagree."""
    middles = np.array([np.median(colour[found.yarn == k], axis=0) for k in range(found.count)])
    own = []
    for leg in (legs.left, legs.right):
        moved = leg - light
        moved = moved - np.median(moved - colour, axis=(0, 1))
        far = np.linalg.norm((moved[..., None, :] - middles) @ to_values, axis=-1)
        own.append(far.argmin(axis=-1))
    agree = (own[0] == found.yarn) & (own[1] == found.yarn)
    sure = np.where(agree, found.confidence, np.minimum(found.confidence, 0.7))
    return replace(found, confidence=np.where(legs.firm, sure, np.minimum(sure, 0.85)))
