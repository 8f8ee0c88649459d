"""A model of what lies across the edge of a card: the card's colour, then the shaded table's.

The shadow darkens all colours by the same share, and lies outside the card only. The card's and the
table's colours are those that leave least of the photo unexplained.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats

STEP = 0.5
"""Pixels between samples across a side."""
BLURS = ((0.7, 0.7), (0.7, 1.8), (1.1, 1.1), (1.1, 2.0), (1.7, 1.7), (1.7, 2.4), (2.6, 2.8))
"""Blur of a photo in lightness and in colour, px: JPEG keeps colours at half the pixels."""
_SHADOWS = (
    *((0.0, 0.3), (0.0, 0.8), (0.3, 0.15), (0.6, 0.15), (0.6, 0.5)),
    *((1.0, 0.2), (1.0, 0.7), (1.6, 0.3), (1.6, 0.9)),
)
"""Width of a shadow and softness of its border, mm; a card is 0.76 mm thick (ISO/IEC 7810)."""
_DARK = np.array([0.0, 0.04, 0.1, 0.16, 0.23, 0.3, 0.37, 0.45, 0.53, 0.62, 0.7])
_NEEDLESS = 1.5
"""A shadow is believed when it explains this much more: a grey card may look like shaded table."""
_UNSEEN = 4.0
"""Grey levels between card and shaded table, at the edge, at which the edge is hardly seen."""
_FLOOR = 0.02
"""Grey levels squared that are never explained: rounding."""

Profile = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Look:
    """Blur in lightness and colour, px; the shadow's width and softness, mm, and its depth, 0-1."""

    blur: tuple[float, float]
    shadow: tuple[float, float]
    dark: float


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """For every place of the edge, the least that is left unexplained, and the look that leaves it."""

    places: Floats
    left: Floats
    looks: list[Look]


def unexplained(profile: Profile, per_mm: float, blur: tuple[float, float]) -> Fit:
    """Edges at every place of a profile, colours [depths, 3] from outside to inside, at one blur."""
    depth = depths_of(profile)
    places = np.arange(depth[0] + 2.0, depth[-1] - 1.9, STEP)
    inside = depth[None, :] - places[:, None]
    left = np.stack([left_over(profile, inside, blur, s, _DARK, per_mm) for s in _SHADOWS])
    left[:, _DARK > 0] *= _NEEDLESS
    shadow, dark = np.unravel_index(
        left.transpose(2, 0, 1).reshape(len(places), -1).argmin(axis=1), left.shape[:2]
    )
    looks = [Look(blur, _SHADOWS[s], float(_DARK[d])) for s, d in zip(shadow, dark, strict=True)]
    return Fit(places, left.min(axis=(0, 1)), looks)


def left_over(
    profile: Profile,
    inside: Floats,
    blur: tuple[float, float],
    shadow: tuple[float, float],
    dark: Floats,
    per_mm: float,
) -> Floats:
    """What is left of a profile [depths, 3] by edges at several places [darks, places], squared levels.

    `inside`: px inside the edge [places, depths]. The card's and the table's colours are those that
    leave least.
    """
    explained, step = np.zeros((2, len(dark), len(inside)))
    d = dark[:, None]
    lit = 1 - d * _shade(0.0, blur[0], shadow, per_mm)
    for width, plane in zip((blur[0], blur[1], blur[1]), profile.T, strict=True):
        card, table, shade = _model(inside, width, shadow, per_mm)
        pc, pt = card @ plane, table @ plane - d * (shade @ plane)
        cc, ct = (card * card).sum(1), (card * table).sum(1) - d * (card * shade).sum(1)
        tt = (table * table).sum(1) - 2 * d * (table * shade).sum(1) + d**2 * (shade * shade).sum(1)
        det = cc * tt - ct**2 + 1e-9
        of_card, of_table = (tt * pc - ct * pt) / det, (cc * pt - ct * pc) / det
        explained += of_card * pc + of_table * pt
        step += (of_card - lit * of_table) ** 2
    left = (float((profile**2).sum()) - explained) / profile.size + _FLOOR
    return np.asarray(left * (1 + _UNSEEN**2 / (step + 1e-9)))


def _model(
    inside: Floats, blur: float, shadow: tuple[float, float], per_mm: float
) -> tuple[Floats, Floats, Floats]:
    """Shares of the card's colour, of the table's, and of what full shadow takes from the table."""
    from scipy.special import ndtr

    card = ndtr(inside / blur)
    return card, 1 - card, (1 - card) * _shade(inside, blur, shadow, per_mm)


def _shade(
    inside: Floats | float, blur: float, shadow: tuple[float, float], per_mm: float
) -> Floats:
    from scipy.special import ndtr

    width, soft = (v * per_mm for v in shadow)
    return np.asarray(ndtr((inside + width) / np.hypot(soft, blur)))


def depths_of(profile: Profile) -> Floats:
    """Pixels inside the middle of every sample of a profile."""
    return np.asarray((np.arange(len(profile)) - len(profile) // 2) * STEP, dtype=np.float64)
