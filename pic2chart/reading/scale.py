"""The scale of a swatch photo: from a card that is found or marked, or from a marked length."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pic2chart.errors import InputError, SettingError
from pic2chart.picture import Picture
from pic2chart.reading.camera import Camera, fit_camera
from pic2chart.reading.card import CARD_MM, Card, size_by
from pic2chart.reading.card_search import find_cards
from pic2chart.reading.gauge_settings import GaugeSettings
from pic2chart.reading.perspective import Floats
from pic2chart.reading.points import four_corners, points

_MARK_PX, _FOUND_PX = 1.5, 0.2
"""How far corners and ends lie off that are marked by hand, and corners that are found."""
_LENGTH_DOUBT = 0.01
"""A length says nothing of the angle; held by hand, 8° off: 1 - cos 8°."""
_MOST_OFF = 0.006
"""Off a card's shape, over its shorter side, that is no card's."""
_ALIKE = 0.05

NO_CARD = (
    "No card is found in '{name}'. Lay a bank or library card (85.6 × 54 mm) flat beside the swatch, "
    "all of it in view on a ground of another colour, or mark it with --card, or a length with "
    "--between and --cm."
)
BAD_CARD = (
    "The sides of the card in '{name}' are {off:.1%} off a card's shape. Give the photo as it was "
    "taken, not cut, with the card flat and no hard shadow beside it, or mark the card with --card."
)
TWO_CARDS = (
    "'{name}' shows two things of a card's shape and of different sizes; take away all but the bank or "
    "library card, or mark it with --card."
)


@dataclass(frozen=True, slots=True, eq=False)
class Scale:
    """`to_mm`: homography 3×3 from the photo's pixels to mm; `card`: corners [4, 2] of the card if it
    comes from one; `camera` likewise; `length_doubt`: relative, of the
    marked length or of the card's sides."""

    to_mm: Floats
    card: Floats | None = None
    camera: Camera | None = None
    length_doubt: float = 0.0

    @property
    def source(self) -> str:
        """`card` or `length`."""
        return "length" if self.camera is None else "card"

    def doubt_at(self, place: Floats) -> float:
        """Relative uncertainty of lengths at a place (x, y) in mm."""
        away = 0.0 if self.camera is None else self.camera.doubt_at(place)
        return float(np.hypot(self.length_doubt, away))


def find_scale(photo: Picture, asked: GaugeSettings) -> Scale:
    """The scale that is marked, or that of the card in the photo.

    Raises InputError when there is no card, several that differ, or one that no camera sees so;
    SettingError when marks lie outside the photo.
    """
    if asked.between is not None:
        ends = _inside(points(asked.between, 2, "--between"), photo, "--between")
        length = float(np.hypot(*(ends[1] - ends[0])))
        if length < 50:
            raise SettingError("--between marks less than 50 pixels; mark a longer distance.")
        assert asked.cm is not None
        scale = asked.cm * 10 / length
        return Scale(np.diag([scale, scale, 1.0]), length_doubt=_MARK_PX / length + _LENGTH_DOUBT)
    if asked.card is not None:
        corners = _inside(four_corners(asked.card, "--card"), photo, "--card")
        return _by_card(Card(corners, 0.0), photo, _MARK_PX)
    cards = find_cards(photo.rgb)
    if not cards:
        raise InputError(NO_CARD.format(name=photo.name))
    if any(size_by(cards[0], other) > _ALIKE for other in cards[1:]):
        raise InputError(TWO_CARDS.format(name=photo.name))
    return _by_card(cards[0], photo, max(cards[0].off, _FOUND_PX))


def _by_card(card: Card, photo: Picture, off_px: float) -> Scale:
    camera = fit_camera(card.corners, CARD_MM, photo.rgb.shape, off_px)
    off = camera.off / card.shorter
    if off > _MOST_OFF:
        raise InputError(BAD_CARD.format(name=photo.name, off=off))
    return Scale(camera.to_mm, card.corners, camera, card.rival)


def _inside(marks: Floats, photo: Picture, name: str) -> Floats:
    """Marks in pixels of the file → of the photo as loaded."""
    width, height = photo.size
    if (marks > [width, height]).any():
        raise SettingError(
            f"{name} reaches outside the photo, which is {width} pixels wide and {height} high."
        )
    return np.asarray((marks + 0.5) * photo.scale - 0.5)
