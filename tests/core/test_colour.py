"""Colours against CIE 15, IEC 61966-2-1, WCAG 2.2, Sharma 2005, Machado 2009 and two libraries."""

from __future__ import annotations

import csv
import subprocess
import sys
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pic2chart.core import colour
from tests.helpers.colour_vision import seen_linear
from tests.helpers.places import PUBLISHED


def sharma_pairs() -> np.ndarray:
    text = (PUBLISHED / "ciede2000_sharma_2005.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return np.array([[float(value) for value in row.values()] for row in rows])


@pytest.fixture(scope="module")
def science():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour as science

        science.CVD_MATRICES_MACHADO2010  # noqa: B018  (loads the data sets)
    return science


@pytest.fixture(scope="module")
def cube() -> np.ndarray:
    """Every 17th sRGB value, corners and greys among them: uint8 [4096, 3]."""
    steps = np.arange(0, 256, 17, dtype=np.uint8)
    return np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)


OPPOSITE = [9, 13]
"""Rows of Sharma's table whose two hues lie exactly 180° apart."""


def test_sharma_pairs_to_the_printed_places():
    pairs = sharma_pairs()
    assert len(pairs) == 34
    lab1, lab2, printed = pairs[:, 1:4], pairs[:, 4:7], pairs[:, 7]
    both_ways = np.stack([colour.delta_e2000(lab1, lab2), colour.delta_e2000(lab2, lab1)])
    wrong = np.abs(both_ways - printed).max(axis=0) > 0.5e-4 + 1e-9
    # Pairs 10 and 14 have hues 180° apart: rounding alone decides between the two values printed
    # for them and for the pair after, and a processor or a library may decide either way.
    assert set(pairs[wrong, 0]) <= {10.0, 14.0}
    for row in OPPOSITE:
        ties = np.abs(both_ways[:, row, None] - printed[row : row + 2]).min(axis=1)
        assert ties.max() <= 1e-4


def test_delta_e2000_with_the_textile_weight(science):
    pairs = sharma_pairs()
    expected = science.difference.delta_E_CIE2000(pairs[:, 1:4], pairs[:, 4:7], textiles=True)
    ours = colour.delta_e2000(pairs[:, 1:4], pairs[:, 4:7], kL=2)
    np.testing.assert_allclose(np.delete(ours, OPPOSITE), np.delete(expected, OPPOSITE), atol=1e-9)


def test_delta_e2000_broadcasts_one_colour_against_many():
    pairs = sharma_pairs()
    one, many = pairs[0, 1:4], pairs[:, 4:7]
    each = [float(colour.delta_e2000(one, lab)) for lab in many]
    np.testing.assert_allclose(colour.delta_e2000(one, many), each, atol=1e-12)
    np.testing.assert_allclose(colour.delta_e2000(many, one), each, atol=1e-12)
    assert colour.delta_e2000(many[:4, None], many[None, :5]).shape == (4, 5)


def test_delta_e76_is_the_distance():
    assert colour.delta_e76([50, 3, 0], [50, 0, 4]) == pytest.approx(5.0)


def test_lab_agrees_with_scikit_image(cube):
    from skimage import color

    np.testing.assert_allclose(colour.srgb_to_lab(cube), color.rgb2lab(cube / 255), atol=1e-3)
    floats = cube / 255
    np.testing.assert_allclose(colour.srgb_to_lab(floats), colour.srgb_to_lab(cube), atol=1e-9)


def test_lab_agrees_with_the_rounded_matrix_of_the_standard(cube, science):
    """IEC 61966-2-1 prints its matrix to four places; that moves Lab by less than 0.02."""
    xyz = science.models.sRGB_to_XYZ(cube / 255)
    expected = science.models.XYZ_to_Lab(xyz, np.array([0.3127, 0.3290]))
    np.testing.assert_allclose(colour.srgb_to_lab(cube), expected, atol=0.05)
    np.testing.assert_allclose(colour.lightness(cube), expected[:, 0], atol=0.02)


def test_a_picture_keeps_its_shape_and_agrees():
    from skimage import color, data

    cat = data.chelsea()
    lab = colour.srgb_to_lab(cat)
    assert lab.shape == cat.shape
    assert lab.dtype == np.float64
    np.testing.assert_allclose(lab, color.rgb2lab(cat), atol=1e-3)
    np.testing.assert_array_equal(colour.lab_to_srgb(lab), cat)


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_srgb_survives_lab_and_hex(rgb):
    assert tuple(colour.lab_to_srgb(colour.srgb_to_lab(np.uint8(rgb)))) == rgb
    assert colour.srgb_to_lab(np.array(rgb)).tolist() == colour.srgb_to_lab(np.uint8(rgb)).tolist()
    assert colour.parse_hex(colour.to_hex(rgb)) == rgb
    assert bool(colour.in_gamut(colour.srgb_to_lab(np.uint8(rgb))))


def test_colours_out_of_gamut_are_clipped():
    lab = [[50, 120, 0], [120, 0, 0], [-5, 0, 0], [60, 0, -120]]
    assert not colour.in_gamut(lab).any()
    clipped = colour.lab_to_srgb(lab)
    assert clipped.dtype == np.uint8
    assert clipped[1].tolist() == [255, 255, 255]
    assert clipped[2].tolist() == [0, 0, 0]
    assert clipped[0, 1] == 0
    assert clipped[3, 2] == 255


def test_lightness_of_cie_15():
    """Y 12.19722535 is L* 41.527876 (CIE 15, as the documentation of colour-science prints it)."""
    assert colour.lightness_from_luminance(0.1219722535) == pytest.approx(41.527876, abs=5e-7)
    assert colour.lightness_from_luminance([0.0, 1.0]).tolist() == pytest.approx([0.0, 100.0])
    assert colour.lightness(np.uint8([[0, 0, 0], [255, 255, 255]])).tolist() == pytest.approx(
        [0.0, 100.0], abs=1e-9
    )


def test_transfer_of_iec_61966():
    """The two branches meet at 0.04045, and 0.5 is 0.21404 in linear light."""
    ramp = np.repeat(np.array([[0.04045], [0.5]]), 3, axis=1)
    expected = [0.04045 / 12.92, ((0.5 + 0.055) / 1.055) ** 2.4]
    assert colour.relative_luminance(ramp).tolist() == pytest.approx(expected)


def test_white_balance_is_one_part_gains_and_two_of_bradfords_adaptation(science):
    """The adaptation as colour-science has it; the reference itself becomes what it is known to be."""
    seen, known = np.array([0.5, 0.41, 0.22]), np.array([0.36, 0.37, 0.35])
    found = colour.white_balance(seen, known)
    to_xyz = science.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ
    adapted = science.adaptation.matrix_chromatic_adaptation_VonKries(
        to_xyz @ seen, to_xyz @ known, "Bradford"
    )
    bradford = np.linalg.inv(to_xyz) @ adapted @ to_xyz
    assert found.transpose() == pytest.approx((np.diag(known / seen) + 2 * bradford) / 3, abs=2e-3)
    assert seen @ found == pytest.approx(known)
    assert colour.white_balance(known, known) == pytest.approx(np.eye(3), abs=1e-9)


@pytest.mark.parametrize(
    ("first", "second", "ratio"),
    [
        ("#000000", "#ffffff", 21.0),  # WCAG 2.2, the definition's own extreme
        ("#ffffff", "#ffffff", 1.0),
        ("#767676", "#ffffff", 4.54),  # the palest grey that passes 1.4.3 on white: widely quoted,
        ("#777777", "#ffffff", 4.48),  # ... and the first that fails; both from memory
        ("#0000ff", "#ffffff", 8.59),  # from memory
        ("#ff0000", "#ffffff", 4.00),  # from memory
    ],
)
def test_contrast_of_wcag(first, second, ratio):
    a, b = colour.parse_hex(first), colour.parse_hex(second)
    assert colour.contrast_ratio(a, b) == pytest.approx(ratio, abs=0.005)
    assert colour.contrast_ratio(b, a) == colour.contrast_ratio(a, b)


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [("protan", "Protanomaly"), ("deutan", "Deuteranomaly")],
)
def test_simulation_uses_the_published_matrices(ours, theirs, cube, science):
    matrix = science.CVD_MATRICES_MACHADO2010[theirs][1.0]
    linear = science.models.eotf_sRGB(cube / 255)
    expected = science.models.eotf_inverse_sRGB(np.clip(linear @ matrix.T, 0, 1)) * 255
    difference = colour.simulate(cube, ours).astype(float) - expected
    assert np.abs(difference).max() <= 0.5 + 1e-3
    greys = cube[(cube == cube[:, :1]).all(axis=1)].astype(int)
    assert np.abs(colour.simulate(greys, ours).astype(int) - greys).max() <= 1


def test_tritan_is_brettels_two_half_planes(cube, science):
    linear = science.models.eotf_sRGB(cube / 255)
    seen = np.clip(seen_linear(linear, "tritan"), 0, 1)
    expected = science.models.eotf_inverse_sRGB(seen) * 255
    difference = colour.simulate(cube, "tritan").astype(float) - expected
    assert np.abs(difference).max() <= 0.5 + 0.02
    light = colour.lightness(colour.simulate(cube, "tritan")) - colour.lightness(cube)
    assert float(np.quantile(np.abs(light), 0.95)) < 4  # short cones hardly add to lightness


def test_red_and_moss_merge_for_the_red_green_blind():
    rust, moss = colour.parse_hex("#a8502f"), colour.parse_hex("#5d6b3a")

    def apart(deficiency):
        seen = [colour.srgb_to_lab(colour.simulate(rgb, deficiency)) for rgb in (rust, moss)]
        return float(colour.delta_e2000(*seen))

    plain = float(colour.delta_e2000(colour.srgb_to_lab(rust), colour.srgb_to_lab(moss)))
    assert apart("deutan") < plain / 2
    assert apart("tritan") > plain / 2


@pytest.mark.parametrize("text", ["", "#12", "#12345", "#1234567", "123456", "#12345g", "#12\n"])
def test_hex_refuses_the_rest(text):
    with pytest.raises(ValueError, match="#rrggbb"):
        colour.parse_hex(text)


def test_short_hex():
    assert colour.parse_hex("#1aF") == (0x11, 0xAA, 0xFF)


@pytest.mark.parametrize("rgb", [[256, 0, 0], [-1, 0, 0]])
def test_whole_numbers_out_of_range_are_refused(rgb):
    with pytest.raises(ValueError, match="between 0 and 255"):
        colour.srgb_to_lab(rgb)


def test_importing_colour_loads_no_large_library():
    code = (
        "import sys, pic2chart.core.colour as c; c.srgb_to_lab([1, 2, 3]); c.lab_to_srgb([50, 0, 0]);"
        "print([m for m in ('skimage', 'scipy', 'sklearn', 'colormath') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
