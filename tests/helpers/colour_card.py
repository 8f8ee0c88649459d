"""A photo of yarns wound in the colours of the ColorChecker, under a light of one's choice.

The colours are colour-science's 'ColorChecker24 - After November 2014' (X-Rite's published values),
adapted from D50 to D65 by colour-science. Each patch is wound of strands with shaded sides, dark gaps
and a glint, so that a plain mean of its pixels is far too dark.
"""

from __future__ import annotations

import warnings
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Floats = NDArray[np.float64]
SIDE, GAP = 72, 12
D65 = np.array([0.95047, 1.0, 1.08883])


def science():  # type: ignore[no-untyped-def]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour


@cache
def card() -> tuple[tuple[str, ...], Floats, Floats]:
    """Names, XYZ (D65) [24, 3] and Lab (D65) [24, 3] of the patches, by colour-science alone."""
    colour = science()
    checker = colour.CCS_COLOURCHECKERS["ColorChecker24 - After November 2014"]
    xyz = colour.xyY_to_XYZ(np.array(list(checker.data.values())))
    white = colour.xy_to_XYZ(checker.illuminant)
    xyz = colour.adaptation.chromatic_adaptation_VonKries(xyz, white, D65, transform="Bradford")
    lab = colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(D65))
    return tuple(checker.data), xyz, lab


def linear(xyz: Floats) -> Floats:
    """Linear sRGB by colour-science's matrix."""
    return np.asarray(xyz @ science().RGB_COLOURSPACES["sRGB"].matrix_XYZ_to_RGB.T)


def under(xyz: Floats, light: tuple[float, float] | None, gains: tuple[float, ...]) -> Floats:
    """Linear sRGB of a scene lit by a light of chromaticity xy, then the camera's own gains."""
    if light is not None:
        colour = science()
        xyz = colour.adaptation.chromatic_adaptation_VonKries(
            xyz, D65, colour.xy_to_XYZ(np.array(light)), transform="CAT02"
        )
    return np.asarray(linear(xyz) * np.array(gains))


def strands(rng: np.random.Generator, side: int) -> Floats:
    """Light on wound strands, [side, side]: round bodies, dark gaps between them, a few glints."""
    across = (np.arange(side) % 9 - 4) / 4.6
    body = np.sqrt(1 - across**2)
    light = np.tile(body, (side, 1)) * (1 + 0.03 * rng.standard_normal((side, side)))
    light[:, across < -0.85] *= 0.25
    glint = rng.random((side, side)) < 0.01
    return np.where(glint, 1.6, light)


def photograph(
    light: tuple[float, float] | None = None,
    gains: tuple[float, ...] = (1.0, 1.0, 1.0),
    exposure: float = 0.85,
    wound: bool = True,
    seed: int = 5,
) -> Image.Image:
    """Six by four patches on grey felt; the neutral row is card (even), the others yarn if `wound`."""
    rng = np.random.default_rng(seed)
    names, xyz, _ = card()
    scene = under(xyz, light, gains)
    scene *= exposure / max(1.0, float(scene.max()))
    step = SIDE + GAP
    photo = np.tile(scene[names.index("neutral 3.5 (1.05 D)")], (4 * step + GAP, 6 * step + GAP, 1))
    photo *= 1 + 0.15 * rng.standard_normal(photo.shape[:2])[..., None]
    for place in range(24):
        y, x = corner(place)
        texture = strands(rng, SIDE) if wound and place < 18 else np.ones((SIDE, SIDE))
        photo[y : y + SIDE, x : x + SIDE] = scene[place] * texture[..., None]
    photo += 0.002 * rng.standard_normal(photo.shape)
    clipped = np.clip(photo, 0, 1)
    encoded = np.where(clipped <= 0.0031308, clipped * 12.92, 1.055 * clipped ** (1 / 2.4) - 0.055)
    return Image.fromarray((encoded * 255 + 0.5).astype(np.uint8))


def corner(place: int) -> tuple[int, int]:
    """Top and left of a patch."""
    return GAP + place // 6 * (SIDE + GAP), GAP + place % 6 * (SIDE + GAP)


def box(place: int, inset: int = 8) -> str:
    """'x,y,w,h' well inside a patch."""
    y, x = corner(place)
    return f"{x + inset},{y + inset},{SIDE - 2 * inset},{SIDE - 2 * inset}"
