"""Fillers: no float over four in either colour, on any circle, and no stray stitches."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pic2chart.core.errors import SettingError
from pic2chart.design.filler import FILLERS, MAX_FLOAT, fill, find_filler, fit

NAMES = list(FILLERS)


def longest_float(row: np.ndarray) -> int:
    """Longest stretch of one colour on the circle, counted stitch by stitch; 0 in one colour."""
    if len(set(row.tolist())) == 1:
        return 0
    longest = run = 0
    for before, here in zip(np.tile(row, 2), np.tile(row, 2)[1:], strict=False):
        run = run + 1 if before == here else 0
        longest = max(longest, run + 1)
    return longest


def isolated(stitches: np.ndarray) -> int:
    """Stitches with none of their colour among eight neighbours; all edges joined."""
    shifts = [(up, along) for up in (-1, 0, 1) for along in (-1, 0, 1) if up or along]
    like = [np.roll(stitches, shift, axis=(0, 1)) == stitches for shift in shifts]
    return int((~np.any(like, axis=0)).sum())


def test_there_are_at_least_eight_and_they_differ():
    assert len(FILLERS) >= 8
    assert len({fill(name, 24, 24).tobytes() for name in NAMES}) == len(NAMES)
    for name, filler in FILLERS.items():
        assert filler.name == name
        assert filler.description
        assert not filler.tile.flags.writeable
        assert set(np.unique(filler.tile)) == {0, 1}
        assert max(filler.tile.shape) <= 8


@pytest.mark.parametrize("name", NAMES)
def test_no_float_over_four_at_any_width(name):
    tile = FILLERS[name].tile
    for stitches in range(8, 121):
        for start in range(tile.shape[1]):
            filled = fill(name, 2 * tile.shape[0], stitches, (0, start))
            assert max(longest_float(row) for row in filled) <= MAX_FLOAT, (stitches, start)


@pytest.mark.parametrize("name", NAMES)
def test_no_stray_stitch_at_any_width(name):
    filler = FILLERS[name]
    assert (isolated(np.tile(filler.tile, (3, 3))) > 0) == filler.isolated
    if not filler.isolated:
        for stitches in range(8, 121):
            assert isolated(fill(name, 2 * filler.height, stitches)) == 0, stitches


@pytest.mark.parametrize("name", NAMES)
def test_only_the_join_departs_from_the_tile(name):
    tile = FILLERS[name].tile
    for stitches in range(8, 60):
        filled = fill(name, tile.shape[0], stitches)
        plain = np.tile(tile, (1, stitches))[:, :stitches]
        changed = filled != plain
        assert changed.sum(axis=1).max() <= 1
        assert not changed[:, MAX_FLOAT : stitches - MAX_FLOAT].any()
        if stitches % tile.shape[1] == 0:
            assert not changed.any()


@given(st.sampled_from(NAMES), st.integers(1, 40), st.integers(1, 130),
       st.integers(-50, 50), st.integers(-50, 50))  # fmt: skip
def test_any_size_and_offset(name, rounds, stitches, up, across):
    filled = fill(name, rounds, stitches, (up, across))
    assert filled.shape == (rounds, stitches)
    assert filled.dtype == np.uint8
    assert all(longest_float(row) <= MAX_FLOAT for row in filled)


def test_the_offset_moves_the_pattern_on():
    whole = fill("rain", 12, 24)
    assert (fill("rain", 6, 24, (3, 0)) == whole[3:9]).all()
    assert (fill("rain", 12, 24, (0, 3)) == np.roll(whole, -3, axis=1)).all()


@given(st.sampled_from(NAMES), st.integers(1, 500))
def test_fit_gives_the_nearest_multiples(name, stitches):
    width = FILLERS[name].width
    below, above = fit(name, stitches)
    assert below % width == above % width == 0
    assert above - stitches < width
    assert below == max(width, above if stitches % width == 0 else above - width)


def test_an_unknown_filler_names_those_there_are():
    with pytest.raises(SettingError, match="sand, buoys"):
        find_filler("anchors")
