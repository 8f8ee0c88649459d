"""Finding a white or grey reference in a photo: the brightest even patch without strong colour."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.colour import linear_rgb
from pic2chart.yarn.shade import CLIPPED

Pixels = NDArray[np.uint8]
Corners = tuple[int, int, int, int]
"""Left, top, width, height in pixels."""

_ACROSS = 48
_EVEN = 0.05
"""Standard deviation over mean below which a tile is paper rather than knitting."""
_CAST = 2.6
"""Strongest over weakest channel of white paper in lamplight, linear (from memory)."""
_LIKE = 0.08
_LEAST = 0.006
"""Smallest part of the photo that paper fills."""
_BRIGHT = 0.7
"""How bright paper must be beside the brightest tile that is not clipped."""


def find_reference(pixels: Pixels) -> Corners | None:
    """A box inside the brightest even patch that may be paper, or None when there is none.

    `pixels`: uint8 sRGB [H, W, 3]. Paper must be even, no more coloured than lamplight makes it,
    nearly as bright as anything in the photo that is not clipped, and fill 0.6 % of it.
    """
    if min(pixels.shape[:2]) < 32:
        return None
    tile = max(4, min(pixels.shape[:2]) // _ACROSS)
    mean, even = _tiles(pixels, tile)
    bright = mean.mean(axis=2)
    good = even & (mean.max(axis=2) < _CAST * np.maximum(mean.min(axis=2), 1e-4))
    good &= bright >= _BRIGHT * float(bright.max())
    least = max(4, _LEAST * bright.size)
    region = _brightest_region(mean, bright, good, least)
    if region is None:
        return None
    top, left, height, width = _largest_box(region)
    if height * width < least or min(height, width) < 2:
        return None
    inset = tile // 2  # off the paper's edge
    return (
        left * tile + inset,
        top * tile + inset,
        width * tile - 2 * inset,
        height * tile - 2 * inset,
    )


def _tiles(pixels: Pixels, tile: int) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Mean linear light [rows, columns, 3] of square tiles, and which are even and not clipped."""
    rows, columns = pixels.shape[0] // tile, pixels.shape[1] // tile
    step = max(1, tile // 12)
    cut = pixels[: rows * tile, : columns * tile].reshape(rows, tile, columns, tile, 3)
    cut = cut[:, ::step, :, ::step]
    linear = linear_rgb(cut)
    mean = linear.mean(axis=(1, 3))
    spread = linear.std(axis=(1, 3)).max(axis=2)
    clipped = (cut.max(axis=4) >= CLIPPED).mean(axis=(1, 3))
    return mean, (spread <= _EVEN * np.maximum(mean.max(axis=2), 1e-4)) & (clipped < 0.02)


def _brightest_region(
    mean: NDArray[np.float64], bright: NDArray[np.float64], good: NDArray[np.bool_], least: float
) -> NDArray[np.bool_] | None:
    """The tiles joined to one of the brightest good ones and like it; regions too small are passed."""
    from skimage.measure import label

    left = good.copy()
    while left.any():
        seed = np.unravel_index(int(np.argmax(np.where(left, bright, -1.0))), bright.shape)
        like = np.abs(mean - mean[seed]).max(axis=2) <= _LIKE * mean[seed].max()
        parts = label(good & like, connectivity=1)  # type: ignore[no-untyped-call]
        region = np.asarray(parts == parts[seed])
        if int(region.sum()) >= least:
            return region
        left &= ~region
    return None


def _largest_box(region: NDArray[np.bool_]) -> Corners:
    """Top, left, height and width of the largest rectangle of true tiles."""
    best, box = 0, (0, 0, 0, 0)
    heights = np.zeros(region.shape[1], int)
    for bottom, row in enumerate(region):
        heights = np.where(row, heights + 1, 0)
        for left in range(len(heights)):
            lowest = int(heights[left])
            for right in range(left, len(heights)):
                lowest = min(lowest, int(heights[right]))
                if not lowest:
                    break
                if lowest * (right - left + 1) > best:
                    best = lowest * (right - left + 1)
                    box = (bottom - lowest + 1, left, lowest, right - left + 1)
    return box
