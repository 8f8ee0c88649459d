"""Cards in photos that are made here: their place beside all sorts of shadows, and the camera's.

Real photographs are not at hand.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from pic2chart.core.errors import InputError
from pic2chart.picture.decode import Box, Picture
from pic2chart.reading.card import CARD_MM as CARD
from pic2chart.reading.card import CORNER_MM, Card, find_cards
from pic2chart.reading.card_edge import _PARTS, _edge, _Side
from pic2chart.reading.lattice import projected
from pic2chart.reading.pinhole import fit_camera
from pic2chart.reading.reading_settings import GaugeSettings
from pic2chart.reading.scale import Scale, _refuse_game_card, find_scale
from tests.helpers.fabrics import CARD_MM, PER_MM, Shadow, Swatch, scene
from tests.helpers.gauge_trial import LEVELS
from tests.helpers.photograph import photograph

LENS = np.array([[1500, 0, 800], [0, 1500, 600], [0, 0, 1]], float)
TABLE = np.array([[0, 0, 0], [CARD[0], 0, 0], [*CARD, 0], [0, CARD[1], 0]])


def test_a_card_is_of_the_size_of_iso_7810():
    """ISO/IEC 7810, ID-1: 85.60 × 53.98 mm."""
    assert CARD == CARD_MM == (85.60, 53.98)


def test_a_card_s_corners_are_those_of_iso_7810():
    """ISO/IEC 7810: a radius of 2.88 to 3.48 mm; the middle of that."""
    assert pytest.approx((2.88 + 3.48) / 2, abs=1e-9) == CORNER_MM


def test_an_edge_strays_as_far_as_its_parts_do():
    """`stray` is a standard deviation: for normal errors 1.4826 times the median distance."""
    dice, sigma = np.random.default_rng(4), 0.4
    side = _Side(np.zeros((0, 0, 3), np.float32), np.array([100.0, 80]), np.array([900.0, 80]), 8.0)
    strays, scatter = [], []
    for _ in range(400):
        depth = dice.normal(2.0, sigma, len(_PARTS))
        edge = _edge(depth, side, 0.5)
        points = np.stack([100 + 800 * _PARTS, 80 + depth], axis=1)
        apart = points @ edge.line[:2] + edge.line[2]
        strays.append(edge.stray)
        scatter.append(1.4826 * np.median(np.abs(apart)))
        assert edge.weight == 0.5
    assert np.array(strays) == pytest.approx(np.array(scatter), rel=0.005)
    assert np.mean(strays) == pytest.approx(sigma, rel=0.15)


def sides_mm(card: Card, project: np.ndarray) -> np.ndarray:
    """Lengths of a card's sides on the page it was photographed from."""
    corners = projected(np.linalg.inv(project), card.corners) / PER_MM
    return np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)


@pytest.mark.parametrize("seed", range(3))
def test_the_card_is_found_to_parts_of_a_millimetre(seed):
    shot = replace(LEVELS["moderate"], size=(1600, 1200), fill=1.0, roll=9, seed=seed)
    photo, project = photograph(scene(Swatch(seed=seed)), shot)
    card, *others = find_cards(photo)
    assert not others
    assert sides_mm(card, project) == pytest.approx([*CARD_MM, *CARD_MM], abs=0.3)


SHADOWS = (
    Shadow((1.0, 0.6), 0.1, 0.4),
    Shadow((-0.8, 0.8), 0.1, 0.5),
    Shadow((0.4, -1.2), 0.3, 0.35),
    Shadow((1.5, 1.5), 0.8, 0.5),
    Shadow((0.0, 0.0), 1.2, 0.4),
    Shadow((0.0, 0.0), 0.1, 0.0),
)
"""Hard and soft, from every side, as long as the card is thick or twice that, and none."""


@pytest.mark.slow
@pytest.mark.parametrize("shadow", SHADOWS)
@pytest.mark.parametrize(
    "colour", [(181, 161, 182), (54, 68, 26), (108, 104, 100), (235, 235, 232)]
)
def test_a_shadow_is_not_taken_for_a_side(shadow, colour):
    seed = SHADOWS.index(shadow)
    shot = replace(
        LEVELS["moderate"], size=(1600, 1200), fill=1.0, roll=14, tilt=8, noise=2, seed=seed
    )
    swatch = Swatch(size=(60, 60), card=colour, shadow=shadow, seed=seed)
    photo, project = photograph(scene(swatch), shot)
    cards = find_cards(photo)
    assert cards, "no card is found"
    assert sides_mm(cards[0], project) == pytest.approx([*CARD_MM, *CARD_MM], rel=0.01)


def seen(tilt: float, noise: float, seed: int, lens: np.ndarray = LENS) -> tuple[np.ndarray, ...]:
    """Corners of a card, and 40 places on the table with what OpenCV sees of them."""
    rng = np.random.default_rng(seed)
    turned = np.array([tilt, -0.6 * tilt, rng.uniform(-3, 3)])
    moved = np.array([-20.0, -10.0, 400.0])
    corners = cv2.projectPoints(TABLE, turned, moved, lens, None)[0][:, 0]
    places = rng.uniform(-100, 150, (40, 2))
    marks = cv2.projectPoints(np.pad(places, ((0, 0), (0, 1))), turned, moved, lens, None)[0][:, 0]
    return corners + rng.normal(0, noise, corners.shape), places, marks


@pytest.mark.parametrize("tilt", [0.05, 0.2, 0.35])
def test_the_table_agrees_with_opencvs_projection(tilt):
    """The plane in mm against cv2.projectPoints with the same pose and lens."""
    corners, places, marks = seen(tilt, 0.0, 1)
    assert np.allclose(projected(Card(corners, 0.0).to_mm, marks), places, atol=1e-2)
    fitted = fit_camera(corners, CARD, (1200, 1600), 0.2)
    assert fitted.off < 0.05
    lengths = np.linalg.norm(np.diff(projected(fitted.to_mm, marks), axis=0), axis=1)
    assert lengths == pytest.approx(np.linalg.norm(np.diff(places, axis=0), axis=1), rel=0.01)


def test_the_camera_is_surer_than_the_corners_and_says_how_sure():
    """Corners 0.3 px off: lengths one card away, by the camera and by the corners alone."""
    far = np.array([-95.0, 27.0])
    marks = far + np.array([[0.0, 0.0], [10.0, 0.0]])
    errors = []
    for seed in range(40):
        corners, _, _ = seen(0.1, 0.3, seed)
        turned = np.array([0.1, -0.06, np.random.default_rng(seed).uniform(-3, 3)])
        ends = cv2.projectPoints(
            np.pad(marks, ((0, 0), (0, 1))), turned, np.array([-20.0, -10, 400]), LENS, None
        )[0][:, 0]
        fitted = fit_camera(corners, CARD, (1200, 1600), 0.3)
        by = [
            np.linalg.norm(np.diff(projected(h, ends), axis=0)) / 10 - 1
            for h in (fitted.to_mm, Card(corners, 0.0).to_mm)
        ]
        errors.append((*by, fitted.uncertainty_at(far)))
    camera, plain, uncertainty = np.array(errors).T
    assert np.std(camera) < 0.85 * np.std(plain)
    assert 0.4 < np.std(camera) / uncertainty.mean() < 1.3


def picture(photo: np.ndarray) -> Picture:
    size = (photo.shape[1], photo.shape[0])
    return Picture(photo, None, "table.jpg", "0" * 64, size, Box(0, 0, *size))


def beside(page: np.ndarray, other: np.ndarray) -> np.ndarray:
    rows = max(page.shape[0], other.shape[0])
    return np.hstack(
        [
            cv2.copyMakeBorder(one, 0, rows - one.shape[0], 0, 0, cv2.BORDER_REPLICATE)
            for one in (page, other)
        ]
    )


@pytest.mark.slow
def test_two_cards_agree_and_a_larger_thing_of_the_same_shape_is_refused():
    page = scene(Swatch(size=(60, 60), seed=2))
    shot = replace(LEVELS["clean"], size=(1600, 1200), fill=0.95)
    with_card = page[:, -int((CARD_MM[0] + 20) * PER_MM) :]
    two, _ = photograph(beside(page, with_card), shot)
    assert len(find_cards(two)) == 2
    assert find_scale(picture(two), GaugeSettings()).source == "card"
    large = cv2.resize(with_card, None, fx=1.3, fy=1.3, interpolation=cv2.INTER_LINEAR)
    apart, _ = photograph(beside(page, large), shot)
    with pytest.raises(InputError, match="different sizes"):
        find_scale(picture(apart), GaugeSettings())


def test_a_tablecloth_cut_by_the_border_is_no_card():
    """A table, cut where it leaves the photo, once had a card's shape and cut corners."""
    page = np.full((1000, 1500, 3), 205, np.uint8)
    shot = replace(LEVELS["clean"], size=(1600, 1200), fill=1.12, roll=25)
    photo, _ = photograph(page, shot)
    assert not find_cards(photo)


def test_a_playing_card_is_no_bank_card():
    """88 × 63 mm seen from straight above; the bank card beside a table that leans is one still."""
    black = np.zeros((1200, 1600, 3), np.uint8)
    photo = Picture(black, None, "table.jpg", "0" * 64, (1600, 1200), Box(0, 0, 1600, 1200))
    for size, tilt, game in (((88.0, 63.0), 0.02, True), (CARD, 0.45, False)):
        table = np.array([[0, 0, 0], [size[0], 0, 0], [*size, 0], [0, size[1], 0]])
        turned, moved = np.array([0.01, tilt, 0.2]), np.array([-40.0, -30.0, 400.0])
        corners = cv2.projectPoints(table, turned, moved, LENS, None)[0][:, 0]
        camera = fit_camera(corners, CARD, (1200, 1600), 0.3)
        scale = Scale(camera.to_mm, corners, camera, 0.0)
        if game:
            with pytest.raises(InputError, match="playing card"):
                _refuse_game_card(scale, photo, 0.3)
        else:
            _refuse_game_card(scale, photo, 0.3)
