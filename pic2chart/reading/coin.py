"""A coin in a photo: a circle of known diameter that lies beside the swatch, and its edge.

A round thing gives the scale, and says how far the photo leans, but not to which side: what that
leaves open away from the coin is part of the scale's uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.card import outlines, reduced
from pic2chart.reading.perspective import Floats

_SHARES = (0.0006, 0.06)
"""Share of the photo that a coin may fill."""
_ROUND, _LEAST_RATIO = 0.035, 0.8
_RAYS = 180
_REACH = (0.85, 1.7)
"""Where the edge is looked for, in radii of a round outline, which may be a ring of the design's."""
_SHIFTS = np.linspace(-0.12, 0.12, 7)
"""How far the middle may be off a round outline's, which may have a shadow with it, in radii."""
_CLEAR, _OUTERMOST = 1.5, 0.4
"""Grey levels a pixel at a coin's edge, at the least; how strong the outermost ring must be
against the strongest, which may be one of the design's."""
_NEAR_PX = 2.5
_ROUND_ABOUT, _KEPT = 0.7, 0.5
"""Share of the edge that must be seen as a ring, and to parts of a pixel."""
_CLEAR_SHARE, _LIKE_SHARE = 0.9, 0.7
"""Share of the rays on which a ring is the strongest change near it: of a coin's edge that is free; and
of what may be the edge all the same, half hidden by a shadow (true edges had 0.91 and more, circles
through a shadow and an edge 0.77 at most, measured)."""
_TRIED = 3
"""Outlines that are tried at one place."""
_TURNS = np.linspace(0, 2 * np.pi, _RAYS, endpoint=False)
_CIRCLE = np.column_stack([np.cos(_TURNS), np.sin(_TURNS)])


@dataclass(frozen=True, slots=True, eq=False)
class Coin:
    """`middle`: float [2] photo pixels; `shape`: [2, 2], takes a circle of radius 1 to the coin's edge
    about its middle, symmetric; `off`: how far, px, the edge strays from that (standard deviation);
    `clear`: whether the edge stands out all around, and nothing beyond it may be the edge."""

    middle: Floats
    shape: Floats
    off: float
    clear: bool = True

    @property
    def radii(self) -> tuple[float, float]:
        """The longer and the shorter half axis, px."""
        short, long = np.linalg.eigvalsh(self.shape)
        return float(long), float(short)

    @property
    def ratio(self) -> float:
        """The shorter over the longer axis: the cosine of the angle at which the coin is seen."""
        long, short = self.radii
        return short / long

    @property
    def outline(self) -> Floats:
        """Points of the edge [points, 2]."""
        return np.asarray(self.middle + _CIRCLE @ self.shape)


def find_coins(rgb: NDArray[np.uint8]) -> list[Coin]:
    """Round things in a photo, one at each place, the largest first; those that are not clear only where
    none is."""
    import cv2

    small, scale = reduced(rgb)
    rough = [_ellipse(outline) for outline in outlines(small, _SHARES)]
    found = [
        Coin((one.middle + 0.5) / scale - 0.5, one.shape / scale, one.off / scale)
        for one in rough
        if one is not None
    ]
    found.sort(key=lambda one: -one.radii[0])
    planes = cv2.GaussianBlur(rgb, (0, 0), 0.8).astype(np.float32)
    clear: list[Coin] = []
    unclear: list[Coin] = []
    for one in found:
        tried = sum(_same_place(one, other) for other in unclear)
        if tried >= _TRIED or any(_same_place(one, other) for other in clear):
            continue
        coin = _sharpened(planes, one)
        if coin is not None:
            (clear if coin.clear else unclear).append(coin)
    return clear or [
        one for k, one in enumerate(unclear) if not any(_same_place(one, o) for o in unclear[:k])
    ]


def _same_place(one: Coin, other: Coin) -> bool:
    return float(np.hypot(*(one.middle - other.middle))) < 0.5 * other.radii[0]


def _ellipse(outline: NDArray[np.int32]) -> Coin | None:
    """The ellipse that an outline is, or None when it is none."""
    import cv2

    hull = cv2.convexHull(outline)[:, 0]
    if len(hull) < 12 or cv2.contourArea(outline) < 0.9 * cv2.contourArea(hull):
        return None
    coin = _fitted(hull.astype(np.float64))
    if coin is None or coin.ratio < _LEAST_RATIO:
        return None
    reach = np.linalg.norm((outline - coin.middle) @ np.linalg.inv(coin.shape), axis=1)
    return coin if float(np.abs(reach - 1).mean()) < _ROUND else None


def _fitted(points: Floats) -> Coin | None:
    """The ellipse through points [points, 2]; None where they make none."""
    import cv2

    (x, y), axes, turn = cv2.fitEllipseDirect(points.astype(np.float32))
    if not np.isfinite([x, y, *axes, turn]).all() or min(axes) < 4:
        return None
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    way = np.array([[cos, -sin], [sin, cos]])
    shape = way @ np.diag(np.array(axes) / 2) @ way.T
    return Coin(np.array([x, y]), np.asarray(shape), 0.0)


def _sharpened(planes: NDArray[np.float32], rough: Coin) -> Coin | None:
    """The coin with its edge put where the colour changes most, to parts of a pixel; None where there is
    no ring at all.

    A ring of the design lies within: the edge is the outermost ring that is seen nearly all around, its
    middle being free. A circle through the edge on one side and the shadow's on the other is none, and
    where it, or an edge half hidden, may be what lies outside, the coin is not clear.
    """
    radius = rough.radii[0]
    reach = np.arange(*_REACH, 0.5 / radius)
    change = _change_map(planes, rough, 1.3 * _REACH[1] * radius)
    shifts = np.stack(np.meshgrid(_SHIFTS, _SHIFTS), axis=-1).reshape(-1, 2) * radius
    usual = np.array([_around(change, rough, shift, reach) for shift in shifts])
    best = usual.max(axis=0)
    strong = [
        k
        for k in range(1, len(best) - 1)
        if best[k] >= best[k - 1 : k + 2].max() and best[k] > max(_CLEAR, _OUTERMOST * best.max())
    ]
    if not strong:
        return None
    outside: list[tuple[Coin, float, float]] = []
    for ring in reversed(strong):
        middle = rough.middle + shifts[int(np.argmax(usual[:, ring]))]
        coin: Coin | None = Coin(middle, np.eye(2) * radius * reach[ring], 0.0)
        for near in (_NEAR_PX + 0.02 * radius, _NEAR_PX, _NEAR_PX / 2):
            coin = None if coin is None else _refitted(planes, coin, near)
        if coin is None:
            continue
        share = float(_edge_points(planes, coin, _NEAR_PX / 2)[1].mean())
        if share >= _CLEAR_SHARE:
            rivals = (seen >= _LIKE_SHARE or much > best[ring] for _, seen, much in outside)
            return replace(coin, clear=not any(rivals))
        outside.append((coin, share, float(best[ring])))
    return replace(outside[0][0], clear=False) if outside else None


@dataclass(frozen=True, slots=True, eq=False)
class _Change:
    """How the colour changes, grey levels a pixel, in a part of the photo whose first pixel is `at`."""

    values: NDArray[np.float32]
    at: Floats


def _change_map(planes: NDArray[np.float32], coin: Coin, reach: float) -> _Change:
    import cv2

    low = np.maximum(np.floor(coin.middle - reach), 0).astype(int)
    high = np.ceil(coin.middle + reach).astype(int)
    part = planes[low[1] : high[1], low[0] : high[0]]
    steps = [cv2.Sobel(part, cv2.CV_32F, 1 - k, k, ksize=3) / 8 for k in (0, 1)]
    change = np.sqrt((steps[0] ** 2 + steps[1] ** 2).sum(axis=2))
    # An oval coin and a circle part by a pixel.
    return _Change(np.asarray(cv2.dilate(change, np.ones((3, 3), np.uint8))), low.astype(float))


def _around(change: _Change, coin: Coin, shift: Floats, reach: Floats) -> Floats:
    """How much the colour changes along most of each circle about a place, [radii]."""
    import cv2

    at = coin.middle + shift - change.at
    points = at + reach[:, None, None] * coin.radii[0] * _CIRCLE[None, ::3]
    seen = cv2.remap(
        change.values,
        points[..., 0].astype(np.float32),
        points[..., 1].astype(np.float32),
        cv2.INTER_NEAREST,
    )
    return np.asarray(np.percentile(seen, 100 * (1 - _ROUND_ABOUT), axis=1))


def _change(planes: NDArray[np.float32], coin: Coin, reach: Floats) -> Floats:
    """How the colour changes outwards, grey levels a pixel, [rays, places] at shares of the radius."""
    import cv2

    at = coin.middle + reach[None, :, None] * (_CIRCLE @ coin.shape)[:, None, :]
    seen = cv2.remap(
        planes, at[..., 0].astype(np.float32), at[..., 1].astype(np.float32), cv2.INTER_LINEAR
    )
    return np.asarray(np.linalg.norm(np.gradient(seen, axis=1), axis=2) * 2, dtype=np.float64)


def _refitted(planes: NDArray[np.float32], coin: Coin, near: float) -> Coin | None:
    """The ellipse along the strongest change of colour, what lies off it left out; None where too
    little of it is seen."""
    points, kept = _edge_points(planes, coin, near)
    fitted: Coin | None = None
    for _ in range(4):
        fitted = _fitted(points[kept]) if kept.sum() > _KEPT * _RAYS else None
        if fitted is None:
            return None
        reach = np.linalg.norm((points - fitted.middle) @ np.linalg.inv(fitted.shape), axis=1)
        off = (reach - 1) * fitted.radii[0]
        fitted = replace(fitted, off=1.48 * float(np.median(np.abs(off[kept]))))
        kept &= np.abs(off) < max(0.4, 2.5 * fitted.off)
    return fitted


def _edge_points(
    planes: NDArray[np.float32], coin: Coin, near: float
) -> tuple[Floats, NDArray[np.bool_]]:
    """Where the colour changes most on every ray, not more than `near` px off; and if it does so there."""
    step = 0.5 / coin.radii[0]
    steps = np.arange(-int(near / 0.5) - 1, int(near / 0.5) + 2)
    reach = np.asarray(1 + steps * step, dtype=np.float64)
    change = _change(planes, coin, reach)
    best = change[:, 1:-1].argmax(axis=1) + 1
    low, mid, high = (change[np.arange(_RAYS), best + k] for k in (-1, 0, 1))
    curved = low - 2 * mid + high
    rest = np.where(curved < 0, 0.5 * (low - high) / np.where(curved < 0, curved, 1), 0.0)
    place = reach[best] + np.clip(rest, -1, 1) * step
    kept = (best > 1) & (best < len(steps) - 2) & (mid > _CLEAR)
    return coin.middle + place[:, None] * (_CIRCLE @ coin.shape), kept
