"""The colour of a yarn in a photo: pixels in, a colour with its doubt out.

A strand's shadows and highlights are not its colour. Its lit side is where most pixels of like
lightness crowd together, so the centre is that of the shortest interval of lightness that holds
half of the pixels (the shorth; Rousseeuw & Leroy, *Robust Regression and Outlier Detection*, 1987).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.colour import (
    delta_e76,
    lab_to_srgb,
    linear_rgb,
    linear_to_lab,
    to_hex,
)
from pic2chart.errors import InputError

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]

CLIPPED, DARK = 253, 6
"""8-bit levels from which on, and below which, a camera no longer tells colours apart."""
MOST_CLIPPED = 0.10
_SMALLEST = 64
_MOST_PIXELS = 400_000
_HALF = 0.5
_TILES = 4


@dataclass(frozen=True, slots=True)
class Shade:
    """A yarn's colour: Lab (D65), how far lit pixels stray from it, and how well it is known.

    `spread`: median ΔE*ab of the lit pixels from the centre. `chance`: one standard deviation, ΔE*ab,
    from the differences between parts of the patch. `lit`: part of the pixels taken as lit.
    """

    name: str
    lab: tuple[float, float, float]
    spread: float
    chance: float
    lit: float

    @property
    def colour(self) -> str:
        """The nearest '#rrggbb'."""
        return to_hex(lab_to_srgb(self.lab))

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "name": self.name,
            "colour": self.colour,
            "lab_d65": [round(value, 2) for value in self.lab],
            "spread_delta_e": round(self.spread, 2),
            "chance_delta_e": round(self.chance, 2),
        }


def measure_shade(name: str, pixels: Pixels, balance: Floats) -> Shade:
    """The colour of a patch, uint8 sRGB [h, w, 3], after `balance` [3, 3] in linear light.

    Raises InputError when the patch is too small, over-exposed or too dark.
    """
    patch = _thinned(pixels)
    check_exposure(patch, f"The patch of '{name}'")
    linear = linear_rgb(patch) @ balance
    centre, lit = _lit_centre(linear.reshape(-1, 3))
    lab = linear_to_lab(centre)
    strays = delta_e76(linear_to_lab(linear.reshape(-1, 3)[lit]), lab)
    numbers = (float(lab[0]), float(lab[1]), float(lab[2]))
    chance = _chance(linear)
    return Shade(name, numbers, float(np.median(strays)), chance, float(lit.mean()))


def check_exposure(patch: Pixels, what: str) -> None:
    """Raise InputError when a camera could not tell the colours of a patch [h, w, 3]."""
    if patch.shape[0] * patch.shape[1] < _SMALLEST:
        raise InputError(
            f"{what} has {patch.shape[0] * patch.shape[1]} pixels; mark at least {_SMALLEST}."
        )
    clipped = float((patch.max(axis=2) >= CLIPPED).mean())
    if clipped > MOST_CLIPPED:
        raise InputError(
            f"{what} is over-exposed: {clipped:.0%} of it is as bright as the photo can show. "
            "Take the photo again, darker, or mark another part."
        )
    if float(np.median(patch.max(axis=2))) < DARK:
        raise InputError(f"{what} is almost black; take the photo in more light.")


def mean_light(pixels: Pixels) -> tuple[Floats, float]:
    """Middle linear light [3] of an even patch, and the doubt of it as a part of itself."""
    linear = linear_rgb(_thinned(pixels))
    centre = np.median(linear.reshape(-1, 3), axis=0)
    parts = np.array([np.median(tile.reshape(-1, 3), axis=0) for tile in _tiles(linear)])
    doubt = float(np.linalg.norm(parts.std(axis=0, ddof=1) / np.maximum(centre, 1e-6)))
    return centre, doubt / np.sqrt(len(parts))


def _lit_centre(linear: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Mean linear light [3] of the lit pixels among linear [n, 3], and which they are, bool [n]."""
    light = linear_to_lab(linear)[:, 0]
    ranked = np.sort(light)
    count = max(1, int(np.ceil(_HALF * len(ranked))))
    widths = ranked[count - 1 :] - ranked[: len(ranked) - count + 1]
    narrow = np.flatnonzero(widths <= widths.min() + 1e-9)
    low = int(narrow[len(narrow) // 2])
    lit = (light >= ranked[low]) & (light <= ranked[low + count - 1])
    return np.asarray(linear[lit].mean(axis=0)), lit


def _chance(linear: Floats) -> float:
    """Standard error, ΔE*ab: how much the centre of one part differs from another's."""
    labs = np.array([linear_to_lab(_lit_centre(t.reshape(-1, 3))[0]) for t in _tiles(linear)])
    return float(np.sqrt((labs.var(axis=0, ddof=1) / len(labs)).sum()))


def _tiles(linear: Floats) -> list[Floats]:
    """The patch in 4 × 4 parts, fewer along a side that is too short."""
    rows = np.array_split(linear, min(_TILES, max(2, linear.shape[0] // 2)), axis=0)
    return [
        tile
        for row in rows
        for tile in np.array_split(row, min(_TILES, max(2, linear.shape[1] // 2)), axis=1)
        if tile.size
    ]


def _thinned(pixels: Pixels) -> Pixels:
    """Every n-th pixel each way, so that no more than 400 000 are looked at."""
    step = int(np.ceil(np.sqrt(pixels.shape[0] * pixels.shape[1] / _MOST_PIXELS)))
    return pixels[:: max(1, step), :: max(1, step)]
