"""The solver on open photographs: no chart it makes breaks a hard rule."""

from __future__ import annotations

import numpy as np
import pytest
from skimage import color, data, transform
from sklearn.cluster import KMeans
from sklearn.datasets import load_sample_image

from pic2chart.model import measure
from pic2chart.solve.problem import Prices, Problem, energy_of
from pic2chart.solve.solver import solve

PICTURES = {
    "chelsea": lambda: data.chelsea(),
    "astronaut": lambda: data.astronaut(),
    "coffee": lambda: data.coffee(),
    "china": lambda: load_sample_image("china.jpg"),
    "flower": lambda: load_sample_image("flower.jpg"),
}
ROUNDS, WIDTH, LIMIT = 44, 40, 5


def squared_differences(picture, rounds, width, yarns, seed=0):
    """Float64 [rounds, width, yarns]: squared Lab difference of each stitch to each of its yarns."""
    small = transform.resize(picture, (rounds, width), anti_aliasing=True)
    lab = color.rgb2lab(small)[::-1, ::-1]
    found = KMeans(yarns, n_init=1, random_state=seed).fit(lab.reshape(-1, 3))
    return ((lab[:, :, None] - found.cluster_centers_) ** 2).sum(axis=3)


def picture_problem(name, yarns, per_round, **law):
    cost = squared_differences(PICTURES[name](), ROUNDS, WIDTH, yarns)
    weight = np.full((ROUNDS, WIDTH), 60.0)
    live = np.ones((ROUNDS, WIDTH), bool)
    live[-6:, ::9] = False
    prices = Prices(400.0, 150.0, 400.0, 400.0)
    return Problem(cost, live, weight, weight, per_round, LIMIT, prices=prices, **law)


@pytest.mark.parametrize("name", PICTURES)
@pytest.mark.parametrize("yarns", [2, 3, 4, 5, 6])
def test_a_photograph_becomes_a_chart_within_the_rules(name, yarns):
    for breaking, circular in ((False, True), (True, True), (True, False)):
        problem = picture_problem(name, yarns, 2, breaking=breaking, circular=circular)
        solution = solve(problem)
        stitches = solution.stitches
        assert not solution.blocked
        assert ((stitches == 255) == ~problem.live).all()
        assert measure.yarns_per_round(stitches, yarns).sum(axis=1).max() <= 2
        assert not breaking or measure.floats(stitches, circular).longest <= LIMIT
        assert solution.energy == energy_of(problem, stitches, solution.carried)
        assert solution.sweeps < 40
        again = solve(problem, start=stitches)
        assert again.energy <= solution.energy + 1e-6 * abs(solution.energy)


@pytest.mark.parametrize("breaking", [False, True])
def test_more_yarns_a_round_never_cost_likeness(breaking):
    """Three yarns a round come nearer the picture than two, two nearer than one."""
    misses = []
    for per_round in (1, 2, 3):
        problem = picture_problem("astronaut", 4, per_round, breaking=breaking)
        solution = solve(problem)
        assert measure.yarns_per_round(solution.stitches, 4).sum(axis=1).max() <= per_round
        misses.append(solution.energy)
    assert misses[0] > misses[1] > misses[2]


def test_the_picture_is_kept_where_the_rules_do_not_bind():
    """With no price and room for every yarn each stitch takes its nearest yarn."""
    cost = squared_differences(PICTURES["coffee"](), ROUNDS, WIDTH, 3)
    none = np.zeros((ROUNDS, WIDTH))
    solution = solve(Problem(cost, none == 0, none, none, per_round=3))
    assert np.array_equal(solution.stitches, cost.argmin(axis=2))
