"""Squares sorted into yarns where light falls off, pens scatter, and a square or two is odd.

The squares are made as numbers here, with no photo: what each shows is known exactly.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from pic2chart.reading.cells import Cells, features, sort_values
from pic2chart.reading.marks import NUMBERS
from pic2chart.reading.shades import sort_cells, uncertain_yarns

ROWS, COLUMNS = 24, 30


def cells_of(levels: np.ndarray) -> Cells:
    """Squares of these grey levels [rows, columns, 3], without marks, in light taken to be even."""
    logs, shape = Cells.logs(levels), levels.shape[:2]
    return Cells(logs, np.zeros((*shape, NUMBERS)), np.zeros(shape), logs)


def patches(colours: list[tuple[int, int, int]], seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Yarns [rows, columns] in soft-edged patches, and their levels with a camera's noise."""
    rng = np.random.default_rng(seed)
    soft = cv2.GaussianBlur(rng.normal(size=(ROWS, COLUMNS)), (0, 0), 1.3)
    yarn = np.searchsorted(np.quantile(soft, np.linspace(0, 1, len(colours) + 1)[1:-1]), soft)
    return yarn, np.array(colours)[yarn] + rng.normal(0, 0.8, (ROWS, COLUMNS, 3))


def shadow(depth: float, fall: float, where: tuple[float, float] = (12, 19)) -> np.ndarray:
    """What is left of the light [rows, columns, 1] where a hand shades a patch and falls off."""
    y, x = np.mgrid[:ROWS, :COLUMNS]
    inside = np.hypot(y - where[0], x - where[1]) < 5.5
    return 1 - depth * cv2.GaussianBlur(inside.astype(float), (0, 0), fall)[..., None]


def like(found: np.ndarray, truth: np.ndarray) -> bool:
    """Whether two sortings are the same but for the groups' numbers."""
    pairs = {(int(a), int(b)) for a, b in zip(found.ravel(), truth.ravel(), strict=True)}
    return len(pairs) == len({a for a, _ in pairs}) == len({b for _, b in pairs})


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("depth", [0.2, 0.3, 0.4])
def test_a_shadow_that_falls_off_makes_no_yarn(depth, seed):
    yarn, levels = patches([(240, 236, 228), (40, 60, 110)], seed)
    cells = cells_of(levels * shadow(depth, 0.9))
    assert like(sort_cells(cells).yarn, yarn)
    if (depth, seed) in ((0.3, 2), (0.4, 0), (0.4, 3)):  # where there is something to join
        assert sort_values(features(cells.colour, cells.shape), yarn.shape).count > 2


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("grey", [190, 150, 110])
def test_a_grey_yarn_beside_white_is_no_shadow(grey, seed):
    yarn, levels = patches([(240, 240, 240), (grey, grey, grey), (25, 25, 28)], seed)
    assert like(sort_cells(cells_of(levels)).yarn, yarn)


def test_a_grey_motif_in_one_patch_with_a_plain_edge_is_no_shadow():
    y, x = np.mgrid[:ROWS, :COLUMNS]
    yarn = (np.hypot(y - 12, x - 19) < 5.5).astype(int)
    levels = np.array([(240, 240, 240), (180, 180, 180)])[yarn]
    noise = np.random.default_rng(3).normal(0, 0.8, levels.shape)
    assert like(sort_cells(cells_of(levels + noise)).yarn, yarn)


def test_squares_that_touch_no_other_of_their_yarn_are_known_in_a_shadow_by_those_beside_them():
    yarn = np.zeros((ROWS, COLUMNS), int)
    yarn[2::4, 1::4] = 1
    levels = np.array([(105, 60, 130), (210, 214, 192)])[yarn]
    noise = np.random.default_rng(5).normal(0, 0.8, levels.shape)
    cells = cells_of((levels + noise) * shadow(0.4, 0.9))
    assert sort_values(features(cells.colour, cells.shape), yarn.shape).count > 2
    assert like(sort_cells(cells).yarn, yarn)


@pytest.mark.parametrize("seed", range(4))
def test_dark_pens_that_scatter_by_a_few_levels_are_told_apart(seed):
    rng = np.random.default_rng(seed)
    yarn, levels = patches([(235, 230, 225), (22, 20, 21), (95, 62, 40), (200, 35, 40)], seed)
    pen = rng.normal(0, 7, levels.shape) * (yarn > 0)[..., None]
    found = sort_cells(cells_of(np.maximum(levels + pen, 0)))
    assert like(found.yarn, yarn)
    assert found.apart > 3


def test_one_odd_square_is_no_yarn_unless_it_is_clearly_another_colour():
    yarn, levels = patches([(235, 230, 225), (78, 50, 35)], 1)
    rng = np.random.default_rng(2)
    levels = levels + rng.normal(0, 5, levels.shape) * (yarn == 1)[..., None]
    place = tuple(np.argwhere(yarn == 1)[40])
    odd = levels.copy()
    odd[place] = (72, 53, 25)
    assert like(sort_cells(cells_of(odd)).yarn, yarn)
    odd[place] = (40, 120, 200)
    found = sort_cells(cells_of(odd))
    assert found.count == 3
    assert [f.what.code for f in uncertain_yarns(found)] == ["yarn-in-few-squares"]


def test_yarns_that_are_hardly_apart_are_told():
    _, levels = patches([(200, 190, 180), (186, 176, 166)], 4)
    rng = np.random.default_rng(6)
    near = sort_cells(cells_of(levels + rng.normal(0, 1.6, levels.shape)))
    clear = sort_cells(cells_of(patches([(200, 190, 180), (120, 60, 40)], 4)[1]))
    assert near.count == 1 or [f.what.code for f in uncertain_yarns(near)] == ["yarns-close"]
    assert not list(uncertain_yarns(clear))
