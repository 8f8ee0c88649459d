"""Tone: a picture's lightness bent so that it suits the yarns there are."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

STRAIGHT = 0.3
"""Share of the straight scale in `fit_range`."""

Floats = NDArray[np.float64]


def fit_tone(lightness: Floats, weight: Floats, yarn_lightness: Floats) -> Floats:
    """Bend lightness (any shape) so that the picture's main tones land on the yarns' lightness.

    The weighted one-dimensional k-means centres of the picture's L*, one for each clearly different
    yarn lightness, are mapped to those in order, straight lines between and beyond. The
    borders between two tones then fall midway between two yarns, whatever the yarns.
    """
    steps = tone_levels(yarn_lightness)
    if steps.size == 1:
        return np.full_like(lightness, steps[0])
    centres = _centres(lightness.ravel(), weight.ravel(), steps.size)
    bent = np.interp(lightness, centres, steps)
    low, high = lightness < centres[0], lightness > centres[-1]
    bent[low] = steps[0] + lightness[low] - centres[0]
    bent[high] = steps[-1] + lightness[high] - centres[-1]
    return np.asarray(np.clip(bent, 0, 100))


def fit_range(lightness: Floats, weight: Floats, yarn_lightness: Floats) -> Floats:
    """Bend lightness (any shape) so that it spans the yarns', for three or more yarns.

    The picture's dark and light main tone go to the darkest and lightest yarn; a share of the straight
    scale from its darkest to its lightest parts is mixed in, so that tones between stay between. The
    yarns between are not given tones of the picture by force: they serve where one comes near them.
    """
    ends = np.array([yarn_lightness.min(), yarn_lightness.max()])
    low, high = np.percentile(lightness, (3, 97))
    straight = ends[0] + (lightness - low) * (ends[1] - ends[0]) / max(high - low, 1e-6)
    mixed = STRAIGHT * straight + (1 - STRAIGHT) * fit_tone(lightness, weight, ends)
    return np.asarray(np.clip(mixed, 0, 100))


def form_of(lightness: Floats, weight: Floats) -> Floats:
    """L* (any shape) as -1 at the picture's dark main tone, 1 at its light one, straight between."""
    dark, light = _centres(lightness.ravel(), weight.ravel(), 2)
    return np.asarray(np.clip((2 * lightness - dark - light) / (light - dark), -1.5, 1.5))


def tone_levels(yarn_lightness: Floats, gap: float = 6.0) -> Floats:
    """The yarns' L*, sorted, those closer than `gap` merged into their mean, but two if any differ."""
    levels = np.sort(yarn_lightness)
    groups: list[list[float]] = []
    for level in levels.tolist():
        if groups and level - groups[-1][-1] < gap:
            groups[-1].append(level)
        else:
            groups.append([level])
    if len(groups) == 1 and levels[0] < levels[-1]:
        return levels[[0, -1]]
    return np.array([np.mean(group) for group in groups])


def _centres(values: Floats, weight: Floats, k: int) -> Floats:
    """Weighted one-dimensional k-means, on a histogram of 256 bins, from evenly spaced quantiles."""
    heights, edges = np.histogram(values, bins=256, range=(0, 100), weights=weight)
    middle = (edges[1:] + edges[:-1]) / 2
    share = np.cumsum(heights) / max(heights.sum(), 1e-12)
    centres = np.interp((np.arange(k) + 0.5) / k, share, middle)
    for _ in range(60):
        nearest = np.abs(middle[:, None] - centres).argmin(axis=1)
        mass = np.bincount(nearest, heights, k)
        moved = np.where(
            mass > 0, np.bincount(nearest, heights * middle, k) / np.maximum(mass, 1e-12), centres
        )
        if np.allclose(moved, centres, atol=1e-6):
            break
        centres = moved
    return np.maximum.accumulate(np.sort(centres) + np.arange(k) * 1e-3)
