"""The scale of a swatch photo: points given by hand, the camera that saw a card, and the scale."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

import numpy as np

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import message
from pic2chart.picture.decode import Picture
from pic2chart.reading.card import CARD_MM, Card, find_cards, size_by
from pic2chart.reading.coin import Coin, find_coins
from pic2chart.reading.perspective import Floats
from pic2chart.reading.pinhole import (
    Camera,
    fit_camera,
    fit_camera_to_coin,
    fit_camera_to_ruler,
)
from pic2chart.reading.reading_settings import GaugeSettings
from pic2chart.reading.ruler import Ruler, find_ruler

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


# The scale of a swatch photo: from a card that is found or marked, or from a marked length.

MARK_PX, _FOUND_PX = 1.5, 0.2
"""How far corners and ends lie off that are marked by hand, and corners that are found."""
_LENGTH_UNCERTAINTY = 0.01
"""A length says nothing of the angle; held by hand, 8° off: 1 - cos 8°."""
_MOST_OFF = 0.006
"""Off a card's shape, over its shorter side, that is no card's."""
_ALIKE = 0.05
_COIN_PX, _COIN_OFF = 0.3, 0.008
"""How far a coin's edge is found off on one side, px; and off all around, relative: its face lies some
2 mm above the table, and its shadow touches it (measured)."""
_COIN_WIDE, _COIN_UNSURE = 1.5, 0.04
"""What is stated over the deviation of all leans that its edge allows, since two opposite ones may be as
likely; and what is stated, so far away, from which it is refused."""
_RULER_PX, _RULER_STRAY, _RULER_OFF = 0.1, 4.0, 0.005
"""How far ticks of a ruler are found off, px; over how far groups of them stray (measured); and off in
all, relative: they lie up to 2 mm above the table, some 40 cm from the camera."""
_MOST_UNSURE, _AROUND_MM = 0.03, 80.0
"""Relative uncertainty of the scale, so far from a ruler, from which it is refused."""
_GAME_CARD_MM = (88.0, 63.0)
"""A usual size of playing and collecting cards (common practice)."""
_LEANING, _LIKELIER = 15.0, 1.0
"""A game card passes for a bank card when the photo seems to lean by more; and how much likelier it
must be."""


@dataclass(frozen=True, slots=True, eq=False)
class Scale:
    """`to_mm`: homography 3×3 from the photo's pixels to mm; `card`: corners [4, 2] of the card if it
    comes from one, `coin` and `ruler` likewise; `camera`: what saw either; `length_uncertainty`: relative, of what
    was measured."""

    to_mm: Floats
    card: Floats | None = None
    camera: Camera | None = None
    length_uncertainty: float = 0.0
    coin: Coin | None = None
    ruler: Ruler | None = None

    @property
    def source(self) -> str:
        """`card`, `coin`, `ruler` or `length`."""
        if self.coin is not None:
            return "coin"
        if self.ruler is not None:
            return "ruler"
        return "length" if self.camera is None else "card"

    @property
    def covered(self) -> Floats | None:
        """Outline [points, 2] of the thing that lies beside the swatch."""
        beside = self.coin or self.ruler
        return self.card if beside is None else beside.outline

    def uncertainty_at(self, place: Floats) -> float:
        """Relative uncertainty of lengths at a place (x, y) in mm."""
        away = 0.0 if self.camera is None else self.camera.uncertainty_at(place)
        return float(np.hypot(self.length_uncertainty, away))


def find_scale(photo: Picture, settings: GaugeSettings) -> Scale:
    """The scale that is marked, or that of the card, coin or ruler in the photo.

    Raises InputError when there is none, several that differ, or one that no camera sees so, or that
    leans too much; SettingError when marks lie outside the photo.
    """
    if settings.coin_mm is not None:
        return _by_coin(photo, settings.coin_mm)
    if settings.ruler:
        return _by_ruler(photo)
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
        raise InputError(
            message("no-card", file=photo.name, options=("card", "between", "cm", "ruler"))
        )
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


def _by_coin(photo: Picture, diameter: float) -> Scale:
    """The scale of the one coin in the photo; refused where it leaves open how the photo leans."""
    coins = find_coins(photo.rgb)
    if not coins:
        raise InputError(message("no-coin", file=photo.name, options=("between", "cm")))
    if len(coins) > 1:
        raise InputError(message("two-coins", file=photo.name, options=("between", "cm")))
    coin = coins[0]
    if not coin.clear:
        raise InputError(message("coin-unclear", file=photo.name, options=("between", "cm")))
    off = max(coin.off, _COIN_PX)
    camera = fit_camera_to_coin(coin.outline[::10], diameter, photo.rgb.shape, off)
    around = np.array([[1, 0], [0, 1], [-1, 0], [0, -1]]) * _AROUND_MM
    camera = replace(camera, weights=camera.weights * _COIN_WIDE**2)
    scale = Scale(camera.to_mm, camera=camera, length_uncertainty=_COIN_OFF, coin=coin)
    unsure = float(np.median([scale.uncertainty_at(place) for place in around]))
    if unsure > _COIN_UNSURE:
        raise InputError(message("coin-leans", file=photo.name, share=unsure))
    return scale


def _by_ruler(photo: Picture) -> Scale:
    """The scale of the ruler in the photo; its ticks run together where the photo leans."""
    ruler = find_ruler(photo.gray)
    if ruler is None:
        raise InputError(message("no-ruler", file=photo.name, options=("between", "cm")))
    seen = ruler.seen
    per_mm = float(np.hypot(*(seen[1, -1] - seen[1, 0])) / np.ptp(ruler.ends))
    off = max(_RULER_PX, _RULER_STRAY * ruler.off * per_mm)
    camera = fit_camera_to_ruler(ruler.places, seen, photo.rgb.shape, off)
    unsure = min(camera.uncertainty_at(np.array([0.0, away])) for away in (-_AROUND_MM, _AROUND_MM))
    if unsure > _MOST_UNSURE:
        raise InputError(message("ruler-leans", file=photo.name, share=unsure))
    return Scale(camera.to_mm, camera=camera, length_uncertainty=_RULER_OFF, ruler=ruler)


def points_in(text: str, count: int, name: str, photo: Picture) -> Floats:
    """Points [count, 2] given in pixels of the file, in those of the photo as loaded."""
    return _inside(points(text, count, name), photo, name)


def _inside(marks: Floats, photo: Picture, name: str) -> Floats:
    """Marks in pixels of the file → of the photo as loaded."""
    width, height = photo.size
    if (marks > [width, height]).any():
        raise SettingError(message("outside-photo", width=width, height=height, options=(name,)))
    return np.asarray((marks + 0.5) * photo.scale - 0.5)
