"""The camera that saw a card, a coin or a ruler: where the table lies, and how surely away from it.

Four corners allow more than a camera can do, and what they are off by grows with the distance from
the card. A pinhole camera with its optical axis near the middle of the photo (Hartley & Zisserman,
*Multiple View Geometry*, ch. 6 and 8) is therefore fitted to them, weighing how far corners are
found off and which focal lengths and centres are usual. A coin off the middle is seen round by
a camera above the table and oval by one that leans, so that its edge tells the lean as well; ticks
of a ruler run together towards a vanishing point by one that leans across it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pic2chart.reading.lattice import projected
from pic2chart.reading.perspective import Floats

_FOCAL, _FOCAL_SPREAD = 1.2, 0.6
"""Usual focal length over the longer side of the photo, and the spread of its logarithm: phones have
0.7 to 2, and more when zoomed in (common practice)."""
_CENTRE_SPREAD = 0.02
"""How far the optical axis is off the middle, over the longer side: phones keep it within 1%
(from memory)."""
_TILT_SPREAD = 15.0
"""Degrees off the upright at which photos of swatches are usually taken, for weighing one card
against another (assumed)."""
_ABOVE_SPREAD = 6.0
"""The same for photos with a coin or a ruler, which are asked to be taken straight from above (assumed)."""
_FOCAL_NODES = ((-np.sqrt(3), 1 / 6), (0.0, 2 / 3), (np.sqrt(3), 1 / 6))
"""Focal lengths that stand for all, in spreads, and their weights (Gauss-Hermite quadrature)."""
_MOST_LEAN, _LEAN_STEP = 21.0, 0.75
_NEGLIGIBLE = 1e-6
_STEPS = 60
_PART = 0.01
"""Steps are small, since the focal length and the distance make up for each other only then."""


@dataclass(frozen=True, slots=True, eq=False)
class Camera:
    """`to_mm`: homography 3×3 from photo pixels to mm on the table; `off`: how far the corners lie
    from where the camera sees them, px (root mean square); `tilt`: of the table against the photo,
    degrees; `unlikely`: minus the logarithm of how likely such a photo is; `others`: homographies [n, 3, 3]
    that may be true instead, and `weights` [n]: what is off by each counts so much, squared."""

    to_mm: Floats
    off: float
    tilt: float
    unlikely: float
    others: Floats
    weights: Floats

    def uncertainty_at(self, place: Floats) -> float:
        """Relative uncertainty of lengths at a place (x, y) on the table, mm."""
        marks = place + np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]])
        seen = projected(np.asarray(np.linalg.inv(self.to_mm)), marks)
        moved = np.column_stack([seen, np.ones(3)]) @ self.others.transpose(0, 2, 1)
        flat = moved[..., :2] / moved[..., 2:]
        off = np.linalg.norm(flat[:, 1:] - flat[:, :1], axis=2) / 10 - 1
        return float(np.sqrt((self.weights @ off**2).max()))


def fit_camera(
    corners: Floats, size_mm: tuple[float, float], shape: tuple[int, ...], off_px: float
) -> Camera:
    """The likeliest camera that sees a rectangle's corners [4, 2] so in a photo of `shape`.

    `corners`: clockwise, the first side `size_mm[0]` long; the table's (0, 0) mm is the first of
    them. `off_px`: how far they are usually found off, standard deviation.
    """
    from scipy.optimize import least_squares

    photo = _Photo.of(shape)
    table = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * np.array(size_mm) / 2
    seen = photo.seen(corners)

    def off(values: Floats) -> Floats:
        apart = (projected(_seen_from(values), table) - seen) * photo.unit / off_px
        return np.concatenate([apart.ravel(), _usual(values)])

    tried = [
        least_squares(off, start, x_scale="jac", max_nfev=_STEPS) for start in _starts(table, seen)
    ]
    best = min(tried, key=lambda one: float(one.cost))
    residual = off_px * float(np.sqrt((best.fun[:8] ** 2).mean()))
    first = np.array([[1, 0, size_mm[0] / 2], [0, 1, size_mm[1] / 2], [0, 0, 1]])
    # Eleven numbers are fitted with nine: twice the cost over two is how much worse than usual it is.
    steps = _deviations(best.jac) * max(1.0, float(np.sqrt(best.cost)))
    return _camera(photo, best.x, steps, first, residual, best.cost)


def fit_camera_to_coin(
    outline: Floats, diameter: float, shape: tuple[int, ...], off_px: float
) -> Camera:
    """The mean of all cameras that may see points [points, 2] of a coin's edge so in a photo of `shape`.

    Two cameras that lean to opposite sides see the same oval, and one above the table nearly so: each is
    tried at every lean, and weighed. The table's (0, 0) mm is the coin's middle. `off_px`: how far the
    edge is usually found off on one side, standard deviation.
    """
    photo = _Photo.of(shape)
    seen = photo.seen(outline)
    radius = float(np.linalg.norm(seen - seen.mean(axis=0), axis=1).mean())
    # Points of an ellipse tell no more than its five numbers.
    worth = radius * photo.unit / off_px * np.sqrt(5 / len(seen))
    leans = _leans()
    views, unlikely = [], []
    for away, weight in _FOCAL_NODES:
        focal = _FOCAL * np.exp(away * _FOCAL_SPREAD)
        homographies, off = _upright(leans, np.diag([1 / focal, 1 / focal, 1]), seen, diameter)
        views.append(homographies @ np.linalg.inv(photo.pixels))
        unlikely.append(0.5 * ((off * worth) ** 2).sum(axis=1) - np.log(weight))
    degrees = np.hypot(leans[:, 0], leans[:, 1])
    cost = np.concatenate(unlikely) + np.tile(0.5 * (degrees / _ABOVE_SPREAD) ** 2, len(views))
    every = np.concatenate(views)
    weights = np.exp(cost.min() - cost)
    kept = weights > _NEGLIGIBLE
    weights = weights[kept] / weights[kept].sum()
    # Taken alike at the coin, homographies can be averaged: there they agree.
    every = every[kept] / (every[kept] @ np.append(outline.mean(axis=0), 1.0))[:, 2][:, None, None]
    tilt = float(weights @ np.tile(degrees, len(views))[kept])
    to_mm = np.asarray(np.tensordot(weights, every, axes=1))
    best = np.argmin(cost)
    residual = float(np.sqrt(2 * max(0.0, cost[best]) / len(seen))) / worth * radius * photo.unit
    return Camera(to_mm, residual, tilt, float(cost[best]), every, weights)


def _leans() -> Floats:
    """Leans [leans, 2] of a photo about its two sides, degrees."""
    steps = np.arange(-_MOST_LEAN, _MOST_LEAN + 0.1, _LEAN_STEP)
    grid = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    return np.asarray(grid[np.hypot(grid[:, 0], grid[:, 1]) <= _MOST_LEAN])


def _upright(leans: Floats, lens: Floats, seen: Floats, diameter: float) -> tuple[Floats, Floats]:
    """For every lean the homography [leans, 3, 3] from the photo, in shares, to mm about a coin's middle,
    and how far points [points, 2] of its edge lie off a circle there, relative [leans, points].

    `lens`: 3×3, from shares of the photo to rays.
    """
    import cv2

    turned = np.array([cv2.Rodrigues(np.radians([x, y, 0.0]))[0].T for x, y in leans]) @ lens
    rays = np.column_stack([seen, np.ones(len(seen))]) @ turned.transpose(0, 2, 1)
    flat = rays[..., :2] / rays[..., 2:]
    middle = flat.mean(axis=1, keepdims=True)
    flat = flat - middle
    # The circle of least squares: |p|² = 2 p·c + k, which is linear in c and k.
    terms = np.concatenate([2 * flat, np.ones((*flat.shape[:2], 1))], axis=2)
    across = terms.transpose(0, 2, 1)
    found = np.linalg.solve(across @ terms, across @ (flat**2).sum(axis=2)[..., None])[..., 0]
    radius = np.sqrt(found[:, 2] + (found[:, :2] ** 2).sum(axis=1))
    off = np.linalg.norm(flat - found[:, None, :2], axis=2) / radius[:, None] - 1
    mm = diameter / 2 / radius
    to_mm = np.tile(np.eye(3), (len(leans), 1, 1)) * np.stack([mm, mm, mm**0], axis=1)[:, None]
    to_mm[:, :2, 2] = -mm[:, None] * (found[:, :2] + middle[:, 0])
    return to_mm @ turned, off


def fit_camera_to_ruler(
    ticks: Floats, seen: Floats, shape: tuple[int, ...], off_px: float
) -> Camera:
    """The likeliest camera that sees ticks of a ruler so in a photo of `shape`.

    `ticks`: float [rows, places, 2], mm along and across, one place along in every row; the middle row
    lies on the table's y = 0, the others only roughly at their y. `seen`: the same in pixels. `off_px`:
    how far a row is usually found off, standard deviation.
    """
    from scipy.optimize import least_squares

    photo = _Photo.of(shape)
    middle_row = len(ticks) // 2
    span = seen[middle_row, -1] - seen[middle_row, 0]
    cos, sin = span / np.hypot(*span)
    level = np.array([[cos, sin], [-sin, cos]])
    places = photo.seen(seen) @ level.T
    length = float(ticks[middle_row, -1, 0] - ticks[middle_row, 0, 0])
    # A row of ticks tells no more than three numbers: where it is, its scale and how that changes.
    worth = float(np.hypot(*span)) / length / off_px * np.sqrt(3 / ticks.shape[1])

    def off(values: Floats) -> Floats:
        back = np.asarray(np.linalg.inv(_seen_from(values)))
        table = projected(back, places.reshape(-1, 2)).reshape(ticks.shape)
        along = (table[..., 0] - ticks[..., 0]).ravel() * worth
        leaning = values[:2] / np.radians(_ABOVE_SPREAD)
        return np.concatenate([along, table[middle_row, :, 1] * worth, leaning, _usual(values)])

    unit = float(np.hypot(*span)) / photo.unit / length
    away = _FOCAL / unit
    start = np.array([0, 0, 0, *places.mean(axis=(0, 1)) / unit, away, np.log(_FOCAL), 0, 0])
    best = least_squares(off, start, x_scale="jac", max_nfev=_STEPS)
    residual = off_px * float(np.sqrt((best.fun[: ticks[..., 0].size] ** 2).mean()))
    found = _camera(photo, best.x, _deviations(best.jac), np.eye(3), residual, best.cost)
    turned = photo.pixels @ _homogeneous(level) @ np.linalg.inv(photo.pixels)
    return replace(found, to_mm=found.to_mm @ turned, others=found.others @ turned)


def _homogeneous(turn: Floats) -> Floats:
    whole = np.eye(3)
    whole[:2, :2] = turn
    return whole


@dataclass(frozen=True, slots=True, eq=False)
class _Photo:
    """A photo's longer side and its middle, px."""

    unit: float
    middle: Floats

    @classmethod
    def of(cls, shape: tuple[int, ...]) -> _Photo:
        return cls(float(max(shape[:2])), np.array([shape[1], shape[0]]) / 2)

    def seen(self, places: Floats) -> Floats:
        """Pixels as shares of the longer side about the middle."""
        return np.asarray((places + 0.5 - self.middle) / self.unit)

    @property
    def pixels(self) -> Floats:
        """Homography from those shares to pixels."""
        x, y = self.middle - 0.5
        return np.array([[self.unit, 0, x], [0, self.unit, y], [0, 0, 1]])


def _usual(values: Floats) -> list[float]:
    """How far the focal length and the centre are from usual ones, in standard deviations."""
    return [(values[6] - np.log(_FOCAL)) / _FOCAL_SPREAD, *(values[7:] / _CENTRE_SPREAD)]


def _camera(
    photo: _Photo, values: Floats, steps: Floats, first: Floats, residual: float, cost: float
) -> Camera:
    """The camera of fitted values; `first` moves the table's (0, 0)."""

    def to_mm(values: Floats) -> Floats:
        return np.asarray(first @ np.linalg.inv(photo.pixels @ _seen_from(values)))

    others = np.array([to_mm(values + _PART * step) for step in steps])
    tilt = _tilt(values)
    unlikely = float(cost) + 0.5 * (tilt / _TILT_SPREAD) ** 2
    # Small steps stand for whole ones.
    weights = np.full(len(others), _PART**-2)
    return Camera(to_mm(values), residual, tilt, unlikely, others, weights)


def _tilt(values: Floats) -> float:
    import cv2

    return float(np.degrees(np.arccos(min(1.0, abs(cv2.Rodrigues(values[:3])[0][2, 2])))))


def _seen_from(values: Floats) -> Floats:
    """Homography from the table, mm about the card's middle, to the photo in units of its long side.

    `values`: turn (3), place in mm (3), logarithm of the focal length, optical centre (2).
    """
    import cv2

    turn = cv2.Rodrigues(values[:3])[0]
    focal = np.exp(values[6])
    lens = np.array([[focal, 0, values[7]], [0, focal, values[8]], [0, 0, 1]])
    return np.asarray(lens @ np.column_stack([turn[:, 0], turn[:, 1], values[3:6]]))


def _starts(table: Floats, seen: Floats) -> list[Floats]:
    """Cameras of the usual focal length that see the corners so; a card may lean either way."""
    import cv2

    lens = np.diag([_FOCAL, _FOCAL, 1.0])
    _, turns, places, _ = cv2.solvePnPGeneric(
        np.pad(table, ((0, 0), (0, 1))), seen, lens, None, flags=cv2.SOLVEPNP_IPPE
    )
    return [
        np.concatenate([turn.ravel(), place.ravel(), [np.log(_FOCAL), 0.0, 0.0]])
        for turn, place in zip(turns, places, strict=True)
    ]


def _deviations(jacobian: Floats) -> Floats:
    """Independent steps of one standard deviation, rows [values, values]."""
    _, sizes, ways = np.linalg.svd(jacobian, full_matrices=False)
    return np.asarray(ways / sizes[:, None])
