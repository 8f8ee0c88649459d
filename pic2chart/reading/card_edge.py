"""The edges of a card in a photo: a model of what lies across one, and its fit to four sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats

# A model of what lies across the edge of a card: the card's colour, then the shaded table's.
#
# The shadow darkens all colours by the same share, and lies outside the card only. The card's and the
# table's colours are those that leave least of the photo unexplained.

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
class EdgeAppearance:
    """Blur in lightness and colour, px; the shadow's width and softness, mm, and its depth, 0-1."""

    blur: tuple[float, float]
    shadow: tuple[float, float]
    dark: float


@dataclass(frozen=True, slots=True, eq=False)
class EdgeFit:
    """For every place of the edge, the least residual, and the appearance that leaves it."""

    places: Floats
    residual: Floats
    appearances: list[EdgeAppearance]


def unexplained(profile: Profile, per_mm: float, blur: tuple[float, float]) -> EdgeFit:
    """Edges at every place of a profile, colours [depths, 3] from outside to inside, at one blur."""
    depth = depths_of(profile)
    places = np.arange(depth[0] + 2.0, depth[-1] - 1.9, STEP)
    inside = depth[None, :] - places[:, None]
    residual = np.stack([residuals(profile, inside, blur, s, _DARK, per_mm) for s in _SHADOWS])
    residual[:, _DARK > 0] *= _NEEDLESS
    shadow, dark = np.unravel_index(
        residual.transpose(2, 0, 1).reshape(len(places), -1).argmin(axis=1), residual.shape[:2]
    )
    appearances = [
        EdgeAppearance(blur, _SHADOWS[s], float(_DARK[d]))
        for s, d in zip(shadow, dark, strict=True)
    ]
    return EdgeFit(places, residual.min(axis=(0, 1)), appearances)


def residuals(
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
    residual = (float((profile**2).sum()) - explained) / profile.size + _FLOOR
    return np.asarray(residual * (1 + _UNSEEN**2 / (step + 1e-9)))


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


# Where the edges of a card lie beside its own shadow, to parts of a pixel.
#
# Across a side the photo is the card's colour, and then the table's, darkened near the card by its
# shadow: by the same share in all colours, and outside the card only. Every place of the edge is
# tried with shadows of many widths and depths; what is left unexplained says how good each place
# is. The photo is as sharp at one side of the card as at the others, and a shadow's border is not,
# so that they are told apart best when all four are looked at together.

_REACH_MM = 2.6
_LEAST_PX, _MOST_PX = 6.0, 22.0
_SEGMENTS, _LINES = 12, 8
"""Parts of a side, and lines across it that are averaged in each."""
_PLACES = np.linspace(0.1, 0.9, _SEGMENTS * _LINES)
_PARTS = _PLACES.reshape(_SEGMENTS, _LINES).mean(axis=1)
"""Where those lines, and the middles of the parts, lie along a side: 0 to 1."""
_WIDE_PX, _NARROW_PX = 5.0, 1.5
_MIDDLING = 3
_APART_PX = 1.6
_EVIDENCE = 12.0
"""How many independent samples a profile is worth: neighbours, and grain of the table, are alike."""
_LEAST_WEIGHT = 0.01
_FAINT = 1.0
"""Steps of colour, in grey levels a pixel, that are no edge."""


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """`line`: a·x + b·y + c = 0 in photo pixels, (a, b) of length 1; `stray`: how far, px, parts of
    the side lie off it; `weight`: 0-1, against the likeliest place of the same side."""

    line: Floats
    stray: float
    weight: float


def edges(rgb: NDArray[np.uint8], corners: Floats, sides_mm: Sequence[float]) -> list[list[Edge]]:
    """Places of the edge of each side between four rough corners, clockwise; likeliest first.

    Empty lists where the colour does not change.
    """
    import cv2

    planes = cv2.cvtColor(rgb, cv2.COLOR_RGB2YCrCb).astype(np.float32)
    planes[..., 1:] -= 128
    looked = [
        _side(planes, corners[k], corners[(k + 1) % 4], side) for k, side in enumerate(sides_mm)
    ]
    sides = [side for side in looked if side is not None]
    if len(sides) < len(looked):
        return [[] for _ in looked]
    sides = [_along_its_edge(planes, side) for side in sides]
    fits = [[unexplained(side.profile, side.per_mm, blur) for side in sides] for blur in BLURS]
    sharp = min(fits, key=lambda one: sum(float(np.log(fit.residual.min())) for fit in one))
    return [_fitted(side, fit) for side, fit in zip(sides, sharp, strict=True)]


@dataclass(frozen=True, slots=True, eq=False)
class _Side:
    """Colours [segments, depths, 3] across a side between two corners, and pixels a millimetre."""

    seen: Profile
    start: Floats
    end: Floats
    per_mm: float

    @property
    def profile(self) -> Profile:
        """Colours [depths, 3] that are usual along the side."""
        return np.asarray(np.median(self.seen, axis=0), dtype=np.float32)


def _side(planes: Profile, start: Floats, end: Floats, side_mm: float) -> _Side | None:
    """A side looked at across its strongest line; None where the colour does not change."""
    length = float(np.hypot(*(end - start)))
    reach = float(np.clip(_REACH_MM * length / side_mm, _LEAST_PX, _MOST_PX))
    for _ in range(2):
        ends = _strongest(_across(planes, start, end, reach), 0.45 * reach)
        if ends is None:
            return None
        start, end = _moved(start, end, ends)
    return _Side(_across(planes, start, end, reach), start, end, length / side_mm)


def _along_its_edge(planes: Profile, side: _Side) -> _Side:
    """The side looked at along its edge: the strongest line may run from the edge to a shadow's."""
    fit = unexplained(side.profile, side.per_mm, BLURS[_MIDDLING])
    index = int(np.argmin(fit.residual))
    depth = _by_segment(side, fit.places[index], fit.appearances[index], _WIDE_PX)
    slope, middle = np.polyfit(_PARTS - 0.5, depth, 1)
    start, end = _moved(side.start, side.end, (middle - 0.4 * slope, middle + 0.4 * slope))
    reach = (side.seen.shape[1] // 2) * STEP
    return _Side(_across(planes, start, end, reach), start, end, side.per_mm)


def _across(planes: Profile, start: Floats, end: Floats, reach: float) -> Profile:
    """Colours [segments, depths, 3] across the middle of a side, from outside to inside."""
    import cv2

    place = _PLACES[:, None, None]
    depth = _depths(reach)[None, :, None]
    at = start + place * (end - start) + depth * _inward(start, end)
    x, y = (
        np.ascontiguousarray(at[..., 0], np.float32),
        np.ascontiguousarray(at[..., 1], np.float32),
    )
    seen = cv2.remap(planes, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    parts = seen.reshape(_SEGMENTS, _LINES, -1, 3).mean(axis=1)
    return np.asarray(parts, dtype=np.float32)


def _depths(reach: float) -> Floats:
    count = int(reach / STEP)
    return np.asarray(np.arange(-count, count + 1) * STEP, dtype=np.float64)


def _inward(start: Floats, end: Floats) -> Floats:
    along = (end - start) / np.hypot(*(end - start))
    return np.array([-along[1], along[0]])


def _moved(start: Floats, end: Floats, by: tuple[float, float]) -> tuple[Floats, Floats]:
    """The corners moved inwards so that the line through the side's first and last part moves by so
    much there."""
    slope = (by[1] - by[0]) / 0.8
    inward = _inward(start, end)
    return start + (by[0] - 0.1 * slope) * inward, end + (by[1] + 0.1 * slope) * inward


def _strongest(seen: Profile, most: float) -> tuple[float, float] | None:
    """Depths, px, of the line along which the colour changes most, at both ends of the side."""
    change = np.gradient(seen, axis=1) / STEP
    count = seen.shape[1] // 2
    tries = np.arange(-int(most / STEP), int(most / STEP) + 1)
    first, last = (part.ravel() for part in np.meshgrid(tries, tries))
    part = (np.arange(_SEGMENTS) + 0.5) / _SEGMENTS
    at = np.rint(first[:, None] * (1 - part) + last[:, None] * part).astype(int) + count
    steps = np.linalg.norm(change[np.arange(_SEGMENTS), at], axis=2)
    strength = np.median(steps, axis=1)
    best = int(np.argmax(strength))
    if strength[best] < _FAINT:
        return None
    return float(first[best] * STEP), float(last[best] * STEP)


def _fitted(side: _Side, fit: EdgeFit) -> list[Edge]:
    """Edges where the model of card, table and shadow fits best."""
    found = []
    for index in _dips(fit.residual, fit.places):
        weight = float((fit.residual.min() / fit.residual[index]) ** (_EVIDENCE / 2))
        if weight > _LEAST_WEIGHT:
            depth = _by_segment(side, fit.places[index], fit.appearances[index], _NARROW_PX)
            found.append(_edge(depth, side, weight))
    return sorted(found, key=lambda edge: -edge.weight)


def _dips(residual: Floats, places: Floats) -> list[int]:
    """Local minima, the deepest first, not near a deeper one."""
    chosen: list[int] = []
    for index in np.argsort(residual, kind="stable").tolist():
        low, high = max(0, index - 1), index + 2
        if residual[index] > residual[low:high].min():
            continue
        if all(abs(places[index] - places[other]) > _APART_PX for other in chosen):
            chosen.append(index)
    return chosen[:4]


def _by_segment(side: _Side, place: float, appearance: EdgeAppearance, around: float) -> Floats:
    """Depth of the edge in every part of the side, px, not more than `around` from one place."""
    tries = place + np.arange(-around, around + 0.01, 0.25)
    inside = depths_of(side.seen[0])[None, :] - tries[:, None]
    found = []
    for part in side.seen:
        residual = residuals(
            part,
            inside,
            appearance.blur,
            appearance.shadow,
            np.array([appearance.dark]),
            side.per_mm,
        )[0]
        k = int(np.clip(residual.argmin(), 1, len(tries) - 2))
        curvature = residual[k - 1] - 2 * residual[k] + residual[k + 1]
        rest = 0.5 * (residual[k - 1] - residual[k + 1]) / curvature if curvature > 0 else 0.0
        found.append(tries[k] + 0.25 * float(np.clip(rest, -1, 1)))
    return np.array(found)


def _edge(depth: Floats, side: _Side, weight: float) -> Edge:
    way = side.end - side.start
    points = side.start + _PARTS[:, None] * way + depth[:, None] * _inward(side.start, side.end)
    line = straight(points)
    off = np.abs(points @ line[:2] + line[2])
    return Edge(line, float(np.median(off)) * 1.48, weight)


def straight(points: Floats) -> Floats:
    """The line [3] with a unit normal through points, far ones counting less (Huber weights)."""
    weight = np.ones(len(points))
    line = np.zeros(3)
    for _ in range(6):
        middle = (points * weight[:, None]).sum(axis=0) / weight.sum()
        rest = (points - middle) * np.sqrt(weight)[:, None]
        normal = np.linalg.svd(rest.T @ rest)[0][:, 1]
        line = np.array([normal[0], normal[1], -normal @ middle])
        off = np.abs(points @ normal + line[2])
        limit = max(1.5 * float(np.median(off)), 0.15)
        weight = np.minimum(1.0, limit / (off + 1e-9))
    return line
