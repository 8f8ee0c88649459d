"""Charts read from photos that are made here from exact charts.

Real photographs of squared paper are not at hand: what is tested is a camera model (angle, curl,
blur, noise, uneven light, shadow, JPEG), the program's own printed sheet, and charts coloured or
marked by a simulated hand.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from pic2chart.core.colour import delta_e2000, srgb_to_lab
from pic2chart.core.errors import InputError, SettingError
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import read_chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.reading.chart_photo import Reading, read_photo, write_reading
from pic2chart.reading.lattice import lattice_of_corners
from pic2chart.reading.reading_settings import ReadSettings
from pic2chart.sheets.chart.chart_sheet import chart_sheet
from tests.helpers.photograph import (
    CLEAN,
    MODERATE,
    Shot,
    camera,
    jpeg_bytes,
    photograph,
    random_shot,
    sheet_page,
)
from tests.helpers.squared_paper import Hand, paper_page, screenshot

YARNS = tuple(
    Yarn.parse(text)
    for text in ("oat=#ece2d0", "ink=#26304c", "rust=#a8502f", "fog=#aeb6bd", "moss=#5d6b3a")
)


def motif(rows: int, columns: int, yarns: int, seed: int) -> np.ndarray:
    """Soft-edged patches in about equal numbers of every yarn, single stitches among them."""
    noise = np.random.default_rng(seed).normal(size=(rows, columns))
    soft = cv2.GaussianBlur(noise, (0, 0), 1.1)
    levels = np.quantile(soft, np.linspace(0, 1, yarns + 1)[1:-1])
    return np.searchsorted(levels, soft).astype(np.uint8)


def saved(photo: np.ndarray, folder: Path, name: str = "photo.jpg") -> Path:
    path = folder / name
    if name.endswith(".png"):
        Image.fromarray(photo).save(path)
    else:
        path.write_bytes(jpeg_bytes(photo, 93))
    return path


def wrong(reading: Reading, stitches: np.ndarray) -> int:
    """Stitches that differ, the yarns of the reading matched to those most of their stitches have."""
    got = reading.chart.stitches
    assert got.shape == stitches.shape
    match = [
        np.bincount(stitches[got == yarn]).argmax() for yarn in range(len(reading.chart.yarns))
    ]
    assert sorted(match) == sorted(set(stitches.ravel().tolist()))
    return int((np.array(match)[got] != stitches).sum())


def sheet_photo(stitches: np.ndarray, count: int, shot: Shot, **options: object) -> np.ndarray:
    chart = Chart(stitches, YARNS[:count], Gauge(28, 31), "harbour dog", **options)
    return photograph(sheet_page(chart_sheet(chart)), shot)[0]


@pytest.mark.slow
def test_a_printed_sheet_photographed_at_an_angle_is_read_as_the_same_chart(tmp_path):
    """The chart sheet, printed, photographed 24° off and rolled by 12°, with shadow and noise."""
    stitches = motif(50, 44, 3, 1)
    photo = sheet_photo(stitches, 3, replace(MODERATE, size=(2000, 1500)))
    reading = read_photo(saved(photo, tmp_path), ReadSettings(gauge="28x31", title="harbour dog"))
    assert wrong(reading, stitches) == 0
    assert reading.confidence.min() > 0.9
    assert not reading.uncertain
    assert (reading.chart.title, reading.chart.worked, reading.chart.hand) == (
        "harbour dog",
        "round",
        "right",
    )
    for yarn in reading.chart.yarns:  # the paper is taken for white, so colours come back as well
        lab = srgb_to_lab(np.array([yarn.rgb], np.uint8))
        known = srgb_to_lab(np.array([y.rgb for y in YARNS[:3]], np.uint8))
        assert delta_e2000(lab, known).min() < 9


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("kind", ["sheet", "crayon", "marks"])
def test_moderate_photos_are_read_with_few_errors(tmp_path, kind, seed):
    """At least 99.5 % right on each; angles up to 30°, curl, shadow, blur, noise, JPEG."""
    rng = np.random.default_rng(40 + seed)
    rows, columns = (int(n) for n in rng.integers(16, 44, 2))
    count = int(rng.integers(2, 5))
    stitches = motif(rows, columns, count, seed)
    shot = replace(random_shot(rng), size=(1800, 1350))
    if kind == "sheet":
        photo = sheet_photo(stitches, count, shot)
    else:
        faint = Hand(
            line=tuple(int(v) for v in 180 + rng.integers(0, 35, 3)), filled=kind == "crayon"
        )
        page = paper_page(stitches, [yarn.rgb for yarn in YARNS], faint, seed)
        photo = photograph(page, shot)[0]
    reading = read_photo(saved(photo, tmp_path))
    assert wrong(reading, stitches) <= 0.005 * stitches.size


@pytest.mark.parametrize("kind", ["sheet", "crayon", "marks"])
def test_clean_photos_are_read_without_an_error(tmp_path, kind):
    stitches = motif(31, 27, 4, 7)
    if kind == "sheet":
        photo = sheet_photo(stitches, 4, CLEAN)
    else:
        page = paper_page(stitches, [y.rgb for y in YARNS], Hand(filled=kind == "crayon"), 3)
        photo = photograph(page, CLEAN)[0]
    reading = read_photo(saved(photo, tmp_path))
    assert wrong(reading, stitches) == 0


@pytest.mark.parametrize(
    ("cell", "line"), [((12, 12), 1), ((9, 11), 0), ((16, 14), 2), ((5, 5), 1)]
)
def test_exact_pixels_are_read_exactly(tmp_path, cell, line):
    stitches = motif(23, 31, 4, 11)
    colours = [yarn.rgb for yarn in YARNS]
    frame = (7, 5, 9, 11) if line else (0, 0, 0, 0)
    path = saved(screenshot(stitches, colours, cell, line, frame), tmp_path, "screen.png")
    reading = read_photo(path)
    read = np.array([yarn.rgb for yarn in reading.chart.yarns])[reading.chart.stitches]
    assert np.array_equal(read, np.array(colours)[stitches])
    assert (reading.confidence == 1).all()


def test_the_chequerboard_of_scikit_image_is_eight_by_eight(tmp_path):
    from skimage.data import checkerboard

    path = saved(np.repeat(checkerboard()[..., None], 3, axis=2), tmp_path, "board.png")
    stitches = read_photo(path).chart.stitches
    rows, columns = np.indices((8, 8))
    assert stitches.shape == (8, 8)
    assert np.array_equal(stitches == stitches[0, 0], (rows + columns) % 2 == 0)


@pytest.mark.parametrize(
    "name", ["chelsea", "astronaut", "coffee", "rocket", "camera", "grass", "gravel", "text"]
)
def test_pictures_without_a_grid_are_refused(tmp_path, name):
    """Real photographs from scikit-image: a cat, a person, a cup, a rocket, textures, print."""
    import skimage.data

    picture = getattr(skimage.data, name)()
    rgb = np.repeat(picture[..., None], 3, axis=2) if picture.ndim == 2 else picture
    with pytest.raises(InputError, match="No squared grid is found"):
        read_photo(saved(rgb, tmp_path))


@pytest.mark.slow
def test_corners_given_by_hand_agree_with_those_found(tmp_path):
    stitches = motif(24, 30, 3, 5)
    hand = Hand()
    page = paper_page(stitches, [y.rgb for y in YARNS], hand, 1)
    shot = Shot(roll=8, tilt=18, toward=40, seed=3)
    photo, project = photograph(page, shot)
    m, s = hand.margin, hand.square
    page_corners = np.array(
        [[m, m], [m + 30 * s, m], [m + 30 * s, m + 24 * s], [m, m + 24 * s]], float
    )
    truth = cv2.perspectiveTransform(page_corners[None], project)[0]
    path = saved(photo, tmp_path)
    found = read_photo(path)
    assert np.abs(np.array(found.outline) - truth).max() < 2
    text = ",".join(f"{v:.0f}" for v in truth.ravel())
    for settings in (
        ReadSettings(corners=text),
        ReadSettings(corners=text, stitches=30, rounds=24),
    ):
        assert wrong(read_photo(path, settings), stitches) == 0


def test_the_homography_of_corners_is_opencvs_own():
    """Projective geometry against cv2: the same four corners through findHomography and solvePnP."""
    shot = Shot(roll=11, tilt=27, toward=75)
    project = camera((1200, 900), shot)
    square = np.array([[0, 0], [1200, 0], [1200, 900], [0, 900]], float)
    corners = cv2.perspectiveTransform(square[None], project)[0]
    lattice = lattice_of_corners(corners, 40, 30)
    inside = np.random.default_rng(0).uniform([0, 0], [40, 30], (50, 2))
    expected = cv2.perspectiveTransform(inside[None] * 30, project)[0]
    assert np.allclose(lattice.to_photo(inside), expected, atol=1e-2)
    found, _ = cv2.findHomography(square / 30, corners)
    assert np.allclose(
        np.linalg.inv(lattice.homography) / np.linalg.inv(lattice.homography)[2, 2],
        found,
        atol=1e-4,
    )


def test_opencvs_chessboard_corners_lie_on_the_lattice_found(tmp_path):
    """The inner corners that cv2.findChessboardCornersSB finds on the same photo, to a fiftieth of a square."""
    board = (np.indices((12, 16)).sum(axis=0) % 2).astype(np.uint8)
    page = paper_page(board, [(0, 0, 0), (20, 20, 24)], Hand(jitter=0, margin=70), 0)
    page[70:-70, 70:-70][np.kron(board[::-1, ::-1], np.ones((40, 40))) > 0] = (20, 20, 24)
    photo, _ = photograph(page, Shot(roll=-9, tilt=20, toward=120, seed=5))
    reading = read_photo(saved(photo, tmp_path))
    good, corners = cv2.findChessboardCornersSB(cv2.cvtColor(photo, cv2.COLOR_RGB2GRAY), (15, 11))
    assert good
    ours = reading.corners[1:-1, 1:-1].reshape(-1, 2)
    apart = np.linalg.norm(ours[:, None] - corners.reshape(1, -1, 2), axis=2).min(axis=1)
    assert apart.max() < 0.6  # a square is about 35 px here


def test_a_known_size_is_kept_to_and_a_wrong_one_is_refused(tmp_path):
    stitches = motif(20, 26, 2, 9)
    path = saved(sheet_photo(stitches, 2, CLEAN), tmp_path)
    reading = read_photo(path, ReadSettings(stitches=26, rounds=20, yarns=2))
    assert wrong(reading, stitches) == 0
    with pytest.raises(InputError, match="only"):
        read_photo(path, ReadSettings(stitches=300))


def test_a_repeat_is_found_and_told(tmp_path):
    unit = motif(8, 6, 2, 3)
    path = saved(sheet_photo(np.tile(unit, (3, 5)), 2, CLEAN), tmp_path)
    reading = read_photo(path)
    assert (reading.repeat.stitches, reading.repeat.rounds) == (6, 8)
    assert reading.chart.repeat == (6, 8)
    assert "Repeat: 6 stitches × 8 rounds" in " ".join(map(str, reading.report.remarks))


def test_a_left_handed_sheet_is_read_for_the_left_hand(tmp_path):
    stitches = motif(18, 24, 2, 21)
    path = saved(sheet_photo(stitches, 2, CLEAN, hand="left"), tmp_path)
    reading = read_photo(path, ReadSettings(left_handed=True))
    assert wrong(reading, stitches) == 0


@pytest.mark.slow
def test_a_smudge_is_doubtful_and_shown(tmp_path):
    """A square half light and half dark: whichever yarn is taken, it must be listed."""
    stitches = np.zeros((16, 18), np.uint8)
    stitches[4:12, 5:13] = 1
    page = paper_page(stitches, [y.rgb for y in YARNS], Hand(), 0)
    page[60 + 12 * 40 : 60 + 13 * 40, 60 + 40 : 60 + 80] = (136, 137, 143)
    reading = read_photo(saved(photograph(page, CLEAN)[0], tmp_path))
    places = {(found.round, found.stitch) for found in reading.uncertain}
    assert (4, 17) in places or len(reading.chart.yarns) == 3
    assert len(places) <= 4


def test_the_folder_holds_chart_overlay_and_confidence_and_is_the_same_again(tmp_path):
    stitches = motif(16, 20, 2, 2)
    path = saved(sheet_photo(stitches, 2, CLEAN), tmp_path)
    first, second = (write_reading(read_photo(path), tmp_path / name) for name in ("a", "b"))
    assert first[0].name == "photo.chart.json"
    assert first[-1].name == "photo-read.jpg"
    for one, other in zip(first, second, strict=True):
        assert one.read_bytes() == other.read_bytes()
    chart = read_chart(first[0])
    assert len(chart.source["confidence"]) == 16
    assert set("".join(chart.source["confidence"])) <= set("0123456789")


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("1,2,3", "8 numbers"),
        ("0,0,0,90,90,90,90,0", "clockwise"),
        ("0,0,9999,0,9999,99,0,99", "outside"),
    ],
)
def test_corners_that_cannot_be_are_refused(tmp_path, text, word):
    path = saved(np.full((120, 160, 3), 200, np.uint8), tmp_path)
    with pytest.raises(SettingError, match=word):
        read_photo(path, ReadSettings(corners=text))
