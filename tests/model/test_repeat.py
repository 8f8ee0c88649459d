"""The repeat found in charts: exact, noisy, cut off in the middle, dropped, mirrored, or none."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pic2chart.model.chart import NO_STITCH
from pic2chart.model.repeat import Repeat, find_repeat, fold, shift_agreement


def unit_of(seed: int, rounds: int, stitches: int, yarns: int = 2) -> np.ndarray:
    """A random unit with no smaller repeat within (checked by trying every divisor)."""
    rng = np.random.default_rng(seed)
    while True:
        unit = rng.integers(0, yarns, (rounds, stitches)).astype(np.uint8)
        rolls = [(r, s) for r in range(rounds) for s in range(stitches) if r or s]
        same = max(np.mean(np.roll(unit, roll, (0, 1)) == unit) for roll in rolls)
        if same < 0.85:
            return unit


def dropped(unit: np.ndarray, across: int, up: int) -> np.ndarray:
    """Copies of a unit, every other column of them moved down by half its rounds."""
    half = np.roll(unit, -(unit.shape[0] // 2), axis=0)
    pair = np.hstack([unit, half])
    return np.tile(pair, (up, across))


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.integers(3, 9), st.integers(3, 9), st.integers(2, 3))
def test_straight_repeat_is_found_exactly_in_the_round(seed, rounds, stitches, yarns):
    unit = unit_of(seed, rounds, stitches, yarns)
    found = find_repeat(np.tile(unit, (3, 4)))
    assert (found.stitches, found.rounds, found.agreement) == (stitches, rounds, 1.0)
    assert np.array_equal(fold(np.tile(unit, (3, 4)), found), unit)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([4, 6, 8]), st.integers(3, 7))
def test_half_drop_is_told_from_straight(seed, rounds, stitches):
    found = find_repeat(dropped(unit_of(seed, rounds, stitches), 3, 3))
    assert found.kind == "half-drop"
    assert (found.stitches, found.rounds) == (stitches, rounds)
    assert found.box == (2 * stitches, rounds)


@pytest.mark.parametrize("seed", range(10))
def test_noise_and_a_cut_edge_do_not_hide_the_repeat(seed):
    """Five stitches in a hundred wrong, and the flat chart ends in the middle of a unit."""
    rng = np.random.default_rng(seed)
    unit = unit_of(seed, 11, 13)
    chart = np.tile(unit, (9, 9))[:85, :110]
    wrong = rng.random(chart.shape) < 0.05
    noisy = np.where(wrong, 1 - chart, chart).astype(np.uint8)
    found = find_repeat(noisy, circular=False)
    assert (found.stitches, found.rounds, found.kind) == (13, 11, "straight")
    assert found.agreement == pytest.approx(1 - wrong.mean(), abs=0.01)
    assert np.mean(fold(noisy, found) == unit) > 0.99


def test_a_unit_that_does_not_divide_the_round_is_no_repeat_in_the_round():
    chart = np.tile(unit_of(3, 5, 7), (4, 5))[:, :32]
    assert find_repeat(chart, circular=True).stitches == 32
    assert find_repeat(chart, circular=False).stitches == 7


@pytest.mark.parametrize("seed", range(8))
def test_random_charts_and_single_motifs_have_no_repeat(seed):
    rng = np.random.default_rng(seed)
    assert find_repeat(rng.integers(0, 2, (24, 30)).astype(np.uint8)).kind == "once"
    rows, columns = np.indices((40, 44))
    centre, radius = rng.integers(12, 28, 2), rng.integers(6, 14)
    disc = (np.hypot(rows - centre[0], columns - centre[1]) < radius).astype(np.uint8)
    assert find_repeat(disc).kind == "once"


def test_hills_under_a_sky_are_no_repeat_of_one_stitch():
    """A picture that changes little along a round must not pass for stripes."""
    columns = np.arange(60)
    skyline = 20 + np.round(2.5 * np.sin(columns / 9.0)).astype(int)
    hills = (np.arange(50)[:, None] > skyline).astype(np.uint8)
    assert find_repeat(hills).kind == "once"


def test_stripes_repeat_over_one_stitch_and_a_band_repeats_along_the_round_only():
    stripes = np.repeat(np.tile([0, 0, 1], 6), 24).reshape(18, 24).astype(np.uint8)
    assert find_repeat(stripes) == Repeat(1, 3, "straight", 1.0, True)
    band = np.tile(unit_of(5, 12, 8), (1, 6))
    found = find_repeat(band)
    assert (found.stitches, found.rounds, found.kind) == (8, 12, "straight")


def test_a_mirrored_unit_is_told():
    half = unit_of(11, 9, 6)
    both = np.hstack([half, half[:, ::-1]])
    assert find_repeat(np.tile(both, (2, 4))).mirrored
    assert not find_repeat(np.tile(half, (2, 8))).mirrored
    assert find_repeat(both, circular=False).mirrored


def test_missing_stitches_are_left_out():
    chart = np.tile(unit_of(2, 6, 6), (4, 5))
    chart[3:5, 7:15] = NO_STITCH
    found = find_repeat(chart)
    assert (found.stitches, found.rounds, found.agreement) == (6, 6, 1.0)
    whole = np.full((4, 4), NO_STITCH, np.uint8)
    whole[0, 0] = 0
    assert find_repeat(whole).stitches == 1


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.booleans())
def test_agreement_of_shifts_equals_counting_them_one_by_one(seed, circular):
    rng = np.random.default_rng(seed)
    chart = rng.choice(np.array([0, 1, 2, NO_STITCH], np.uint8), (5, 7))
    share, compared = shift_agreement(chart, circular=circular)
    rounds, width = chart.shape
    shifts = range(width) if circular else range(1 - width, width)
    for up in range(rounds):
        for column, across in enumerate(shifts):
            pairs = [
                (chart[r, c], chart[r + up, (c + across) % width])
                for r in range(rounds - up)
                for c in range(width)
                if circular or 0 <= c + across < width
            ]
            pairs = [p for p in pairs if NO_STITCH not in p]
            assert compared[up, column] == len(pairs)
            if pairs:
                assert share[up, column] == pytest.approx(np.mean([a == b for a, b in pairs]))
