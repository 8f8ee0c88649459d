"""Picture → stitch grid: the colour each stitch should have.

Each stitch takes the mean of the pixels it covers, then lightness is sharpened at the scale of a
stitch. The mean is taken over sRGB values, not linear light: over six photographs at 60 × 48
stitches in 3 and 5 colours that kept more likeness (mean SSIM of the blurred lightness .937 against
.931, and .940 against .936 when the blur itself is done in linear light), because thin dark lines
survive it. Sharpening adds about .008; from 0.5 to 1.3 its amount hardly matters.

Here, and nowhere else, page order becomes knitting order.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil

import cv2
import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import srgb_to_lab
from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE
from pic2chart.model.gauge import Gauge
from pic2chart.picture.decode import Box, Picture

SHARPEN = 0.8
"""Share of a stitch's difference from its surroundings that is added to its lightness."""

_PIXELS = 40
"""About so many pixels, along a line, are averaged at a time."""
_REACH = 6.0
"""Standard deviations after which a Gaussian's weights are too small to tell."""

Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """What the chart should look like, in knitting order (round 0 first knitted, stitch 0 at the right).

    `target`: float32 [rounds, stitches, 3], Lab (D65). `subject`: float32 [rounds, stitches], the
    share of each stitch that is subject, 1 everywhere when nothing was marked. Both read-only.
    `part`: (left, top, right, bottom) of the picture that is used, as fractions of its window.
    `belief` float32 [rounds, stitches]: what looks like the subject, where that was asked apart.
    """

    target: Floats
    subject: Floats
    part: tuple[float, float, float, float]
    belief: Floats | None = None

    def __post_init__(self) -> None:
        self.target.setflags(write=False)
        self.subject.setflags(write=False)

    @property
    def inside(self) -> NDArray[np.bool_]:
        """The stitches that are subject, bool [rounds, stitches]."""
        return self.subject >= 0.5

    @property
    def within(self) -> NDArray[np.bool_] | None:
        """The same; None where all of the stitches are subject or none is."""
        inside = self.inside
        return None if inside.all() or not inside.any() else inside


def make_grid(
    picture: Picture,
    gauge: Gauge,
    stitches: int,
    rounds: int | None = None,
    mask: Floats | None = None,
    *,
    sharpen: float = SHARPEN,
) -> Grid:
    """Average a picture to `stitches` × `rounds` (None: as many as its own shape needs).

    Nothing is stretched: where the shape disagrees, the middle of the picture is used. `mask`:
    float32 [H, W], 0–1, on the picture's pixels; a stitch then takes the colour of whichever side
    covers more of it, so that the subject's edge stays clean. Raises InputError when the picture is
    so tall that it needs more than MAX_SIDE rounds.
    """
    rounds = rounds or gauge.rounds_for(stitches, picture.window.h / picture.window.w)
    if rounds > MAX_SIDE:
        raise InputError(
            message(
                "too-many-rounds",
                file=picture.name,
                rounds=rounds,
                stitches=stitches,
                most=MAX_SIDE,
            )
        )
    part = middle_part(
        picture.window, stitches * gauge.stitch_width / (rounds * gauge.round_height)
    )
    colour, subject = _averaged(picture.rgb, mask, part, (rounds, stitches))
    target = srgb_to_lab(np.clip(colour / 255, 0, 1)).astype(np.float32)
    target[..., 0] = _sharpened(target[..., 0], subject, gauge, sharpen)
    return Grid(_to_knitting_order(target), _to_knitting_order(subject), part)


def middle_part(window: Box, shape: float) -> tuple[float, float, float, float]:
    """The largest middle part of a picture's window whose width over height is `shape`."""
    ratio = shape * window.h / window.w
    wide, high = min(1.0, ratio), min(1.0, 1 / ratio)
    return (1 - wide) / 2, (1 - high) / 2, (1 + wide) / 2, (1 + high) / 2


def _averaged(
    rgb: NDArray[np.uint8],
    mask: Floats | None,
    part: tuple[float, float, float, float],
    shape: tuple[int, int],
) -> tuple[Floats, Floats]:
    """Mean colour [rounds, stitches, 3] (0–255) and mean subject [rounds, stitches], page order."""
    height, width = rgb.shape[:2]
    left, right = int(part[0] * width), min(width, int(np.ceil(part[2] * width)))
    columns = list(_covers(part[0] * width - left, part[2] * width - left, right - left, shape[1]))
    means = np.empty((3 if mask is None else 7, *shape), np.float32)
    for up in _covers(part[1] * height, part[3] * height, height, shape[0]):  # memory stays small
        planes = np.empty((len(up.weights[0]), len(means), right - left), np.float32)
        for kind, plane in enumerate(cv2.split(rgb[up.pixels, left:right])):
            planes[:, kind] = plane
        if mask is not None:
            planes[:, 6] = mask[up.pixels, left:right]
            np.multiply(planes[:, :3], planes[:, 6:], out=planes[:, 3:6])
        rows = (up.weights @ planes.reshape(len(planes), -1)).reshape(-1, right - left)
        for across in columns:
            cells = rows[:, across.pixels] @ across.weights.T
            cells = cells.reshape(-1, len(means), cells.shape[1])
            means[:, up.cells, across.cells] = cells.transpose(1, 0, 2)
    if mask is None:
        return np.stack(tuple(means), axis=-1), np.ones(shape, dtype=np.float32)
    return _majority(means)


@dataclass(frozen=True, slots=True, eq=False)
class _Cover:
    """Some cells along a line, the pixels they cover, and each pixel's share of each: [cells, pixels],
    every cell's adding up to 1.
    """

    cells: slice
    pixels: slice
    weights: Floats


def _covers(start: float, stop: float, pixels: int, cells: int) -> Iterator[_Cover]:
    """What each of `cells` from `start` to `stop` covers of so many pixels, a few cells at a time: most
    cells and pixels have nothing to do with each other.
    """
    edges = np.linspace(start, stop, cells + 1)
    some = max(1, int(_PIXELS * cells / (stop - start)))
    for first in range(0, cells, some):
        part = edges[first : first + some + 1, None]
        low = int(part[0, 0])
        high = min(pixels, max(int(np.ceil(part[-1, 0])), low + 1))
        pixel = np.arange(low, high)
        shared = np.minimum(part[1:], pixel + 1) - np.maximum(part[:-1], pixel)
        shared = np.maximum(shared, 0)
        weights = np.asarray(shared / shared.sum(axis=1, keepdims=True), dtype=np.float32)
        yield _Cover(slice(first, first + some), slice(low, high), weights)


def _majority(means: Floats) -> tuple[Floats, Floats]:
    """Colour of the side that covers more of each stitch, from planes of rgb, rgb·mask and mask."""
    plain, weighted, share = means[:3], means[3:6], np.clip(means[6], 0, 1)
    inside = weighted / np.maximum(share, 0.5)
    outside = (plain - weighted) / np.maximum(1 - share, 0.5)
    return np.stack(tuple(np.where(share >= 0.5, inside, outside)), axis=-1), share


def _sharpened(lightness: Floats, subject: Floats, gauge: Gauge, amount: float) -> Floats:
    """L* plus `amount` times its difference from what lies about one stitch's width around it.

    Subject and background are each compared with their own side only, since the background may be
    knitted in another yarn altogether.
    """
    across, up = _bell(1.0), _bell(1.0 / gauge.aspect)
    around = np.zeros_like(lightness)
    inside = (subject >= 0.5).astype(np.float32)
    for side in (inside, 1 - inside):
        both = np.stack([side, lightness * side], axis=-1)
        near = cv2.sepFilter2D(both, -1, across, up, borderType=cv2.BORDER_CONSTANT)
        around += side * near[..., 1] / np.maximum(near[..., 0], 1e-6)
    return np.clip(lightness + amount * (lightness - around), 0, 100)


def _bell(sigma: float) -> Floats:
    """Gaussian weights about a place, standard deviation `sigma`, as far as single precision can tell."""
    place = np.arange(-ceil(_REACH * sigma), ceil(_REACH * sigma) + 1)
    return np.exp(-0.5 * (place / sigma) ** 2).astype(np.float32)


def _to_knitting_order(page: Floats) -> Floats:
    return np.ascontiguousarray(page[::-1, ::-1])
