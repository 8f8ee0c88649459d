"""Choosing yarns: against exact solvers, on open pictures resized to a chart's grid."""

from __future__ import annotations

import subprocess
import sys
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from pic2chart.core.colour import lightness, srgb_to_lab
from pic2chart.core.errors import InputError, SettingError
from pic2chart.yarns.choose import SHORTFALL_PRICE, best_sets, choose_yarns, cluster, free_yarns
from pic2chart.yarns.classes import colour_word, colour_words

PICTURES = ("chelsea", "astronaut", "coffee", "rocket")


def grid(name: str) -> np.ndarray:
    """An open picture of scikit-image as a stitch grid: Lab [64, 60, 3]."""
    from skimage import data, transform

    return srgb_to_lab(transform.resize(getattr(data, name)(), (64, 60), anti_aliasing=True))


def shelf(count: int, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return srgb_to_lab(rng.integers(0, 256, (count, 3), dtype=np.uint8))


def squares(lab: np.ndarray, candidates: np.ndarray) -> np.ndarray:
    return ((candidates[:, None] - lab.reshape(-1, 3)) ** 2).sum(axis=-1)


def price(cost: np.ndarray, light: np.ndarray, members, gap: float) -> float:
    """What a set costs, written out from the docstring of best_sets."""
    members = list(members)
    lacks = [
        max(0.0, gap - abs(light[i] - light[j])) ** 2 for i, j in combinations(members, 2)
    ] or [0.0]
    return float(cost[members].min(axis=0).sum() + SHORTFALL_PRICE * np.mean(lacks))


def p_median_by_milp(cost: np.ndarray, k: int) -> float:
    """The optimum of the p-median problem [m, c], as an integer programme proved by HiGHS."""
    m, c = cost.shape
    served = sparse.hstack([sparse.csr_matrix((c, m)), sparse.kron(np.ones((1, m)), sparse.eye(c))])
    opened = sparse.hstack([-sparse.kron(sparse.eye(m), np.ones((c, 1))), sparse.eye(m * c)])
    counted = sparse.csr_matrix(np.r_[np.ones(m), np.zeros(m * c)])
    result = milp(
        np.r_[np.zeros(m), cost.ravel()],
        constraints=[
            LinearConstraint(served, 1, 1),
            LinearConstraint(opened, -np.inf, 0),
            LinearConstraint(counted, k, k),
        ],
        integrality=np.r_[np.ones(m), np.zeros(m * c)],
        bounds=Bounds(0, 1),
    )
    assert result.success
    return float(result.fun)


@pytest.mark.parametrize("k", [2, 3, 4, 5, 6])
@pytest.mark.parametrize("name", PICTURES)
def test_optimal_against_an_integer_programme(name, k):
    """The ratio to the proved optimum was 1 in every trial."""
    lab = grid(name)
    means, masses = cluster(lab.reshape(-1, 3), np.full(64 * 60, 1 / 3840))
    assert len(means) <= 200
    candidates = shelf(60, seed=k)
    cost = masses * squares(means, candidates)
    chosen = choose_yarns(lab, np.ones((64, 60)), candidates, k, min_delta_L=0)
    assert price(cost, candidates[:, 0], chosen, 0) / p_median_by_milp(cost, k) <= 1 + 1e-6


@pytest.mark.parametrize(("k", "count", "gap"), [(2, 60, 0), (2, 60, 20), (3, 24, 0), (3, 24, 20)])
@pytest.mark.parametrize("name", PICTURES)
def test_optimal_on_every_cell_against_all_sets(name, k, count, gap):
    """Every set is tried on the whole grid, so this holds the gathering into clusters too."""
    lab = grid(name)
    candidates = shelf(count, seed=7 * k)
    cost = squares(lab, candidates) / 3840
    best = min(price(cost, candidates[:, 0], s, gap) for s in combinations(range(count), k))
    chosen = choose_yarns(lab, np.ones((64, 60)), candidates, k, gap)
    assert price(cost, candidates[:, 0], chosen, gap) <= best * 1.001


def test_the_twenty_best_are_priced_right_and_in_order():
    means, masses = cluster(grid("chelsea").reshape(-1, 3), np.full(3840, 1 / 3840))
    candidates = shelf(40, seed=3)
    cost = masses * squares(means, candidates)
    sets = best_sets(cost, candidates[:, 0], 4, gap=20)
    assert len(sets) == 20
    assert len({members for _, members in sets}) == 20
    assert [value for value, _ in sets] == sorted(value for value, _ in sets)
    for value, members in sets:
        assert len(set(members)) == 4
        assert value == pytest.approx(price(cost, candidates[:, 0], members, 20))


def test_rescore_decides_among_the_best():
    lab, candidates = grid("coffee"), shelf(40, seed=1)
    weight = np.ones((64, 60))
    asked: list[tuple[int, ...]] = []

    def third_is_best(members: tuple[int, ...]) -> float:
        asked.append(members)
        return 0.0 if len(asked) == 3 else 1.0

    chosen = choose_yarns(lab, weight, candidates, 3, rescore=third_is_best)
    assert len(asked) == 20
    assert chosen == asked[2]
    assert asked[0] == choose_yarns(lab, weight, candidates, 3)
    assert all(list(s) == sorted(s, key=lambda i: candidates[i, 0]) for s in asked)


def test_weight_decides_and_weightless_cells_do_not_count():
    lab = np.array([[[20.0, 0, 0], [50.0, 0, 0], [90.0, 0, 0]]])
    candidates = np.array([[20.0, 0, 0], [50.0, 0, 0], [90.0, 0, 0]])
    assert choose_yarns(lab, [[1, 0, 1]], candidates, 2) == (0, 2)
    assert choose_yarns(lab, [[0, 1, 1]], candidates, 2) == (1, 2)
    assert choose_yarns(lab, [[5, 5, 0.1]], candidates, 2) == (0, 1)
    assert choose_yarns(lab, [[1, 1, 1]], candidates, 3) == (0, 1, 2)
    assert choose_yarns(lab, [[1, 9, 1]], candidates, 1) == (1,)


def test_a_lightness_gap_is_preferred_but_never_demanded():
    """Two colours of equal lightness suit the picture best, but nobody could read the chart."""
    lab = np.array([[50.0, 40, 0], [50.0, -40, 0]])
    candidates = np.array([[50.0, 40, 0], [50.0, -40, 0], [30.0, -38, 0]])
    assert choose_yarns(lab, [1, 1], candidates, 2, min_delta_L=0) == (0, 1)
    assert choose_yarns(lab, [1, 1], candidates, 2, min_delta_L=20) == (2, 0)
    assert choose_yarns(lab, [1, 1], candidates[:2], 2, min_delta_L=20) == (0, 1)


def test_two_yarns_of_a_shelf_read_against_each_other():
    for name in PICTURES:
        for seed in range(5):
            candidates = shelf(60, seed)
            dark, light = choose_yarns(grid(name), np.ones((64, 60)), candidates, 2)
            assert candidates[light, 0] - candidates[dark, 0] >= 15


@pytest.mark.parametrize("k", [0, 4])
def test_more_yarns_than_the_shelf_holds(k):
    with pytest.raises(SettingError, match=f"{k} yarns cannot be chosen from a list of 3"):
        choose_yarns(np.ones((2, 3)), [1, 1], shelf(3, 0), k)


@pytest.mark.parametrize(
    ("lab", "weight"), [(np.empty((0, 3)), []), (np.ones((2, 3)), [0, 0]), (np.ones((1, 3)), [-1])]
)
def test_an_empty_grid_is_refused(lab, weight):
    with pytest.raises(InputError, match="no stitch"):
        choose_yarns(lab, weight, shelf(3, 0), 2)
    with pytest.raises(InputError, match="no stitch"):
        free_yarns(lab, weight, 2)


@given(st.integers(1, 400), st.integers(0, 10_000), st.integers(1, 60))
@settings(deadline=None, max_examples=40)
def test_clusters_keep_weight_and_mean(n, seed, most):
    rng = np.random.default_rng(seed)
    lab = srgb_to_lab(rng.random((n, 3)))
    weight = rng.random(n) * (rng.random(n) < 0.8) + 1e-6
    means, masses = cluster(lab, weight, most)
    assert len(means) == len(masses) <= most
    assert masses.sum() == pytest.approx(weight.sum())
    np.testing.assert_allclose(masses @ means, weight @ lab, rtol=1e-9, atol=1e-9)


# ---- colours made for the picture ---------------------------------------------------------------


@pytest.mark.parametrize("name", PICTURES)
@pytest.mark.parametrize("k", [1, 2, 3, 4, 6, 12])
def test_free_yarns_read_and_have_names_of_their_own(name, k):
    yarns = free_yarns(grid(name), np.ones((64, 60)), k, seed=0)
    assert len(yarns) == k
    assert len({yarn.name for yarn in yarns}) == k
    light = np.array([float(lightness(yarn.rgb)) for yarn in yarns])
    assert (np.diff(light) > 0).all()
    half = max((k - 1) / 2, 1.0)
    for i, j in combinations(range(k), 2):
        if j - i >= half:
            assert light[j] - light[i] >= min(20.0, 85 / half)


def test_free_yarns_come_near_the_clusters_when_they_lie_apart():
    """Five separate colours: nothing needs to move, so each is found to within rounding."""
    from skimage.color import deltaE_ciede2000

    colours = srgb_to_lab(
        np.uint8([[38, 48, 76], [93, 107, 58], [168, 80, 47], [174, 182, 189], [236, 226, 208]])
    )
    three = colours[[0, 2, 4]]
    lab = np.repeat(three, [50, 20, 30], axis=0)
    found = srgb_to_lab([yarn.rgb for yarn in free_yarns(lab, np.ones(100), 3)])
    assert deltaE_ciede2000(found, three).max() < 0.5


def test_free_yarns_of_a_plain_picture():
    yarns = free_yarns(np.tile([50.0, 10.0, 20.0], (10, 1)), np.ones(10), 3)
    light = [float(lightness(yarn.rgb)) for yarn in yarns]
    assert np.diff(light).min() >= 20
    assert light[1] == pytest.approx(50, abs=1)
    dark = free_yarns(np.zeros((4, 3)), np.ones(4), 2, min_delta_L=40)
    assert float(lightness(dark[1].rgb)) - float(lightness(dark[0].rgb)) >= 40


def test_free_yarns_refuse_no_yarns():
    with pytest.raises(SettingError, match="at least 1"):
        free_yarns(np.ones((2, 3)), [1, 1], 0)


@pytest.mark.slow
def test_the_same_bytes_whatever_the_threads():
    """Two fresh interpreters, one and two threads."""
    code = (
        "import numpy as np; from pic2chart.core.colour import srgb_to_lab;"
        "from pic2chart.yarns.choose import choose_yarns, free_yarns;"
        "rng = np.random.default_rng(4); lab = srgb_to_lab(rng.random((64, 60, 3)));"
        "w = np.ones((64, 60)); print(free_yarns(lab, w, 6, seed=3));"
        "print(choose_yarns(lab, w, srgb_to_lab(rng.random((200, 3))), 6))"
    )
    outputs = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={"OMP_NUM_THREADS": threads, "OPENBLAS_NUM_THREADS": threads},
            capture_output=True,
            check=True,
        ).stdout
        for threads in ("1", "2")
    }
    assert len(outputs) == 1


def test_choosing_from_a_shelf_loads_no_large_library():
    code = (
        "import sys; from pic2chart.yarns.choose import choose_yarns; import pic2chart.yarns.shelf;"
        "choose_yarns([[50, 0, 0]], [1], [[40, 0, 0], [70, 0, 0]], 2);"
        "print([m for m in ('skimage', 'scipy', 'sklearn', 'colormath') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


# ---- words --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rgb", "word"),
    [
        ((0, 0, 0), "black"),
        ((255, 255, 255), "white"),
        ((128, 128, 128), "grey"),
        ((255, 0, 0), "red"),
        ((255, 128, 0), "orange"),
        ((255, 255, 0), "yellow"),
        ((0, 128, 0), "green"),
        ((0, 0, 255), "blue"),
        ((128, 0, 128), "dark purple"),
        ((255, 192, 203), "pale pink"),
        ((236, 226, 208), "cream"),
        ((38, 48, 76), "dark blue"),
        ((168, 80, 47), "rust"),
        ((93, 107, 58), "olive"),
        ((174, 182, 189), "pale grey"),
        ((70, 40, 20), "very dark brown"),
        ((0, 128, 128), "teal"),
    ],
)
def test_words_people_would_use(rgb, word):
    assert colour_word(tuple(srgb_to_lab(rgb).tolist())) == word


@given(st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128)))
def test_every_colour_has_a_word(lab):
    assert 3 <= len(colour_word(lab)) <= 25


def test_words_are_told_apart():
    assert colour_words([(50.0, 0, 0), (55.0, 0, 0), (5.0, 0, 0), (60.0, 0, 0)]) == (
        "grey", "grey 2", "black", "grey 3",
    )  # fmt: skip


def test_of_two_yarns_alike_the_one_that_is_surely_far_enough_is_chosen() -> None:
    """Both greys lie as near to the picture's; one is just 20 L* from the dark yarn, and known to 6."""
    candidates = np.array([[30.0, 0, 0], [52.0, 0, 0], [58.0, 0, 0]])
    cells = np.array([[30.0, 0, 0], [55.0, 0, 0]])
    plain = choose_yarns(cells, np.ones(2), candidates, 2)
    unsure = choose_yarns(cells, np.ones(2), candidates, 2, within=np.array([0.0, 12.0, 0.0]))
    assert plain == (0, 1)
    assert unsure == (0, 2)
