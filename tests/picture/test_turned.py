"""A picture turned by a few degrees under the stitches, its subject, frame and spots with it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from skimage.data import chelsea

from pic2chart.core.errors import SettingError
from pic2chart.core.settings import Settings
from pic2chart.picture.decode import Box, Picture
from pic2chart.picture.focus import Spot
from pic2chart.picture.source import read_source
from pic2chart.picture.subject import Subject
from pic2chart.picture.turned import turned, turned_spot, turned_subject
from pic2chart.pipeline import make_chart

TWO = ("oat=#ece2d0", "ink=#26304c")


@pytest.fixture(scope="module")
def cat(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("turned") / "cat.png"
    Image.fromarray(chelsea()).save(file)
    return file


def picture_of(rgb: np.ndarray) -> Picture:
    size = rgb.shape[1], rgb.shape[0]
    return Picture(rgb, None, "p.png", "0" * 64, size, Box.whole(size))


@pytest.mark.parametrize("degrees", [-45.0, -12.5, 30.0])
def test_a_dot_goes_where_its_spot_goes(degrees: float) -> None:
    rgb = np.zeros((120, 200, 3), np.uint8)
    rgb[28:33, 118:123] = 255
    spot = turned_spot(Spot(120, 30, 9), degrees, (200, 120))
    seen = turned(picture_of(rgb), degrees).rgb[..., 0].astype(float)
    rows, columns = np.indices(seen.shape)
    assert (columns * seen).sum() / seen.sum() == pytest.approx(spot.x, abs=1)
    assert (rows * seen).sum() / seen.sum() == pytest.approx(spot.y, abs=1)
    assert spot.r == 9


def test_the_turn_is_clockwise() -> None:
    assert turned_spot(Spot(50, 10, 1), 45.0, (101, 101)).x > 70


def test_corners_that_come_in_are_never_subject() -> None:
    whole = Subject(np.ones((100, 100), np.float32), "found")
    mask = turned_subject(whole, 45.0).mask
    assert mask is not None
    assert mask[0, 0] == mask[-1, -1] == 0
    assert mask[50, 50] == 1
    clear = Picture(
        *(np.zeros((9, 9, 3), np.uint8), np.ones((9, 9), np.float32)),
        "p",
        "",
        (9, 9),
        Box.whole((9, 9)),
    )
    opacity = turned(clear, 45.0).opacity
    assert opacity is not None
    assert opacity[0, 0] == 0


def test_a_turned_chart_is_the_chart_of_the_turned_picture(cat: Path, tmp_path: Path) -> None:
    crop = "120,60,220,180"
    settings = Settings(yarn=TWO, stitches=40, crop=crop, subject="none")
    here = make_chart(cat, Settings.from_mapping({**settings.changed(), "turn": 20.0}))
    file = tmp_path / "turned.png"
    Image.open(cat).rotate(-20, Image.Resampling.BICUBIC).save(file)
    there = make_chart(file, settings)
    assert (here.chart.stitches == there.chart.stitches).mean() > 0.95
    assert here.chart.source["window"] == [120, 60, 220, 180]
    assert here.chart.source["settings"]["turn"] == 20.0
    level = make_chart(cat, settings)
    assert (here.chart.stitches == level.chart.stitches).mean() < 0.9


def test_a_small_frame_of_a_large_turned_picture_has_pixels_enough(tmp_path: Path) -> None:
    file = tmp_path / "large.png"
    Image.fromarray(chelsea()).resize((2255, 1500)).save(file)
    settings = Settings(stitches=60, crop="1000,600,200,200", subject="none", turn=10.0)
    picture = read_source(file, settings, (60, None)).picture
    assert picture.rgb.shape[1] >= 60 * 3
    assert picture.window == Box(1000, 600, 200, 200)


def test_no_more_than_an_eighth_of_a_turn() -> None:
    with pytest.raises(SettingError):
        Settings(turn=46.0)
