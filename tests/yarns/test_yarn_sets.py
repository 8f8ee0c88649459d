"""Best sets of yarns: proven against scipy's integer program and against trying every set."""

from __future__ import annotations

from functools import cache
from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix

from pic2chart.core.colour import delta_e2000, srgb_to_lab
from pic2chart.core.errors import SettingError
from pic2chart.yarns import sets
from pic2chart.yarns.sets import best_yarn_sets


def shelf(count: int, seed: int) -> np.ndarray:
    rgb = np.random.default_rng(seed).integers(0, 256, (count, 3)).astype(np.uint8)
    return np.asarray(srgb_to_lab(rgb))


def total(lab: np.ndarray, members: tuple[int, ...]) -> float:
    return sum(apart(lab.tobytes())[a, b] for a, b in combinations(members, 2))


@cache
def apart(lab: bytes) -> np.ndarray:
    colours = np.frombuffer(lab).reshape(-1, 3)
    return np.asarray(delta_e2000(colours[:, None], colours[None]))


def allowed(lab: np.ndarray, members: tuple[int, ...], limit: float) -> bool:
    return all(abs(lab[a, 0] - lab[b, 0]) >= limit - 1e-9 for a, b in combinations(members, 2))


def by_milp(lab: np.ndarray, k: int, limit: float) -> float | None:
    """The same choice as an integer program: x yarns, y pairs, y ≤ x of both its yarns."""
    n = len(lab)
    pairs = list(combinations(range(n), 2))
    gain = np.array([apart(lab.tobytes())[a, b] for a, b in pairs])
    size = n + len(pairs)
    rows = lil_matrix((3 * len(pairs) + 1, size))
    low, high = np.full(rows.shape[0], -np.inf), np.zeros(rows.shape[0])
    for p, (a, b) in enumerate(pairs):
        for r, yarn in ((3 * p, a), (3 * p + 1, b)):
            rows[r, n + p], rows[r, yarn] = 1, -1
        rows[3 * p + 2, a] = rows[3 * p + 2, b] = 1
        high[3 * p + 2] = 2 if allowed(lab, (a, b), limit) else 1
    rows[-1, :n] = 1
    low[-1] = high[-1] = k
    solved = milp(
        np.concatenate([np.zeros(n), -gain]),
        constraints=LinearConstraint(rows.tocsr(), low, high),
        integrality=np.concatenate([np.ones(n), np.zeros(len(pairs))]),
        bounds=Bounds(0, 1),
    )
    return -solved.fun if solved.success else None


@pytest.mark.parametrize(
    ("count", "k", "limit"), [(14, 3, 15.0), (16, 4, 10.0), (12, 4, 18.0), (12, 5, 5.0)]
)
def test_no_integer_program_finds_better(count: int, k: int, limit: float) -> None:
    for seed in (1, 2):
        lab = shelf(count, seed)
        found, best = best_yarn_sets(lab, k, limit), by_milp(lab, k, limit)
        assert found.proven
        if best is None:
            assert found.sets == ()
        else:
            assert found.totals[0] == pytest.approx(best, rel=1e-6)


@pytest.mark.parametrize("k", [2, 3, 4, 5, 6])
def test_the_best_five_are_the_best_five_of_all(k: int) -> None:
    for seed, limit in ((3, 0.0), (4, 6.0), (5, 12.0)):
        lab = shelf(13, seed)
        every = sorted(-total(lab, c) for c in combinations(range(13), k) if allowed(lab, c, limit))
        found = best_yarn_sets(lab, k, limit)
        assert found.proven
        assert len(found.sets) == min(5, len(every))
        np.testing.assert_allclose(found.totals, -np.array(every[:5]), rtol=1e-6)
        for members, value in zip(found.sets, found.totals, strict=True):
            assert allowed(lab, members, limit)
            assert value == pytest.approx(total(lab, members), rel=1e-6)
            assert list(lab[list(members), 0]) == sorted(lab[list(members), 0])


def test_sets_that_must_hold_a_yarn() -> None:
    lab = shelf(13, 6)
    for must in range(13):
        every = [
            total(lab, c) for c in combinations(range(13), 3) if must in c and allowed(lab, c, 10.0)
        ]
        found = best_yarn_sets(lab, 3, 10.0, must=(must,))
        assert all(must in members for members in found.sets)
        assert bool(found.sets) == bool(every)
        if every:
            assert found.totals[0] == pytest.approx(max(every), rel=1e-6)


def test_four_of_two_hundred_is_proven() -> None:
    for limit in (0.0, 10.0, 20.0):
        assert best_yarn_sets(shelf(200, 7), 4, limit).proven


@pytest.mark.slow
def test_a_search_cut_short_says_so_and_still_answers() -> None:
    found = best_yarn_sets(shelf(60, 8), 8, 0.0)
    assert not found.proven
    assert len(found.sets) == 5
    assert len(set(found.sets[0])) == 8


def test_twins_on_a_shelf() -> None:
    lab = np.repeat(shelf(1, 9), 6, axis=0)
    assert best_yarn_sets(lab, 3, 1.0).sets == ()
    assert len(best_yarn_sets(lab, 3, 0.0).sets) == 5


@pytest.mark.parametrize("k", [0, 1, 9, 14])
def test_sets_of_an_impossible_size(k: int) -> None:
    with pytest.raises(SettingError, match=f"Sets of {k} "):
        best_yarn_sets(shelf(13, 1), k, 10.0)


def test_sets_of_a_large_shelf_are_good_and_said_not_to_be_proven(monkeypatch) -> None:  # type: ignore[no-untyped-def]
    rng = np.random.default_rng(8)
    lab = srgb_to_lab(rng.integers(0, 256, (400, 3)).astype(np.uint8))
    exact = best_yarn_sets(lab, 4, 15.0)
    assert exact.proven
    monkeypatch.setattr(sets, "MOST_EXACT", 300)
    found = best_yarn_sets(lab, 4, 15.0, must=(11,))
    assert not found.proven
    assert all(11 in members for members in found.sets)
    free = best_yarn_sets(lab, 4, 15.0)
    assert free.totals[0] >= 0.98 * exact.totals[0]
    for members in free.sets:
        assert (np.diff(lab[list(members), 0]) >= 15.0 - 1e-9).all()


def test_yarns_of_several_shades_need_room_for_all_of_them() -> None:
    lab = shelf(12, 3)
    spans = np.stack([lab[:, 0] - 6, lab[:, 0] + 4], axis=1)
    found = best_yarn_sets(lab, 3, 12.0, keep=50, spans=spans)
    possible = [
        (round(total(lab, members), 6), tuple(sorted(members, key=lambda i: spans[i, 0])))
        for members in combinations(range(12), 3)
        if all(
            max(spans[a, 0] - spans[b, 1], spans[b, 0] - spans[a, 1]) >= 12
            for a, b in combinations(members, 2)
        )
    ]
    best = sorted(possible, reverse=True)[:50]
    assert found.proven
    assert list(found.totals) == pytest.approx([value for value, _ in best], abs=1e-5)
