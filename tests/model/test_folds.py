"""Where a chart folds: units are believed only while the squares keep them; places turn with the hand."""

from __future__ import annotations

import numpy as np
import pytest

from pic2chart.model.chart import NO_STITCH, Catch, Chart, for_hand
from pic2chart.model.chart_file import chart_from_text, chart_to_text
from pic2chart.model.construction import Construction, Opening, Shaping
from pic2chart.model.folds import Place, Unit, folds_of, keeps
from pic2chart.model.yarn import Yarn

YARNS = (Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"))
TILE = np.array([[0, 1, 1], [1, 0, 0]], np.uint8)


def tiled(times: int, up: int = 1, **parts: object) -> Chart:
    return Chart(np.tile(TILE, (up, times)), YARNS, **parts)  # type: ignore[arg-type]


WHOLE = Unit(0, 2, 0, 3, 4)


def test_a_unit_is_kept_by_squares_that_repeat() -> None:
    assert keeps(tiled(4), WHOLE)
    assert keeps(tiled(4, up=3), Unit(0, 2, 0, 3, 4, up=3))
    assert not keeps(tiled(4), Unit(0, 2, 0, 2, 6))
    assert not keeps(tiled(4), Unit(0, 2, 0, 3, 3)), "stitches stand beside it"
    assert not keeps(tiled(4), Unit(0, 3, 0, 3, 4)), "it goes beyond the last round"
    assert not keeps(tiled(1), Unit(0, 2, 0, 3, 1)), "it is not worked again"


@pytest.mark.parametrize("stitch", range(12))
def test_one_changed_stitch_makes_it_no_unit(stitch: int) -> None:
    cells = tiled(4).stitches.copy()
    cells[1, stitch] = 1 - cells[1, stitch]
    assert not keeps(tiled(4).with_(stitches=cells), WHOLE)


def test_catches_shaping_and_openings_repeat_with_it() -> None:
    one = tiled(4, catches=(Catch(0, 1, 0),))
    assert not keeps(one, WHOLE)
    assert keeps(one.with_(catches=tuple(Catch(0, 1 + 3 * n, 0) for n in range(4))), WHOLE)
    shaped = Construction(shapings=tuple(Shaping(1, 3 * n, "ssk") for n in range(4)))
    assert keeps(tiled(4, construction=shaped), WHOLE)
    odd = Construction(shapings=(Shaping(1, 0, "k2tog"), *shaped.marks[1:]))
    assert not keeps(tiled(4, construction=odd), WHOLE)
    assert not keeps(tiled(4, construction=Construction(openings=(Opening(1, 2, 3),))), WHOLE)


def test_a_unit_may_stand_between_squares_without_a_stitch() -> None:
    cells = np.full((2, 16), NO_STITCH, np.uint8)
    cells[:, 2:14] = np.tile(TILE, (1, 4))
    unit = Unit(0, 2, 2, 3, 4)
    chart = Chart(cells, YARNS, construction=Construction(units=(unit,)))
    assert folds_of(chart) == (unit,)
    left = for_hand(chart, "left")
    assert folds_of(left) == (Unit(0, 2, 2, 3, 4),)


def test_a_repeat_that_goes_evenly_into_the_chart_is_a_unit() -> None:
    assert folds_of(tiled(4, up=2, repeat=(3, 2))) == (Unit(0, 2, 0, 3, 4, up=2),)
    assert folds_of(tiled(4, repeat=(5, 2))) == ()
    assert folds_of(tiled(4)) == ()


def test_units_over_one_another_are_not_believed() -> None:
    told = Construction(units=(WHOLE, Unit(1, 1, 0, 3, 4)))
    assert folds_of(tiled(4, construction=told)) == (WHOLE,)


def test_places_and_units_stand_in_the_file_and_turn_with_the_hand() -> None:
    told = Construction(places=(Place(0, 5, "back"), Place(5, 7, "palm")), units=(WHOLE,))
    chart = tiled(4, construction=told)
    again = chart_from_text(chart_to_text(chart))
    assert again.construction.places == told.places
    assert again.construction.units == told.units
    left = for_hand(chart, "left").construction.places
    assert left == (Place(0, 7, "palm"), Place(7, 5, "back"))
    assert for_hand(for_hand(chart, "left"), "right").construction == told


def test_parts_of_the_lists_that_cannot_be_read_are_passed_over() -> None:
    text = chart_to_text(tiled(4, construction=Construction(units=(WHOLE,))))
    odd = text.replace('"units": [', '"units": [7, {"round": 0}, {"round": 1, "times": "x"},', 1)
    assert odd != text
    assert chart_from_text(odd).construction.units == (WHOLE,)
