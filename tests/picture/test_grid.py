"""The stitch grid: true proportions, exact averages, knitting order, sharpening, subject."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from pic2chart.core.colour import lightness, srgb_to_lab
from pic2chart.core.errors import InputError
from pic2chart.model.gauge import Gauge
from pic2chart.picture.decode import Box, Picture, load_picture
from pic2chart.picture.grid import Grid, make_grid

SQUARE = Gauge(30, 30)


def picture(rgb: np.ndarray) -> Picture:
    size = (rgb.shape[1], rgb.shape[0])
    return Picture(np.array(rgb, dtype=np.uint8), None, "a.png", "0" * 64, size, Box.whole(size))


def photograph() -> np.ndarray:
    from skimage import data

    return np.asarray(data.chelsea())


def page(values: np.ndarray) -> np.ndarray:
    """Knitting order back to page order."""
    return values[::-1, ::-1]


def test_top_left_of_the_picture_is_the_last_stitch_of_the_last_round():
    rgb = np.full((40, 60, 3), 200, np.uint8)
    rgb[:10, :10] = (168, 80, 47)
    grid = make_grid(picture(rgb), SQUARE, 6, 4, sharpen=0)
    assert grid.target.shape == (4, 6, 3)
    assert grid.target[3, 5] == pytest.approx(srgb_to_lab(rgb[0, 0]), abs=0.01)
    rest = np.ones((4, 6), bool)
    rest[3, 5] = False
    assert np.ptp(grid.target[rest], axis=0).max() < 0.01


@pytest.mark.parametrize(("stitches", "rounds"), [(60, 45), (37, 41), (101, 7)])
def test_each_stitch_is_the_exact_area_average(stitches, rounds):
    import cv2

    rgb = photograph()
    height, width = rgb.shape[:2]
    gauge = Gauge(30, 30 * (rounds * width) / (stitches * height))  # nothing is cropped
    grid = make_grid(picture(rgb), gauge, stitches, rounds, sharpen=0)
    oracle = cv2.resize(rgb.astype(np.float64), (stitches, rounds), interpolation=cv2.INTER_AREA)
    assert grid.part == pytest.approx((0, 0, 1, 1), abs=1e-9)
    assert np.abs(page(grid.target) - srgb_to_lab(oracle / 255)).max() < 0.02


def test_a_tiny_picture_is_enlarged_without_blur():
    rgb = np.array([[[0, 0, 0], [255, 255, 255]], [[168, 80, 47], [93, 107, 62]]], np.uint8)
    grid = make_grid(picture(rgb), SQUARE, 8, 8, sharpen=0)
    expected = srgb_to_lab(np.repeat(np.repeat(rgb, 4, axis=0), 4, axis=1))
    assert np.abs(page(grid.target) - expected).max() < 0.01


GAUGES = [Gauge(28, 30), Gauge(22, 30), Gauge(34, 34), Gauge(18, 26), Gauge(30, 24)]


def disc(height: int, width: int, radius: float) -> np.ndarray:
    y, x = np.mgrid[:height, :width] + 0.5
    inside = (x - width / 2) ** 2 + (y - height / 2) ** 2 < radius**2
    return np.where(inside[..., None], (38, 48, 76), (236, 226, 208)).astype(np.uint8)


@pytest.mark.parametrize("gauge", GAUGES, ids=str)
@pytest.mark.parametrize("rounds", [None, 40, 90])
@pytest.mark.parametrize("shape", [(600, 500), (400, 900)])
def test_a_circle_stays_a_circle_in_centimetres(gauge, rounds, shape):
    height, width = shape
    grid = make_grid(picture(disc(height, width, 80)), gauge, 60, rounds, sharpen=0)
    light, dark = lightness([236, 226, 208]), lightness([38, 48, 76])
    cover = (light - grid.target[..., 0]) / (light - dark)
    across = cover[grid.target.shape[0] // 2].sum() * gauge.stitch_width
    up = cover[:, 30].sum() * gauge.round_height
    assert abs(across - up) < 0.5 * max(gauge.stitch_width, gauge.round_height)
    cm_per_pixel = 60 * gauge.stitch_width / (width * (grid.part[2] - grid.part[0]))
    assert abs(across - 160 * cm_per_pixel) < 0.5 * gauge.stitch_width


def test_the_middle_is_used_when_the_shape_disagrees():
    grid = make_grid(picture(disc(300, 900, 100)), SQUARE, 40, 40)
    assert grid.part == pytest.approx((1 / 3, 0, 2 / 3, 1))
    grid = make_grid(picture(disc(900, 300, 100)), SQUARE, 40, 40)
    assert grid.part == pytest.approx((0, 1 / 3, 1, 2 / 3))


def test_rounds_follow_the_shape_and_have_a_limit():
    gauge = Gauge(28, 35)
    assert make_grid(picture(disc(600, 500, 9)), gauge, 60).target.shape[0] == 90
    with pytest.raises(InputError, match="at most 1,000"):
        make_grid(picture(np.zeros((4000, 40, 3))), gauge, 60)


def test_sharpening_is_an_unsharp_mask_of_one_stitch():
    from scipy.ndimage import gaussian_filter

    gauge = Gauge(24, 32)
    plain = make_grid(picture(photograph()), gauge, 60, sharpen=0).target
    sharp = make_grid(picture(photograph()), gauge, 60, sharpen=0.8).target
    sigma = (gauge.stitch_width / gauge.round_height, 1.0)  # one stitch's width, both ways
    blurred = gaussian_filter(plain[..., 0].astype(np.float64), sigma, truncate=9)
    expected = np.clip(plain[..., 0] + 0.8 * (plain[..., 0] - blurred), 0, 100)
    inner = np.s_[8:-8, 8:-8]
    assert np.abs(sharp[..., 0] - expected)[inner].max() < 0.01
    assert (sharp[..., 1:] == plain[..., 1:]).all()
    assert (make_grid(picture(photograph()), gauge, 60).target == sharp).all()  # as it comes
    even = make_grid(picture(np.full((50, 50, 3), 130)), gauge, 20)
    assert np.ptp(even.target[..., 0]) < 1e-3  # no halo at the edges


def test_sharpening_keeps_more_likeness():
    from skimage.metrics import structural_similarity

    def likeness(amount: float) -> float:
        rgb = photograph()
        grid = make_grid(picture(rgb), Gauge(), 60, sharpen=amount)
        levels = np.quantile(grid.target[..., 0], [1 / 8, 3 / 8, 5 / 8, 7 / 8])
        nearest = np.abs(grid.target[..., :1] - levels).argmin(axis=-1)
        size = (240, 160)
        drawn = Image.fromarray(page(levels[nearest]).astype(np.float32)).resize(size, 0)
        real = Image.fromarray(lightness(rgb).astype(np.float32)).resize(size, 4)
        return float(
            structural_similarity(
                np.asarray(real), np.asarray(drawn), data_range=100, gaussian_weights=True, sigma=3
            )
        )

    assert likeness(0.8) > likeness(0) + 0.01


def test_the_subject_keeps_its_own_colour_to_the_edge():
    rgb = disc(200, 200, 71)
    mask = (rgb[..., 0] < 100).astype(np.float32)
    grid = make_grid(picture(rgb), SQUARE, 20, 20, mask)
    motif, ground = srgb_to_lab([38, 48, 76]), srgb_to_lab([236, 226, 208])
    expected = np.where(grid.subject[..., None] >= 0.5, motif, ground)
    assert np.abs(grid.target - expected).max() < 0.05
    assert grid.subject.mean() == pytest.approx(np.pi * 71**2 / 200**2, abs=0.005)
    assert ((grid.subject > 0.1) & (grid.subject < 0.9)).any()


def test_no_mask_means_all_subject_and_arrays_are_frozen():
    grid = make_grid(picture(photograph()), Gauge(), 30)
    assert isinstance(grid, Grid)
    assert (grid.subject == 1).all()
    assert grid.target.dtype == grid.subject.dtype == np.float32
    for array in (grid.target, grid.subject):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 0


@pytest.mark.parametrize("turn", range(1, 9))
def test_every_orientation_gives_the_same_grid(tmp_path: Path, turn: int):
    upright = Image.fromarray(photograph())
    undo = {2: 0, 3: 3, 4: 1, 5: 5, 6: 2, 7: 6, 8: 4}  # Pillow's own transpositions
    stored = upright.transpose(undo[turn]) if turn in undo else upright
    exif = Image.Exif()
    exif[0x0112] = turn
    stored.save(tmp_path / "a.png", exif=exif)
    found = make_grid(load_picture(tmp_path / "a.png"), Gauge(), 40)
    assert (found.target == make_grid(picture(photograph()), Gauge(), 40).target).all()
    stored.save(tmp_path / "a.jpg", exif=exif, quality=95)
    drafted = load_picture(tmp_path / "a.jpg", crop=Box(90, 20, 320, 280), cells=(20, 17))
    assert drafted.scale == pytest.approx(0.5, rel=0.01)
    found = make_grid(drafted, Gauge(), 20, 17, sharpen=0)
    exact = make_grid(picture(photograph()[20:300, 90:410]), Gauge(), 20, 17, sharpen=0)
    assert np.abs(found.target - exact.target).mean() < 0.5


def test_drafting_costs_little_colour(tmp_path: Path):
    large = Image.fromarray(photograph()).resize((2255, 1500), Image.Resampling.LANCZOS)
    large.save(tmp_path / "a.jpg", quality=92)
    whole = make_grid(load_picture(tmp_path / "a.jpg"), Gauge(), 60, sharpen=0).target
    small = load_picture(tmp_path / "a.jpg", cells=(60, None))
    assert small.scale == pytest.approx(1 / 4, rel=0.01)
    drafted = make_grid(small, Gauge(), 60, sharpen=0).target
    assert np.linalg.norm(whole - drafted, axis=-1).mean() < 0.3
