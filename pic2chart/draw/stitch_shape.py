"""The shape of one knit stitch as fields of coverage and light, in the stitch's own square.

Across, u runs from 0 to 1; upward, v runs from 0 (foot of the stitch) to 1, and a stitch reaches
beyond its square: its pointed foot comes out of the stitch below, its head slips behind the one
above. Proportions were drawn by eye after photographs of stocking stitch (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Field = NDArray[np.float32]

FOOT, HEAD = -0.34, 1.42
"""How far up the foot begins and the head ends, in round heights."""
_FOOT_X, _HEAD_X = 0.475, 0.205
_HALF = 0.235
_SOFT = 0.18
_PLIES = 5.0
_LEAN_0 = 0.128


@dataclass(frozen=True, slots=True)
class Fabric:
    """What one pixel of fabric is made of, each [v, u] on the fine grid of one square.

    `stitch[k]` is the share of the yarn of the stitch below, the stitch itself and the one above
    (k = 0, 1, 2) with its shading; `gap` is the share of the deep shade between stitches;
    `gleam` is the light that lies on any yarn, dark ones too.
    """

    stitch: NDArray[np.float32]
    gap: Field
    gleam: Field


def lay_stitches(u: Field, v: Field, present: tuple[bool, bool, bool]) -> Fabric:
    """Lay the stitch below, the stitch itself and the one above over each other where present.

    `u` [1, n] and `v` [m, 1] are places in the square; v counts upward. The upper stitch comes out
    through the lower one, so it lies on top, and shades it.
    """
    shape = np.broadcast_shapes(u.shape, v.shape)
    shares = np.zeros((3, *shape), dtype=np.float32)
    gap = np.ones(shape, dtype=np.float32)
    gleam = np.zeros(shape, dtype=np.float32)
    for k, up in enumerate((-1.0, 0.0, 1.0)):
        if not present[k]:
            continue
        shade = _cast_shade(u, v - up)
        shares[:k] *= shade
        gleam *= shade
        for mirrored in (False, True):
            cover, light, shine = _leg(u, v - up, mirrored)
            shares *= 1 - cover
            gap *= 1 - cover
            gleam *= 1 - cover
            shares[k] += cover * light
            gleam += cover * shine
    return Fabric(shares, gap, gleam)


def _leg(u: Field, v: Field, mirrored: bool) -> tuple[Any, Any, Any]:
    """Coverage 0–1, light about 1 and gleam of one leg, a leaning drop with twisted plies."""
    across, along, half = _leg_frame(1 - u if mirrored else u, v)
    s = across / np.maximum(half, 1e-3)
    inside = (along > 0) & (along < 1)
    cover = np.clip((1 - np.abs(s)) / _SOFT, 0, 1) * inside
    cover = cover * cover * (3 - 2 * cover)
    facing = -s if mirrored else s  # so that the light comes from the same side for both legs
    round_ = np.sqrt(np.clip(1 - s * s, 0, 1))
    ply = np.cos(2 * np.pi * (along * _PLIES - s * 0.75))
    ends = _rise(along, 0.0, 0.30) * (1 - _rise(along, 0.66, 0.95))
    light = (0.50 + 0.50 * round_ - 0.08 * facing) * (1 + 0.07 * ply * round_)
    light = light * (0.56 + 0.44 * ends)
    glint = s + (0.25 if mirrored else -0.25)
    shine = np.exp(-((glint / 0.45) ** 2)) * ends * (0.75 + 0.25 * ply)
    return cover, light, shine


def _leg_frame(u: Field, v: Field) -> tuple[Any, Any, Any]:
    """Signed distance across the left leg, place along it 0–1, and its half width there."""
    along = (v - FOOT) / (HEAD - FOOT)
    t = np.clip(along, 0, 1)
    lean = _rise(t, -0.25, 0.86)
    centre = _FOOT_X + (_HEAD_X - _FOOT_X) * (lean - _LEAN_0) / (1 - _LEAN_0)
    swell = np.clip(t / 0.58, 0, 1)
    taper = np.clip((1 - t) / 0.22, 0, 1)
    half = _HALF * np.sin(0.5 * np.pi * swell) ** 0.8 * np.sqrt(1 - (1 - taper) ** 2)
    return u - centre, along, half


def _cast_shade(u: Field, v: Field) -> Any:
    """The soft shade a stitch casts on the one it comes out of, 1 where there is none."""
    near = np.exp(-(((u - 0.5) / 0.34) ** 2) - (((v + 0.02) / 0.26) ** 2))
    return 1 - 0.38 * near


def _rise(x: Any, low: float, high: float) -> Any:
    """A smooth step from 0 at `low` to 1 at `high`."""
    t = np.clip((x - low) / (high - low), 0, 1)
    return t * t * (3 - 2 * t)
