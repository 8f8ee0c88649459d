"""The colour of a yarn in a photo, the white reference beside it, and whether two lots match."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pic2chart.core.colour import (
    delta_e76,
    delta_e2000,
    lab_to_srgb,
    linear_rgb,
    linear_to_lab,
    to_hex,
)
from pic2chart.core.errors import InputError
from pic2chart.core.messages import Message, message

# The colour of a yarn in a photo: pixels in, a colour with its uncertainty out.
#
# A strand's shadows and highlights are not its colour. Its lit side is where most pixels of like
# lightness crowd together, so the centre is that of the shortest interval of lightness that holds
# half of the pixels (the shorth; Rousseeuw & Leroy, *Robust Regression and Outlier Detection*, 1987).

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

    `lab`: of the fibre, as an even surface of it in the light that falls on the paper. `seen`: as wound
    or knitted, shadows between the strands and all, from too far to tell them apart. `spread`: median
    ΔE*ab of the lit pixels from their middle. `standard_error`: one standard deviation, ΔE*ab, from
    the differences between parts of the patch. `lit`: part of the pixels taken as lit. `several`:
    '#rrggbb' of the colours it holds, where it holds more than one.
    """

    name: str
    lab: tuple[float, float, float]
    seen: tuple[float, float, float]
    spread: float
    standard_error: float
    lit: float
    several: tuple[str, ...] = ()

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
            "as_wound": to_hex(lab_to_srgb(self.seen)),
            "as_wound_lab_d65": [round(value, 2) for value in self.seen],
            "several": list(self.several),
            "spread_delta_e": round(self.spread, 2),
            "chance_delta_e": round(self.standard_error, 2),
        }


def measure_shade(name: str, pixels: Pixels, light: Callable[[Floats], Floats]) -> Shade:
    """The colour of a patch, uint8 sRGB [h, w, 3]; `light` turns linear light of the file [..., 3] into
    the light there was.

    Raises InputError when the patch is too small, over-exposed or too dark.
    """
    patch = _thinned(pixels)
    check_exposure(patch, message("patch-of", name=name))
    linear = light(linear_rgb(patch))
    flat, factor = linear.reshape(-1, 3), fibre_factor(linear)
    centre, lit = _lit_centre(flat)
    strays = delta_e76(linear_to_lab(flat[lit]), linear_to_lab(centre))
    return Shade(
        name,
        _numbers(linear_to_lab(centre * factor)),
        _numbers(linear_to_lab(flat.mean(axis=0))),
        float(np.median(strays)),
        _standard_error(linear),
        float(lit.mean()),
        colours_in(linear * factor),
    )


FIBRE = 1.03
"""Light of the fibre over that of the lit half of wound yarn; rendered strands gave 1.02 to 1.05."""
_ROUND = 0.12
"""How unevenly lit yarn is, standard deviation over mean; a smooth surface shades nothing."""


def fibre_factor(linear: Floats) -> float:
    """Light of the fibre over that of the lit part of a patch [h, w, 3], 1 for a smooth surface."""
    light = linear @ np.array([0.2126, 0.7152, 0.0722])
    uneven = float(light.std() / max(float(light.mean()), 1e-6))
    return 1 + (FIBRE - 1) * min(1.0, uneven / _ROUND)


def _numbers(lab: Floats) -> tuple[float, float, float]:
    return float(lab[0]), float(lab[1]), float(lab[2])


_PARTS, _APART, _MOST_COLOURS = 8, 6.0, 6
"""Parts a patch is looked at along each side; ΔE*ab from which two of them are two colours."""


def colours_in(linear: Floats) -> tuple[str, ...]:
    """The colours of a patch [h, w, 3] that holds several, dark to light; none when it holds one.

    Parts of the patch large enough to hold lit fibre are compared, so that the shadows between strands
    are no colours of their own, and clustered (complete linkage) until no two of a cluster are
    further apart than twice `_APART`.
    """
    from scipy.cluster.hierarchy import fcluster, linkage

    parts = [
        part
        for row in np.array_split(linear, _PARTS, axis=0)
        for part in np.array_split(row, _PARTS, axis=1)
        if part.shape[0] >= _LEAST_SIDE and part.shape[1] >= _LEAST_SIDE
    ]
    if len(parts) < _PARTS:
        return ()
    labs = np.array([linear_to_lab(_lit_centre(part.reshape(-1, 3))[0]) for part in parts])
    weighed = labs * np.array([0.5, 1.0, 1.0])  # a curved ball is lit unevenly, so hue counts more
    kinds = fcluster(linkage(weighed, "complete"), 2 * _APART, "distance")
    shares = np.bincount(kinds)[1:] / len(kinds)
    kept = [kind for kind, share in enumerate(shares, 1) if share >= _LEAST_SHARE]
    if len(kept) < 2:
        return ()
    middles = np.array([np.median(labs[kinds == kind], axis=0) for kind in kept])
    order = np.argsort(middles[:, 0], kind="stable")[:_MOST_COLOURS]
    return tuple(to_hex(lab_to_srgb(middles[at])) for at in order)


_LEAST_SIDE, _LEAST_SHARE = 6, 0.06


def check_exposure(patch: Pixels, what: Message) -> None:
    """Raise InputError when a camera could not tell the colours of a patch [h, w, 3]."""
    if patch.shape[0] * patch.shape[1] < _SMALLEST:
        raise InputError(
            message(
                "patch-too-small",
                what=what,
                pixels=patch.shape[0] * patch.shape[1],
                least=_SMALLEST,
            )
        )
    clipped = float((patch.max(axis=2) >= CLIPPED).mean())
    if clipped > MOST_CLIPPED:
        raise InputError(message("patch-over-exposed", what=what, clipped=clipped))
    if float(np.median(patch.max(axis=2))) < DARK:
        raise InputError(message("patch-too-dark", what=what))


def mean_light(pixels: Pixels) -> tuple[Floats, float]:
    """Middle linear light [3] of an even patch, and the uncertainty of it as a part of itself."""
    linear = linear_rgb(_thinned(pixels))
    centre = np.median(linear.reshape(-1, 3), axis=0)
    parts = np.array([np.median(tile.reshape(-1, 3), axis=0) for tile in _tiles(linear)])
    uncertainty = float(np.linalg.norm(parts.std(axis=0, ddof=1) / np.maximum(centre, 1e-6)))
    return centre, uncertainty / np.sqrt(len(parts))


def is_even(linear: Floats) -> bool:
    """Whether a patch [h, w, 3] of linear light is card or paper rather than yarn."""
    light = linear.mean(axis=2)
    return float(light.std()) <= _EVEN * max(float(light.mean()), 1e-6)


def lit_light(linear: Floats) -> Floats:
    """Mean light [3] of the lit part of a patch [h, w, 3] of yarn."""
    return _lit_centre(linear.reshape(-1, 3))[0]


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


def _standard_error(linear: Floats) -> float:
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


# Finding a white or grey reference in a photo: the brightest even patch without strong colour.

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
    nearly as bright as anything in the photo that is not clipped, and fill 0.6% of it.
    """
    if min(pixels.shape[:2]) < 32:
        return None
    tile = max(4, min(pixels.shape[:2]) // _ACROSS)
    mean, even = _even_tiles(pixels, tile)
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


def _even_tiles(pixels: Pixels, tile: int) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
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


# Do two dye lots match? The grey scale for assessing change in colour.
#
# ISO 105-A02: the nine pairs of the scale differ by these ΔE*ab (CIE 1976), from grade 5 to grade
# 1. Seen in the standard's public preview.

GRADES = ("5", "4-5", "4", "3-4", "3", "2-3", "2", "1-2", "1")
DIFFERENCES = (0.0, 0.8, 1.7, 2.5, 3.4, 4.8, 6.8, 9.6, 13.6)


@dataclass(frozen=True, slots=True)
class LotMatch:
    """Two colours as two lots of one dye: ΔE*ab, ΔE2000 with kL 2 (ISO 105-J03), the grade."""

    first: str
    second: str
    delta_e: float
    delta_e2000: float
    grade: str
    words: str

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "first": self.first,
            "second": self.second,
            "delta_e_ab": round(self.delta_e, 2),
            "delta_e2000_kl2": round(self.delta_e2000, 2),
            "grade": self.grade,
            "words": self.words,
        }


def grey_scale_grade(delta_e: float) -> str:
    """The grade whose pair of the scale differs most nearly by `delta_e`."""
    nearest = int(np.argmin(np.abs(np.array(DIFFERENCES) - delta_e)))
    return GRADES[nearest]


def match_lots(
    first: str, second: str, lab1: ArrayLike, lab2: ArrayLike, uncertainty: float
) -> LotMatch:
    """Judge two colours; differences within `uncertainty` (ΔE*ab) cannot be told from chance."""
    delta_e = float(delta_e76(lab1, lab2))
    grade = grey_scale_grade(delta_e)
    textile = float(delta_e2000(lab1, lab2, kL=2.0))
    words = _words(grade)
    if delta_e <= uncertainty:
        small = uncertainty <= _FINE
        words = (
            "no difference beyond what this photo can tell"
            if small
            else f"the photo is too uncertain to say: it tells apart what differs by {uncertainty:.0f} ΔE"
        )
    return LotMatch(first, second, delta_e, textile, grade, words)


_FINE = 3.4
"""ΔE*ab of grade 3: a photo that tells less apart does not tell lots apart."""


def _words(grade: str) -> str:
    step = GRADES.index(grade)
    if step <= 1:
        return "a match: knit them side by side"
    if step <= 2:
        return "close: change lots at a border, or knit rounds of both in turn"
    if step <= 4:
        return "the change will show: knit rounds of both in turn where they meet"
    return "plainly different: do not use them as one colour"
