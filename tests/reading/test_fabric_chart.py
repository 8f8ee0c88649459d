"""Stranded fabric in a photo becomes a chart, whichever way the photo lies."""

from __future__ import annotations

import re
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from pic2chart.core.errors import InputError, SettingError
from pic2chart.reading.chart_photo import Reading
from pic2chart.reading.fabric_chart import read_fabric
from pic2chart.reading.own_sheets import read_pages, write_pages
from pic2chart.reading.reading_settings import ReadSettings
from pic2chart.reading.second_look import SIZE
from pic2chart.sheets.marks.order import to_page
from tests.helpers.stranded import Stranded, stranded

FABRIC = ReadSettings(fabric=True)


@pytest.fixture(scope="module")
def swatch() -> Stranded:
    return stranded(1)


def saved(photo: np.ndarray, folder: Path) -> Path:
    path = folder / "mitten.png"
    Image.fromarray(photo).save(path, compress_level=1)
    return path


def same_stitches(reading: Reading, yarn: np.ndarray) -> bool:
    """Whether two yarns lie as they should, whichever comes first."""
    page = to_page(reading.chart.stitches, reading.chart.hand)
    return page.shape == yarn.shape and bool((page == yarn).all() or (page == 1 - yarn).all())


def test_every_stitch_of_a_swatch_is_read(swatch, tmp_path):
    path = saved(swatch.photo, tmp_path)
    (reading,) = read_pages([path], FABRIC)
    assert isinstance(reading, Reading)
    assert same_stitches(reading, swatch.yarn)
    assert (reading.repeat.stitches, reading.repeat.rounds) != (1, 1)
    files = write_pages([reading], tmp_path / "out", [path])
    assert {"mitten-read.jpg", "mitten.chart.json"} <= {file.name for file in files}


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_the_legs_tell_which_way_is_up(swatch, tmp_path, quarters):
    small = cv2.resize(swatch.photo, None, fx=0.7, fy=0.7, interpolation=cv2.INTER_AREA)
    reading = read_fabric(saved(np.rot90(small, quarters).copy(), tmp_path), FABRIC)
    assert same_stitches(reading, swatch.yarn)


def test_corners_follow_the_stitches_in_a_photo_that_lies_upside_down(swatch, tmp_path):
    reading = read_fabric(saved(swatch.photo[::-1, ::-1].copy(), tmp_path), FABRIC)
    middles = (reading.corners[:-1, :-1] + reading.corners[1:, 1:]) / 2
    turned = np.array(swatch.photo.shape[1::-1]) - 1 - swatch.places
    pitch = np.linalg.norm(swatch.places[0, 1] - swatch.places[0, 0])
    assert np.linalg.norm(middles - turned, axis=-1).max() < 0.35 * pitch


def test_a_part_of_the_photo_is_read(swatch, tmp_path):
    low, high = swatch.places[6, 8], swatch.places[-6, -8]
    box = ",".join(str(int(v)) for v in (*low, *(high - low)))
    reading = read_fabric(saved(swatch.photo, tmp_path), ReadSettings(fabric=True, region=box))
    page = to_page(reading.chart.stitches, reading.chart.hand)
    assert 16 <= page.shape[0] < swatch.yarn.shape[0]
    places = [
        (swatch.yarn[r : r + page.shape[0], c : c + page.shape[1]] == page ^ flip).all()
        for r in range(swatch.yarn.shape[0] - page.shape[0] + 1)
        for c in range(swatch.yarn.shape[1] - page.shape[1] + 1)
        for flip in (0, 1)
    ]
    assert any(places)


def test_what_shows_no_stitches_is_refused_with_what_to_do(tmp_path):
    noise = np.random.default_rng(3).integers(90, 160, (600, 800, 3)).astype(np.uint8)
    for photo in (noise, np.full_like(noise, 120)):
        with pytest.raises(InputError, match="with region"):
            read_fabric(saved(photo, tmp_path), FABRIC)


def test_one_yarn_is_no_pattern(tmp_path):
    one_yarn = stranded(1, "plain")
    with pytest.raises(InputError, match="only one yarn"):
        read_fabric(saved(one_yarn.photo, tmp_path), FABRIC)


def test_stripes_do_not_tell_which_way_is_up_and_that_is_said(tmp_path):
    striped = stranded(1, "stripes")
    reading = read_fabric(saved(striped.photo, tmp_path), FABRIC)
    assert same_stitches(reading, striped.yarn)
    warned = [finding.what.code for finding in reading.findings if finding.rule == SIZE]
    assert warned == ["fabric-way-up"]


def test_counts_and_corners_are_refused(tmp_path):
    for given in ({"stitches": 20}, {"rounds": 20}, {"corners": "1,1,90,1,90,90,1,90"}):
        with pytest.raises(SettingError, match=re.escape(next(iter(given)))):
            ReadSettings(fabric=True, **given)
