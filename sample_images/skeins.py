"""Three wound balls of yarn and a sheet of white paper on a table, photographed in warm light."""

from __future__ import annotations

import brush
import numpy as np

WIDTH, HEIGHT = 480, 288
YARNS = {"rust": "#a8502f", "moss": "#5d6b3a", "slate": "#56616b"}
"""What the yarns really are; the light of the photo hides it."""
PAPER = "#f1f1f1"
_TABLE = "#6f5844"
_WARM = np.array([1.0, 0.83, 0.62])
_EXPOSURE = 0.92
_RADIUS = 66.0
_PLACES = ((84.0, 96.0), (204.0, 186.0), (330.0, 92.0))
_STRAND = 7.0


def skeins() -> brush.Field:
    """The photo, 480 × 288."""
    photo = _linear(brush.blank(WIDTH, HEIGHT, _TABLE))
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(float)
    photo *= (1 + 0.10 * np.sin(y / 5.3 + 0.8 * np.sin(x / 61)) + 0.05 * np.sin(y / 1.9))[..., None]
    _lay_paper(photo, x, y)
    for (cx, cy), colour in zip(_PLACES, YARNS.values(), strict=True):
        _lay_ball(photo, (x - cx) / _RADIUS, (y - cy) / _RADIUS, colour)
    lit = np.clip(photo * _WARM * _EXPOSURE, 0, 1)
    return np.where(lit <= 0.0031308, 12.92 * lit, 1.055 * lit ** (1 / 2.4) - 0.055)


def _lay_paper(photo: brush.Field, x: brush.Field, y: brush.Field) -> None:
    """Paper at the lower right, with a soft shadow along its left and lower edge."""
    left, top, right, bottom = 300, 186, 460, 272
    near = np.exp(-(np.maximum(0, left - x) + np.maximum(0, y - bottom)) / 5)
    inside = (x >= left) & (x < right) & (y >= top) & (y < bottom)
    around = (y >= top) & (x < right) & ~inside
    photo[around] *= (1 - 0.5 * near[around])[..., None]
    photo[inside] = _linear(brush.rgb(PAPER))


def _lay_ball(photo: brush.Field, u: brush.Field, v: brush.Field, colour: str) -> None:
    """A ball about (0, 0) of radius 1: strands wound in four directions over a sphere."""
    far = np.hypot(u - 0.10, v - 0.16)
    shade = np.clip(1 - (far - 0.85) / 0.45, 0, 1)
    photo *= (1 - 0.6 * shade)[..., None]
    inside = u**2 + v**2 < 1
    depth = np.sqrt(np.clip(1 - u**2 - v**2, 0, 1))
    facing = np.clip(0.35 + 0.75 * (depth * 0.86 - 0.33 * u - 0.39 * v), 0, 1.0)
    strand, over = _winding(u, v, depth)
    body = np.sqrt(np.clip(1 - strand**2, 0, 1))
    plies = 1 + 0.06 * np.cos(2 * np.pi * (over * 2.2 + strand))
    light = facing * np.where(np.abs(strand) > 0.88, 0.22, body) * plies
    photo[inside] = (_linear(brush.rgb(colour)) * light[..., None])[inside]


def _winding(u: brush.Field, v: brush.Field, depth: brush.Field) -> tuple[brush.Field, brush.Field]:
    """Place across a strand, -1 to 1, and along it in strands, of the winding that lies on top."""
    across, along = np.zeros_like(u), np.zeros_like(u)
    for turn, low, high in (
        (0.4, -2, 2),
        (1.5, -0.42, 0.30),
        (2.6, -0.30, 0.38),
        (0.05, -0.16, 0.20),
    ):
        s = u * np.cos(turn) + v * np.sin(turn)
        t = -u * np.sin(turn) + v * np.cos(turn)
        bent = np.arctan2(s, np.maximum(depth, 1e-3)) if high < 2 else s
        on_top = (bent >= low) & (bent < high)
        place = bent * _RADIUS / _STRAND
        across = np.where(on_top, 2 * (place - np.floor(place)) - 1, across)
        along = np.where(on_top, t * _RADIUS / _STRAND, along)
    return across, along


def _linear(values: brush.Field) -> brush.Field:
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)
