"""Likeness against scikit-image, the floor's rules, looks, focus and the remark on small subjects."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from scipy.ndimage import gaussian_filter, prewitt
from skimage import data
from skimage.metrics import structural_similarity

from pic2chart.checks import likeness
from pic2chart.checks.likeness import Kept, Likeness, ReferenceImage, Scores
from pic2chart.compare import compare_looks, looks_picture
from pic2chart.core.errors import SettingError
from pic2chart.core.settings import Settings, fields
from pic2chart.design.baseline import greedy_chart
from pic2chart.design.draft import READABLE, small_subject
from pic2chart.design.looks import AUTO, LOOKS, drawn, hatched
from pic2chart.design.solution import silent, solve_canvas
from pic2chart.design.yarn_choice import yarns_for
from pic2chart.model import measure
from pic2chart.model.chart import Rules
from pic2chart.model.gauge import Gauge
from pic2chart.picture.decode import load_picture
from pic2chart.picture.focus import MORE, Spot, focus_weight
from pic2chart.picture.grid import Grid, make_grid
from pic2chart.pipeline import draft_grid, make_chart

TWO = ("oat=#ece2d0", "ink=#26304c")


def cat(rounds=48, stitches=60):
    """Lightness of scikit-image's cat, L* 0 to 100, and a rough copy of it in two tones."""
    grey = data.chelsea()[::6, ::7].mean(axis=2)[:rounds, :stitches] / 2.55
    return grey, np.where(grey > np.median(grey), 80.0, 25.0)


def test_ssim_is_scikit_images():
    """Wang et al. 2004 as scikit-image has it, at every stitch, the mirrored edges too."""
    picture, chart = cat()
    ours = likeness.structure_map(picture, chart, 1.0)
    mean, theirs = structural_similarity(
        picture, chart, data_range=100, gaussian_weights=True, sigma=1.5,
        use_sample_covariance=False, full=True,
    )  # fmt: skip
    assert np.abs(ours - theirs).max() < 1e-12
    assert ours[5:-5, 5:-5].mean() == pytest.approx(mean, abs=1e-12)


@pytest.mark.parametrize("up", [0.7, 1.0, 1.6])
def test_the_blur_is_scipys(up):
    picture, _ = cat()
    theirs = gaussian_filter(picture, (up, 1.2), truncate=3.5, mode="reflect")
    assert np.abs(likeness.blur(picture, up, 1.2) - theirs).max() < 1e-11


def test_gradients_are_prewitts():
    picture, _ = cat()
    across, up, length = likeness._gradient(picture, 1.0)
    assert np.allclose(across, prewitt(picture, axis=1, mode="reflect") / 6)
    assert np.allclose(up, prewitt(picture, axis=0, mode="reflect") / 6)
    assert np.allclose(length, np.hypot(across, up))


def test_a_picture_is_wholly_like_itself_and_less_like_a_rough_copy():
    picture, chart = cat()
    reference = ReferenceImage(picture, 0.93)
    assert reference.compare(picture).whole == Scores(1.0, 1.0, 1.0)
    rough, flat = (
        reference.compare(chart).whole,
        reference.compare(np.full_like(picture, 50.0)).whole,
    )
    assert 1 > rough.ssim > flat.ssim
    assert rough.gradients > flat.gradients
    assert rough.edges > flat.edges == 0.0


def test_likeness_does_not_depend_on_how_a_picture_is_cut_into_stitches():
    """Stitches half as high and twice as many show the same fabric; their likeness is the same."""
    picture, chart = cat(48, 60)
    squat = (
        ReferenceImage(np.repeat(picture, 2, axis=0), 0.5)
        .compare(np.repeat(chart, 2, axis=0))
        .whole
    )
    square = ReferenceImage(picture, 1.0).compare(chart).whole
    assert squat.ssim == pytest.approx(square.ssim, abs=0.02)
    assert squat.gradients == pytest.approx(square.gradients, abs=0.03)


def test_the_subject_is_scored_by_itself():
    picture, _ = cat()
    subject = np.zeros(picture.shape, bool)
    subject[:, :30] = True
    spoilt = np.where(subject, picture, 50.0)
    scores = ReferenceImage(picture, 1.0, subject=subject).compare(spoilt)
    assert scores.subject.ssim > scores.whole.ssim
    assert scores.headline == pytest.approx((scores.subject.drawing * scores.figure.score) ** 0.5)


def test_dead_stitches_do_not_count():
    picture, _ = cat()
    live = np.ones(picture.shape, bool)
    live[:, 40:] = False
    spoilt = np.where(live, picture, 0.0)
    assert ReferenceImage(picture, 1.0, live).compare(spoilt).whole == Scores(1.0, 1.0, 1.0)


def test_the_words_tell_chart_and_ceiling():
    kept = Kept(*(Likeness(Scores(ssim, 0.9, 0.9)) for ssim in (0.81, 0.9, 0.5)))
    assert kept.words == "81 of 100 (90 without any rule)"
    assert kept.share == pytest.approx(0.9)
    assert kept.to_dict()["chart"]["whole"]["ssim"] == 0.81


@pytest.mark.parametrize("circular", [True, False])
@pytest.mark.parametrize("yarns", [2, 4])
def test_the_floor_keeps_the_rules_it_repairs(circular, yarns):
    rng = np.random.default_rng(yarns)
    cost = rng.random((30, 41, yarns)) + np.linspace(0, 1, 41)[:, None] * np.arange(yarns)
    live = rng.random((30, 41)) > 0.05
    chart = greedy_chart(cost, live, 2, 5, circular)
    assert ((chart == 255) == ~live).all()
    assert measure.floats(chart, circular).longest <= 5
    assert measure.yarns_per_round(chart, yarns).sum(axis=1).max() <= 2


@pytest.mark.parametrize("name", list(LOOKS))
def test_every_look_is_a_choice_and_keeps_lightness_in_range(name):
    choices = next(f for f in fields(Settings) if f.name == "look").metadata["choices"]
    assert name in choices
    assert set(choices) == {AUTO, *LOOKS}
    lightness, _ = cat()
    out = drawn(lightness, LOOKS[name], 0.93)
    assert out.shape == lightness.shape
    assert out.min() >= 0
    assert out.max() <= 100


def test_hatching_shades_a_middle_tone_half_with_short_floats():
    middle = np.full((40, 40), 55.0)
    dark = hatched(middle, LOOKS["hatched"], np.array([20.0, 90.0])) < 55.0
    assert dark.mean() == 0.5
    assert measure.floats(dark.astype(np.uint8), True).longest <= 3
    assert not measure.isolated(dark.astype(np.uint8), True, False).any()


def test_lines_are_drawn_darker_and_light_stays():
    lightness = np.full((30, 30), 80.0)
    lightness[:, 15] = 55.0
    out = drawn(lightness, LOOKS["inked"], 1.0)
    assert out[10, 15] < 50
    assert np.allclose(out[:, :8], 80.0)


def a_picture(tmp_path, name="cat.png"):
    path = tmp_path / name
    Image.fromarray(data.chelsea()).save(path)
    return path


def test_a_spot_weighs_where_it_lies_on_the_picture(tmp_path):
    """A spot right of the middle and near the top: low stitch numbers, high rounds."""
    picture = load_picture(a_picture(tmp_path))
    weight = focus_weight([Spot.parse("400, 60, 30")], picture, (0, 0, 1, 1), (60, 90))
    r, c = np.unravel_index(weight.argmax(), weight.shape)
    assert weight.max() == 1 + MORE
    assert weight.min() == 1
    assert 60 * (1 - 90 / 300) <= r <= 60 * (1 - 30 / 300)
    assert 90 * (1 - 430 / 451) <= c <= 90 * (1 - 370 / 451)


@pytest.mark.parametrize("text", ["", "1,2", "1,2,0", "a,b,c", "1,2,3,4", "-1,2,3"])
def test_a_spot_that_cannot_be_read_is_refused(text):
    with pytest.raises(SettingError, match="of focus cannot be read"):
        Spot.parse(text)


def test_a_spot_outside_is_refused(tmp_path):
    with pytest.raises(SettingError, match="lies outside"):
        make_chart(a_picture(tmp_path), Settings(yarn=TWO, focus=("4000,4000,20",)))


def test_focus_keeps_the_spot_nearer_the_picture(tmp_path):
    """Of the stitches that the rules move in the fur, fewer lie in the spot once it is marked."""
    path, spot = a_picture(tmp_path), "120,60,45"
    picture = load_picture(path)
    grid = make_grid(picture, Gauge(), 60)
    weight = focus_weight([Spot.parse(spot)], picture, grid.part, grid.subject.shape)
    moved = []
    for focus in ((), (spot,)):
        asked = Settings(yarn=TWO, focus=focus)
        yarns, chroma = yarns_for(grid, asked)
        canvas = draft_grid(grid, picture, yarns, asked).canvas
        solved = solve_canvas(canvas, yarns, chroma, Rules.of(asked), silent, circular=True)
        moved.append(int((solved.stitches != solved.free)[weight > 2].sum()))
    assert moved[1] < moved[0]


def test_a_small_subject_is_told_with_the_size_to_take():
    subject = np.zeros((40, 60), np.float32)
    subject[10:30, 20:35] = 1
    grid = Grid(np.zeros((40, 60, 3), np.float32), subject, (0, 0, 1, 1))
    (words,) = map(str, small_subject(grid, 0.25))
    assert "15 stitches wide" in words
    assert "stitches=120" in words
    assert "frame" not in words
    (words,) = map(str, small_subject(grid, 0.8))
    assert "frame=close without crop to make it 48 wide" in words
    wide = np.zeros((40, 60), np.float32)
    wide[:, : READABLE + 1] = 1
    assert small_subject(Grid(np.zeros((40, 60, 3), np.float32), wide, (0, 0, 1, 1)), 1.0) == ()


def test_the_looks_differ_and_their_sheet_is_the_same_again(tmp_path):
    made = compare_looks(a_picture(tmp_path), Settings(yarn=TWO, stitches=40))
    charts = [one.chart.stitches.tobytes() for one in made.values()]
    assert len(set(charts)) == len(LOOKS)
    assert not any(one.report.errors for one in made.values())
    sheet = looks_picture(made)
    assert sheet == looks_picture(made)
    assert Image.open(io.BytesIO(sheet)).size[0] > 800


@pytest.mark.slow
def test_proving_betters_the_chart_and_says_how_near_it_is(tmp_path):
    path, settings = a_picture(tmp_path), Settings(yarn=TWO, stitches=40)
    plain, proved = make_chart(path, settings), make_chart(path, replace(settings, prove=20.0))
    assert plain.report.gap is None
    assert proved.report.gap <= 0.01
    score = proved.chart.score
    assert score["bound"] <= score["energy"] <= plain.chart.score["energy"]
    assert proved.chart.rules == plain.chart.rules == Rules()
    assert not proved.report.errors


def test_the_headline_by_itself_is_that_of_the_whole_comparison():
    picture, chart = cat()
    subject = np.zeros(picture.shape, bool)
    subject[5:40, 8:44] = True
    for reference in (
        ReferenceImage(picture, 0.93),
        ReferenceImage(picture, 0.93, subject=subject),
    ):
        assert reference.headline(chart) == pytest.approx(
            reference.compare(chart).headline, abs=2e-5
        )
