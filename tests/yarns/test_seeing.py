"""Contrast sensitivity against colour-science's Barten (1999) and its printed values; distances."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from pic2chart.yarns.seeing import (
    ACUITY,
    DISTANCE_NOTE,
    FABRIC,
    RESERVE,
    finest,
    michelson,
    pupil,
    reading_distance,
    sensitivity,
)
from tests.helpers.places import PUBLISHED

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from colour.contrast import barten1999


def theirs(u: np.ndarray, luminance: float, size: float | np.ndarray) -> np.ndarray:
    wide = barten1999.pupil_diameter_Barten1999(luminance, 60)
    sigma = barten1999.sigma_Barten1999(0.5 / 60, 0.08 / 60, wide)
    light = barten1999.retinal_illuminance_Barten1999(luminance, wide, True)
    return np.asarray(
        barten1999.contrast_sensitivity_function_Barten1999(u, sigma=sigma, E=light, X_0=size)
    )


def test_sensitivity_is_bartens() -> None:
    u = np.geomspace(0.2, 45, 40)
    for luminance in (1.0, 10.0, 100.0, 500.0):
        np.testing.assert_allclose(
            sensitivity(u, luminance), theirs(u, luminance, 60.0), rtol=1e-12
        )


def test_pupil_is_the_printed_one() -> None:
    """2.7931307 mm at 100 cd/m² and 60°: colour-science documentation of Barten (1999)."""
    assert float(pupil(100, 60)) == pytest.approx(2.7931307, abs=5e-8)


def test_published_minimum_detectable_contrast() -> None:
    """Every point of ITU-R BT.2246, figure 31, to the digits printed."""
    path = PUBLISHED / "barten_1999_detectable_contrast.csv"
    points = np.loadtxt(path, delimiter=",", comments="#", skiprows=6)
    assert len(points) == 10
    u = np.linspace(0.05, 12, 40_000)
    for log, contrast in points:
        peak = sensitivity(u, 10**log).max()
        assert 2 / 1.27 / peak == pytest.approx(contrast, abs=1.1e-7)


def test_michelson_of_known_lights() -> None:
    assert michelson(1.0, 0.0) == 1
    assert michelson(0.6, 0.2) == pytest.approx(0.5)
    assert michelson(0.0, 0.0) == 0


def test_one_minute_of_arc_is_the_end() -> None:
    """A stitch of width w fills one minute of arc at 3438 w: 15.6 m at 22 stitches in 10 cm."""
    assert float(reading_distance(ACUITY, 0.10 / 22)) == pytest.approx(15.6, abs=0.05)


def test_white_on_black_reads_nearly_to_the_end_of_acuity() -> None:
    assert 25 < float(finest(0.9, 0.005)) <= ACUITY


@given(st.floats(0.02, 0.9), st.floats(0.02, 0.9))
def test_the_finest_frequency_is_where_the_reserve_runs_out(a: float, b: float) -> None:
    u = float(finest(a, b))
    contrast = 4 / np.pi * float(michelson(a, b)) - FABRIC
    mean = 100 * (a + b) / 2

    def reserve(frequency: float) -> float:
        return contrast * float(sensitivity(frequency, mean, 4 / frequency))

    if u == 0:
        assert reserve(3.0) < RESERVE
    elif u == ACUITY:
        assert reserve(ACUITY) >= RESERVE
    else:
        assert reserve(u) == pytest.approx(RESERVE, rel=1e-3)


def test_what_reads_is_ten_times_over_the_threshold() -> None:
    """A contrast reserve of 10 (Whittaker & Lovie-Kitchin 1993), as the page says: ten times."""
    u = float(finest(0.4, 0.25))
    assert 3 < u < ACUITY
    contrast = 4 / np.pi * (0.4 - 0.25) / (0.4 + 0.25) - 0.12
    assert contrast * float(theirs(np.array(u), 32.5, 4 / u)) == pytest.approx(10.0, rel=1e-3)
    assert "(ten times)" in DISTANCE_NOTE


@given(st.floats(0.02, 0.9), st.floats(0.0, 0.5), st.floats(0.0, 0.5))
def test_more_contrast_never_reads_less_far(dark: float, step: float, more: float) -> None:
    first, second = dark * (1 + step), dark * (1 + step + more)
    assert float(finest(dark, second)) >= float(finest(dark, first)) - 1e-5


def test_a_block_of_two_reads_twice_as_far() -> None:
    assert reading_distance(12.0, 0.004, 2) == pytest.approx(2 * reading_distance(12.0, 0.004))
    assert reading_distance(0.0, 0.004) == 0


@pytest.mark.parametrize(
    ("first", "second", "metres"),
    [(0.8, 0.03, 12.05), (0.5, 0.2, 8.36), (0.3, 0.18, 4.92), (0.08, 0.04, 4.63), (0.3, 0.25, 0)],
)
def test_distances_are_pinned(first: float, second: float, metres: float) -> None:
    """By colour-science's Barten and a root finder: ten times the threshold of a square wave of four
    periods, less a contrast of 0.12, under 100 cd/m², in stitches of 4 mm. Every number is written
    out here, so that none of the module's can be changed unnoticed."""
    contrast = 4 / np.pi * (first - second) / (first + second) - 0.12
    mean = 100 * (first + second) / 2

    def spare(u: float) -> float:
        return float(contrast * theirs(np.array(u), mean, 4 / u) - 10)

    expected = 0.0
    if spare(3) > 0:
        u = 30 if spare(30) > 0 else brentq(spare, 3, 30)
        expected = 0.004 / math.tan(math.radians(0.5 / u))
    assert float(reading_distance(finest(first, second), 0.004)) == pytest.approx(
        expected, rel=1e-4
    )
    assert expected == pytest.approx(metres, abs=0.01)
