"""The scale of a swatch photo: points given by hand, the camera that saw a card, and the scale."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import message
from pic2chart.picture.decode import Picture
from pic2chart.reading.card import CARD_MM, Card, find_cards, size_by
from pic2chart.reading.lattice import projected
from pic2chart.reading.perspective import Floats
from pic2chart.reading.reading_settings import GaugeSettings

# Points that a person gives by hand, in pixels of the photo.


def points(text: str, count: int, name: str) -> Floats:
    """Read `count` points 'x,y,x,y,…' as float [count, 2]; `name` is the option they were given by."""
    parts = re.split(r"[\s,;]+", text.strip())
    if len(parts) != 2 * count or not all(
        re.fullmatch(r"\d{1,6}(\.\d{1,3})?", p, re.A) for p in parts
    ):
        raise SettingError(
            message("not-points", text=text[:80], numbers=2 * count, points=count, options=(name,))
        )
    return np.array([float(p) for p in parts]).reshape(count, 2)


def four_corners(text: str, name: str) -> Floats:
    """Four corners of a convex figure, clockwise from the top left, float [4, 2]."""
    corners = points(text, 4, name)
    along = np.roll(corners, -1, axis=0) - corners
    after = np.roll(along, -1, axis=0)
    turns = along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0]
    if not (turns > 1).all():
        raise SettingError(message("not-clockwise", text=text[:80], options=(name,)))
    return corners


# The camera that saw a card: where the table lies in a photo, and how surely away from the card.
#
# Four corners allow more than a camera can do, and what they are off by grows with the distance from
# the card. A pinhole camera with its optical axis near the middle of the photo (Hartley & Zisserman,
# *Multiple View Geometry*, ch. 6 and 8) is therefore fitted to them, weighing how far corners are
# found off and which focal lengths and centres are usual.

_FOCAL, _FOCAL_SPREAD = 1.2, 0.6
"""Usual focal length over the longer side of the photo, and the spread of its logarithm: phones have
0.7 to 2, and more when zoomed in (common practice)."""
_CENTRE_SPREAD = 0.02
"""How far the optical axis is off the middle, over the longer side: phones keep it within 1 %
(from memory)."""
_TILT_SPREAD = 15.0
"""Degrees off the upright at which photos of swatches are usually taken, for weighing one card
against another (assumed)."""
_STEPS = 60
_PART = 0.01
"""Steps are small, since the focal length and the distance make up for each other only then."""


@dataclass(frozen=True, slots=True, eq=False)
class Camera:
    """`to_mm`: homography 3×3 from photo pixels to mm on the table; `off`: how far the corners lie
    from where the camera sees them, px (root mean square); `tilt`: of the table against the photo,
    degrees; `unlikely`: minus the logarithm of how likely such a photo is; `others`: homographies [n, 3, 3]
    away by a small share, _PART, of a standard deviation in independent ways."""

    to_mm: Floats
    off: float
    tilt: float
    unlikely: float
    others: Floats

    def uncertainty_at(self, place: Floats) -> float:
        """Relative uncertainty of lengths at a place (x, y) on the table, mm."""
        marks = place + np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]])
        seen = projected(np.asarray(np.linalg.inv(self.to_mm)), marks)
        total = np.zeros(2)
        for other in self.others:
            moved = projected(other, seen)
            total += (np.linalg.norm(moved[1:] - moved[0], axis=1) / 10 - 1) ** 2
        return float(np.sqrt(total.max())) / _PART


def fit_camera(
    corners: Floats, size_mm: tuple[float, float], shape: tuple[int, ...], off_px: float
) -> Camera:
    """The likeliest camera that sees a rectangle's corners [4, 2] so in a photo of `shape`.

    `corners`: clockwise, the first side `size_mm[0]` long; the table's (0, 0) mm is the first of
    them. `off_px`: how far they are usually found off, standard deviation.
    """
    from scipy.optimize import least_squares

    unit, middle = float(max(shape[:2])), np.array([shape[1], shape[0]]) / 2
    table = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * np.array(size_mm) / 2
    seen = (corners + 0.5 - middle) / unit

    def off(values: Floats) -> Floats:
        apart = (projected(_seen_from(values), table) - seen) * unit / off_px
        usual = [(values[6] - np.log(_FOCAL)) / _FOCAL_SPREAD, *(values[7:] / _CENTRE_SPREAD)]
        return np.concatenate([apart.ravel(), usual])

    tried = [
        least_squares(off, start, x_scale="jac", max_nfev=_STEPS) for start in _starts(table, seen)
    ]
    best = min(tried, key=lambda one: float(one.cost))
    residual = off_px * float(np.sqrt((best.fun[:8] ** 2).mean()))
    to_photo = np.array([[unit, 0, middle[0] - 0.5], [0, unit, middle[1] - 0.5], [0, 0, 1]])
    to_card = np.array([[1, 0, size_mm[0] / 2], [0, 1, size_mm[1] / 2], [0, 0, 1]])

    def to_mm(values: Floats) -> Floats:
        return np.asarray(to_card @ np.linalg.inv(to_photo @ _seen_from(values)))

    # Eleven numbers are fitted with nine: twice the cost over two is how much worse than usual it is.
    steps = _PART * _deviations(best.jac) * max(1.0, float(np.sqrt(best.cost)))
    others = np.array([to_mm(best.x + step) for step in steps])
    tilt = _tilt(best.x)
    unlikely = float(best.cost) + 0.5 * (tilt / _TILT_SPREAD) ** 2
    return Camera(to_mm(best.x), residual, tilt, unlikely, others)


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


# The scale of a swatch photo: from a card that is found or marked, or from a marked length.

MARK_PX, _FOUND_PX = 1.5, 0.2
"""How far corners and ends lie off that are marked by hand, and corners that are found."""
_LENGTH_UNCERTAINTY = 0.01
"""A length says nothing of the angle; held by hand, 8° off: 1 - cos 8°."""
_MOST_OFF = 0.006
"""Off a card's shape, over its shorter side, that is no card's."""
_ALIKE = 0.05
_GAME_CARD_MM = (88.0, 63.0)
"""A usual size of playing and collecting cards (common practice)."""
_LEANING, _LIKELIER = 15.0, 1.0
"""A game card passes for a bank card when the photo seems to lean by more; and how much likelier it
must be."""


@dataclass(frozen=True, slots=True, eq=False)
class Scale:
    """`to_mm`: homography 3×3 from the photo's pixels to mm; `card`: corners [4, 2] of the card if it
    comes from one; `camera` likewise; `length_uncertainty`: relative, of the
    marked length or of the card's sides."""

    to_mm: Floats
    card: Floats | None = None
    camera: Camera | None = None
    length_uncertainty: float = 0.0

    @property
    def source(self) -> str:
        """`card` or `length`."""
        return "length" if self.camera is None else "card"

    def uncertainty_at(self, place: Floats) -> float:
        """Relative uncertainty of lengths at a place (x, y) in mm."""
        away = 0.0 if self.camera is None else self.camera.uncertainty_at(place)
        return float(np.hypot(self.length_uncertainty, away))


def find_scale(photo: Picture, settings: GaugeSettings) -> Scale:
    """The scale that is marked, or that of the card in the photo.

    Raises InputError when there is no card, several that differ, or one that no camera sees so;
    SettingError when marks lie outside the photo.
    """
    if settings.between is not None:
        ends = points_in(settings.between, 2, "between", photo)
        length = float(np.hypot(*(ends[1] - ends[0])))
        if length < 50:
            raise SettingError(message("between-too-short", least=50, options=("between",)))
        assert settings.cm is not None
        scale = settings.cm * 10 / length
        return Scale(
            np.diag([scale, scale, 1.0]), length_uncertainty=MARK_PX / length + _LENGTH_UNCERTAINTY
        )
    if settings.card is not None:
        corners = _inside(four_corners(settings.card, "card"), photo, "card")
        return _by_card(Card(corners, 0.0), photo, MARK_PX)
    cards = find_cards(photo.rgb)
    if not cards:
        raise InputError(message("no-card", file=photo.name, options=("card", "between", "cm")))
    if any(size_by(cards[0], other) > _ALIKE for other in cards[1:]):
        raise InputError(message("two-cards", file=photo.name, options=("card",)))
    found = _by_card(cards[0], photo, max(cards[0].off, _FOUND_PX))
    _refuse_game_card(found, photo, max(cards[0].off, _FOUND_PX))
    return found


def _refuse_game_card(scale: Scale, photo: Picture, off_px: float) -> None:
    """Refuse a card that is likelier one of another size: seen straight on, not a leaning bank card."""
    camera = scale.camera
    assert camera is not None
    assert scale.card is not None
    if camera.tilt < _LEANING:
        return
    other = fit_camera(scale.card, _GAME_CARD_MM, photo.rgb.shape, off_px)
    if other.unlikely + _LIKELIER < camera.unlikely:
        raise InputError(message("game-card", file=photo.name, options=("between", "cm")))


def _by_card(card: Card, photo: Picture, off_px: float) -> Scale:
    camera = fit_camera(card.corners, CARD_MM, photo.rgb.shape, off_px)
    off = camera.off / card.shorter
    if off > _MOST_OFF:
        raise InputError(message("bad-card", file=photo.name, off=off, options=("card",)))
    return Scale(camera.to_mm, card.corners, camera, card.rival)


def points_in(text: str, count: int, name: str, photo: Picture) -> Floats:
    """Points [count, 2] given in pixels of the file, in those of the photo as loaded."""
    return _inside(points(text, count, name), photo, name)


def _inside(marks: Floats, photo: Picture, name: str) -> Floats:
    """Marks in pixels of the file → of the photo as loaded."""
    width, height = photo.size
    if (marks > [width, height]).any():
        raise SettingError(message("outside-photo", width=width, height=height, options=(name,)))
    return np.asarray((marks + 0.5) * photo.scale - 0.5)
