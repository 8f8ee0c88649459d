"""A ruler beside a swatch gives the scale: its ticks, their order, and the lean they tell."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from pic2chart.core.errors import InputError, SettingError
from pic2chart.picture.decode import Box, Picture
from pic2chart.reading.lattice import projected
from pic2chart.reading.pinhole import fit_camera_to_ruler
from pic2chart.reading.reading_settings import GaugeSettings
from pic2chart.reading.ruler import find_ruler
from pic2chart.reading.scale import Scale, find_scale
from pic2chart.reading.swatch_photo import measure_swatch
from tests.bench.swatch_trial import LEVELS
from tests.helpers.fabrics import PER_MM
from tests.helpers.loops import Knit
from tests.helpers.photograph import jpeg_bytes, photograph
from tests.helpers.rulers import MATERIALS, Ruler, random_ruler, ruler_scene

SMALL = Knit(size=(90.0, 50.0))
RULER = Ruler(length=180.0, width=22.0, seed=1)


def loaded(photo: np.ndarray) -> Picture:
    height, width = photo.shape[:2]
    return Picture(photo, None, "swatch.jpg", "", (width, height), Box(0, 0, width, height))


def taken(page: np.ndarray, seed: int, **changes: object) -> tuple[Picture, np.ndarray]:
    shot = replace(LEVELS["easy"], size=(1600, 1200), fill=0.95, seed=seed, roll=11, **changes)
    photo, project = photograph(page, shot)
    return loaded(photo), project


def off_by(scale: Scale, project: np.ndarray, place: tuple[float, float]) -> tuple[float, float]:
    """How far lengths at a place on the page are off, and what is stated there."""
    marks = np.array(place) * PER_MM + np.array([[0, 0], [10, 0], [0, 10]]) * PER_MM
    found = projected(scale.to_mm, projected(project, marks))
    lengths = np.linalg.norm(found[1:] - found[0], axis=1) / 10
    return float(np.abs(lengths - 1).max()), scale.uncertainty_at(found[0])


@pytest.mark.parametrize("material", MATERIALS)
def test_ticks_are_a_millimetre_apart(material):
    """To a part in a thousand, at the ruler; rolled to any side, its other edge in inches."""
    number = MATERIALS.index(material)
    ruler = replace(random_ruler(np.random.default_rng(number)), material=material, other="inch")
    photo, project = taken(ruler_scene(SMALL, ruler, number - 3.0), number, tilt=number)
    found = find_ruler(photo.gray)
    assert found is not None
    ends = projected(found.to_photo, np.column_stack([found.ends, [0, 0]]))
    on_page = projected(np.linalg.inv(project), ends) / PER_MM
    assert np.ptp(found.ends) > 80
    assert np.ptp(found.ends) == pytest.approx(float(np.hypot(*np.diff(on_page, axis=0)[0])), 1e-3)


@pytest.mark.parametrize(("seed", "tilt"), [(1, 2.0), (2, 7.0), (3, 10.0)])
def test_what_is_stated_holds_on_the_swatch_where_the_photo_leans(seed, tilt):
    ruler = random_ruler(np.random.default_rng(seed))
    photo, project = taken(ruler_scene(SMALL, ruler, 4.0), seed, tilt=tilt, toward=40.0 * seed)
    scale = find_scale(photo, GaugeSettings(ruler=True))
    assert scale.source == "ruler"
    for place in ((40.0, 15.0), (60.0, 40.0)):
        off, stated = off_by(scale, project, place)
        assert off < max(0.01, 1.2 * stated)
        assert stated < 0.03


@pytest.mark.parametrize("tilt", [0.0, 0.1])
def test_the_camera_of_a_ruler_agrees_with_opencvs_projection(tilt):
    """Lengths beside ticks, against cv2.projectPoints with a known pose."""
    lens = np.array([[1900, 0, 800], [0, 1900, 600], [0, 0, 1]], float)
    rows = np.stack(np.meshgrid(np.linspace(-90, 90, 9), [-1.5, 0, 1.5]), axis=-1)
    pose = (np.array([tilt, -tilt / 2, 0.3]), np.array([10.0, 60.0, 400.0]))

    def seen(places: np.ndarray) -> np.ndarray:
        return cv2.projectPoints(np.pad(places, ((0, 0), (0, 1))), *pose, lens, None)[0][:, 0]

    at = seen(rows.reshape(-1, 2)).reshape(rows.shape)
    camera = fit_camera_to_ruler(rows, at, (1200, 1600), 0.05)
    found = projected(camera.to_mm, seen(np.array([[-20.0, -60], [30, -60], [-20, -10]])))
    lengths = np.linalg.norm(found[1:] - found[0], axis=1)
    within = camera.uncertainty_at(found[0])
    assert lengths == pytest.approx(50, rel=max(0.004, 2 * within))
    assert within < 0.02


@pytest.mark.slow
@pytest.mark.parametrize("turn", [0.0, 90.0])
def test_a_swatch_beside_a_ruler_is_measured(tmp_path, turn):
    knit = Knit("plain", (20.0, 26.0), size=(110.0, 90.0), seed=4)
    photo, _ = taken(ruler_scene(knit, RULER, 3.0), 1, tilt=2.0)
    path = tmp_path / "swatch.jpg"
    path.write_bytes(jpeg_bytes(np.rot90(photo.rgb, round(turn / 90)), 92))
    found = measure_swatch(path, GaugeSettings(ruler=True))
    assert found.to_check.endswith("the outline on ticks 4 cm apart")
    assert found.gauge.stitches == pytest.approx(20.0, rel=0.015)
    assert found.gauge.rounds == pytest.approx(26.0, rel=0.015)
    assert 0.005 < found.uncertainty[0] / 20 < 0.03
    assert found.overlay[:2] == b"\xff\xd8"


@pytest.mark.parametrize(
    "ruler",
    [
        replace(RULER, unit=25.4 / 16, inch=True),
        replace(RULER, ticks=(3.0, 3.0, 3.0)),
        replace(RULER, ticks=(3.0, 3.0, 5.0)),
        replace(RULER, ticks=(3.0, 5.0, 5.0)),
        replace(RULER, length=45.0),
        None,
    ],
    ids=["inch", "all alike", "no fives", "fives as tens", "short", "none"],
)
def test_ticks_of_another_order_are_not_guessed_at(ruler):
    photo, _ = taken(ruler_scene(SMALL, ruler, 2.0), 5)
    with pytest.raises(InputError, match="No millimetre ruler is found"):
        find_scale(photo, GaugeSettings(ruler=True))


@pytest.mark.parametrize("per", [6, 9])
def test_squared_paper_with_heavier_lines_every_5_and_10_is_no_ruler(per):
    page = np.full((1000, 1400, 3), 244, np.uint8)
    for number in range(120):
        at, width = 40 + number * per, 1 + (number % 5 == 0) + (number % 10 == 0)
        cv2.line(page, (at, 40), (at, 40 + 100 * per), (120, 140, 190), width)
        cv2.line(page, (40, at), (40 + 119 * per, at), (120, 140, 190), width)
    assert find_ruler(taken(page, 3)[0].gray) is None


@pytest.mark.parametrize("name", ["astronaut", "brick", "coins", "grass", "page", "text", "rocket"])
def test_real_photographs_without_a_ruler_show_none(name):
    """Photographs from scikit-image."""
    import skimage.data

    picture = np.atleast_3d(getattr(skimage.data, name)())[..., :3]
    assert find_ruler(np.ascontiguousarray(picture.mean(axis=2).astype(np.uint8))) is None


def test_the_smallest_pictures_show_none():
    for side in (1, 20, 40):
        assert find_ruler(np.zeros((side, side), np.uint8)) is None


def test_only_one_scale_may_be_given():
    with pytest.raises(SettingError, match="are both given"):
        GaugeSettings(coin_mm=23.25, ruler=True)
