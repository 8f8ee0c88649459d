"""What the canvas asks of the solver, seen in whole charts: tones, form, pairs, ticks, fillers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pic2chart.checks.likeness import near
from pic2chart.core.settings import Settings
from pic2chart.design import canvas, draft
from pic2chart.design.contour import HALO
from pic2chart.design.filler import FILLERS, MAX_FLOAT
from pic2chart.model import measure
from pic2chart.model.chart import Rules
from pic2chart.model.gauge import Gauge
from pic2chart.picture.grid import make_grid
from pic2chart.picture.source import read_source
from pic2chart.pipeline import make_chart
from pic2chart.solve.solver import solve
from tests.helpers.places import SAMPLES

TWO = ("oat=#ece2d0", "ink=#26304c")
THREE = (*TWO, "rust=#a8502f")
ONES = np.ones


def test_two_tones_land_on_the_yarns():
    """The border between the picture's main tones falls midway between the yarns."""
    tones = np.repeat([30.0, 34.0, 70.0, 74.0], 25)
    fitted = draft.fit_tone(tones, ONES(100), np.array([90.0, 20.0]))
    assert fitted[:50].mean() == pytest.approx(20, abs=1)
    assert fitted[50:].mean() == pytest.approx(90, abs=1)


def test_a_range_spans_the_yarns_and_leaves_the_middle_in_the_middle():
    tones = np.linspace(20, 80, 200)
    fitted = draft.fit_range(tones, ONES(200), np.array([90.0, 44.0, 20.0]))
    assert (np.diff(fitted) >= 0).all()
    assert abs(fitted[100] - 55) < 3
    assert fitted[0] < 20.1
    assert fitted[-1] > 89.9


def test_form_is_minus_one_at_the_dark_tone_and_one_at_the_light():
    form = draft.form_of(np.repeat([25.0, 65.0], 50), ONES(100))
    assert form[:50] == pytest.approx(-1, abs=0.02)
    assert form[50:] == pytest.approx(1, abs=0.02)


def a_problem(target, lab, form=None, **rules):
    made = canvas.Canvas.of(target, form=form)
    cost = canvas.stitch_costs(made, lab, canvas.CHROMA)
    return canvas.problem_of(made, cost, Rules(**rules), lab[:, 0], circular=True)


def test_form_keeps_a_drawing_where_the_yarns_change():
    """A square on two tones, in yarns of three: it stays lighter in every round."""
    target = np.zeros((24, 24, 3))
    target[..., 0] = np.where(np.arange(24)[:, None] < 12, 45.0, 20.0)
    target[4:20, 6:18, 0] += 25.0
    form = -np.ones((24, 24))
    form[4:20, 6:18] = 1.0
    lab = np.array([[90.0, 0, 0], [45.0, 20, 20], [20.0, 0, 0]])
    stitches = solve(a_problem(target, lab, form)).stitches
    light = lab[stitches][..., 0]
    assert (light[5:19, 7:17] > light[5:19, :1]).all()


def test_a_slope_of_light_makes_fewer_bands_than_its_stitches_alone_would():
    """A drawing on a broad slope of light, each part of it nearest to another of five yarns.

    Priced stitch by stitch alone, rounds would change their yarns with the slope.
    """
    rounds, stitches = np.indices((40, 40))
    drawing = np.hypot(rounds - 20, stitches - 20) % 8 < 4
    target = np.zeros((40, 40, 3))
    target[..., 0] = 24.0 + 0.8 * rounds + 20.0 * drawing
    form = np.where(drawing, 1.0, -1.0)
    lab = np.array([[light, 0.0, 0.0] for light in (90, 70, 50, 35, 20)])
    problem = a_problem(target, lab, form)
    bare = replace(problem, prices=replace(problem.prices, join=canvas.JOIN * 40, hold=None))
    for asked, bands in ((bare, True), (problem, False)):
        hands = solve(asked).carried
        assert ((hands[1:] != hands[:-1]).sum() > 1) == bands


def test_a_pair_in_hand_is_priced_by_what_is_lost_of_the_picture():
    """The yarns that show the drawing cost nothing, those that hide it most; a pair is a pair."""
    target = np.zeros((12, 30, 3))
    target[..., 0] = np.where(np.arange(30) % 10 < 5, 90.0, 20.0)
    form = np.where(np.arange(30) % 10 < 5, 1.0, -1.0) * np.ones((12, 1))
    lab = np.array([[90.0, 0, 0], [80.0, 0, 0], [20.0, 0, 0]])
    hold = a_problem(target, lab, form).prices.hold
    assert hold == pytest.approx(hold.transpose(0, 2, 1))
    assert hold[:, 0, 2] == pytest.approx(0)
    assert (hold[:, 0, 1] > 4 * hold[:, 1, 2]).all()
    assert (hold[:, 1, 2] > 0).all()
    assert not hold[:, [0, 1, 2], [0, 1, 2]].any()


def test_a_pair_that_does_not_read_is_avoided_where_another_serves():
    """Two yarns of like lightness: the finer match in colour does not bring them together."""
    rng = np.random.default_rng(1)
    target = np.where(
        rng.random((20, 30, 1)) < 0.5, np.array([44.0, 38, 38]), np.array([40.0, -12, 22])
    )
    lab = np.array([[44.0, 38, 38], [40.0, -12, 22], [90.0, 0, 8]])
    for least, meet in ((20.0, False), (0.0, True)):
        used = measure.yarns_per_round(solve(a_problem(target, lab, min_delta_L=least)).stitches, 3)
        assert (used[:, 0] & used[:, 1]).any() == meet


def test_no_warning_of_low_contrast_where_another_pair_serves():
    made = make_chart(SAMPLES / "boat.png", Settings(yarn=(*THREE, "moss=#5d6b3a")))
    assert not [f for f in made.findings if f.rule == "low-contrast"]
    assert not made.report.errors


def test_the_sail_is_rust_and_the_hull_is_ink():
    """Three yarns, two a round: the yarns change where the picture does, and only there."""
    made = make_chart(SAMPLES / "boat.png", Settings(yarn=THREE))
    used = measure.yarns_per_round(made.chart.stitches, 3)
    assert not (used[:10, 2]).any()
    assert used[25:45, 2].all()
    assert made.report.ends <= 8
    assert made.report.likeness.share > 0.97


@pytest.mark.parametrize("name", ["harbour-dog", "boat", "kelp", "gull"])
@pytest.mark.parametrize("yarns", [TWO, THREE])
def test_broken_floats_stay_above_the_floor(name, yarns):
    made = make_chart(SAMPLES / f"{name}.png", Settings(yarn=yarns, long_floats="break"))
    kept = made.report.likeness
    assert made.report.longest_float <= 5
    assert kept.chart.headline > kept.baseline.headline + 0.05
    assert made.chart.rules.isolated == "keep"
    assert any("staggered" in words for words in map(str, made.report.remarks))


def test_ticks_stand_in_staggered_rows_behind_long_floats_alone():
    """A round of 30 with one dark stitch: its yarn floats behind the other 29; one of short floats."""
    stitches = np.zeros((6, 30), np.uint8)
    stitches[:, 7] = 1
    stitches[3] = np.arange(30) % 8 == 0
    stitches[5, 20:] = measure.NO_STITCH
    places = canvas.tick_places(stitches, 5, True)
    assert not places[3].any()
    assert not places[:, 7].any()
    assert not places[5, 20:].any()
    at = [np.flatnonzero(row) for row in places]
    assert (np.diff(at[0])[1:] == 6).all()
    assert set((at[0] - 2) % 6) & set(at[1] % 6)
    assert len(at[0]) >= 4
    flat = canvas.tick_places(stitches[:1], 5, False)
    assert not flat[0, :7].any()  # seven stitches to the edge: broken once, anywhere
    assert (flat[0, 7:] == places[0, 7:]).all()
    assert not canvas.tick_places(stitches[:1], 28, True).any()


def test_ticks_keep_more_likeness_than_stitches_put_anywhere(monkeypatch):
    """What they are for, measured on the dog against the same solver without them."""
    settings = Settings(yarn=TWO, long_floats="break")
    with_ticks = make_chart(SAMPLES / "harbour-dog.png", settings).report.likeness
    monkeypatch.setattr(canvas, "TICK", 1.0)
    without = make_chart(SAMPLES / "harbour-dog.png", settings).report.likeness
    assert with_ticks.share > without.share + 0.03


@pytest.mark.parametrize("filler", [name for name in FILLERS if name != "tide"])
def test_behind_a_subject_no_float_is_long_and_the_subject_is_kept(filler):
    settings = Settings(yarn=TWO, filler=filler)
    path = SAMPLES / "tabby.png"
    made = make_chart(path, settings)
    source = read_source(path, settings, (60, None))
    inside = make_grid(source.picture, Gauge(), 60, None, source.mask).subject >= 0.5
    behind = ~near(inside, HALO)  # round the subject the ground stays plain, and floats are caught
    assert made.report.likeness.share >= 0.97
    floats = measure.floats(made.chart.stitches, True)
    for r, start, _, length, _ in floats.rows():
        run = behind[r, (start + np.arange(length)) % 60]
        edges = np.flatnonzero(~run)
        longest = length if not edges.size else np.diff([-1, *edges, length]).max() - 1
        assert longest <= MAX_FLOAT + 1


@pytest.mark.parametrize("chroma", [0.0, 0.35])
def test_the_nearest_yarns_are_those_that_cost_least(chroma):
    """With two yarns of one lightness, stitches of the background, fixed and missing ones."""
    rng = np.random.default_rng(3)
    shape, lab = (20, 31), rng.random((4, 3)) * 100
    lab[2, 0] = lab[1, 0]
    some = [np.where(rng.random(shape) < 0.2, rng.integers(0, 4, shape), 255) for _ in range(2)]
    wanted, fixed = (part.astype(np.uint8) for part in some)
    one = canvas.Canvas(
        rng.random((*shape, 3)) * 100,
        rng.random(shape) + 0.5,
        rng.random(shape) > 0.1,
        fixed,
        wanted,
    )
    cheapest = canvas.nearest(canvas.stitch_costs(one, lab, chroma), one.live)
    assert (canvas.nearest_in(one, lab, chroma) == cheapest).all()
