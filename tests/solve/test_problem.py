"""The energy of a chart small enough to add up by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pic2chart.solve.problem import Prices, Problem, energy_of

STITCHES = np.array([[0, 0, 1, 1], [0, 1, 1, 1]], np.uint8)
BOTH = np.array([0b11, 0b11])


def a_problem() -> Problem:
    """A stitch costs 1 in the first yarn and 2 in the second."""
    cost = np.tile([1.0, 2.0], (2, 4, 1))
    beside, above = np.full((2, 4), 3.0), np.full((2, 4), 5.0)
    prices = Prices(isolated=100.0, catch=7.0, third=100.0, join=11.0)
    return Problem(cost, np.ones((2, 4), bool), beside, above, float_limit=1, prices=prices)


def test_nothing_is_charged_that_nobody_priced() -> None:
    free = replace(a_problem(), prices=Prices(), per_round=3)
    lonely = np.array([[0, 0, 0, 0], [0, 1, 0, 0]], np.uint8)
    assert energy_of(free, lonely, np.array([0b01, 0b11])) == 7 * 1 + 2 + 2 * 3 + 1 * 5


def test_energy_in_the_round() -> None:
    """Stitches 3 · 1 + 5 · 2, four changes, one difference, and three floats over one stitch."""
    assert energy_of(a_problem(), STITCHES) == 13 + 4 * 3 + 1 * 5 + 3 * 7


def test_energy_worked_flat() -> None:
    """Only the change within each round; each yarn is carried to the edges all the same."""
    assert energy_of(replace(a_problem(), circular=False), STITCHES) == 13 + 2 * 3 + 1 * 5 + 3 * 7


def test_energy_of_the_yarns_in_hand() -> None:
    """A yarn taken up between the rounds is paid for, one that was in hand is not."""
    problem, alone = a_problem(), energy_of(a_problem(), STITCHES)
    assert energy_of(problem, STITCHES, BOTH) == alone
    assert energy_of(problem, STITCHES, np.array([0b01, 0b11])) == alone + 11


def test_energy_of_form() -> None:
    """Where form is 4 the darker yarn pays 4, where it is -6 the lighter pays 6."""
    form = np.zeros((2, 4))
    form[0, 0], form[0, 2] = 4.0, -6.0
    light = np.array([20.0, 90.0])
    shaped = replace(a_problem(), form=form, light=light)
    assert energy_of(shaped, STITCHES) == energy_of(a_problem(), STITCHES) + 4 + 6
