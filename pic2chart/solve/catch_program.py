"""The integer program of one group of floats, for what prices and sweeps leave open.

SciPy's HiGHS solves it; a limit on the nodes of its search, not on time, keeps it repeatable.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.solve.catches import Ints, Task

NODES = 500
"""Nodes of the search after which a group is left unproven."""
MOST_PLACES = 6_000
"""Places above which a group is not tried: it would take minutes."""
INFEASIBLE = 2


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """`caught` uint8 [places] of the whole task; `bound`: no plan of the group that stacks as little
    has fewer catches; `proven`: this plan has no more.
    """

    caught: NDArray[np.uint8]
    bound: int
    proven: bool


def fewest_catches(task: Task, pairs: Ints, members: NDArray[np.bool_]) -> Answer | None:
    """The fewest catches of the floats in `members` (bool [F]), stacked only as far as they must.

    `pairs` int32 [P, 2]: places on one column in consecutive rounds. None when the group is too
    large or nothing was found within the limit on nodes.
    """
    places, reach, meet = _program(task, pairs, members)
    if len(places) > MOST_PLACES:
        return None
    size = len(places)
    answer = _solve(np.ones(size), [(reach, 1, np.inf), (_rows(meet, size), -np.inf, 1)])
    if answer.status == INFEASIBLE:
        answer = _least_stacked(task, places, reach, meet)
    if answer is None or answer.x is None:
        return None
    caught = np.zeros(len(task.places), np.uint8)
    caught[places] = np.rint(answer.x[:size])
    known = answer.mip_dual_bound if np.isfinite(answer.mip_dual_bound) else 0.0
    return Answer(caught, _whole(known), bool(answer.status == 0))


def relaxed_bound(task: Task, pairs: Ints, members: NDArray[np.bool_]) -> int:
    """What the same floats cannot do with less than when catches may be split; 0 when unknown.

    Holds for plans in which nothing is stacked. Far quicker than the whole numbers, often as good.
    """
    places, reach, meet = _program(task, pairs, members)
    size = len(places)
    rules = [(reach, 1.0, np.inf), (_rows(meet, size), -np.inf, 1.0)]
    answer = _solve(np.ones(size), rules, whole=False)
    return _whole(answer.fun) if answer.status == 0 else 0


def _whole(bound: float) -> int:
    return int(np.ceil(bound - 1e-6))


def _program(
    task: Task, pairs: Ints, members: NDArray[np.bool_]
) -> tuple[NDArray[np.intp], Any, NDArray[np.intp]]:
    """The places of these floats, the rows of `_reach`, and the places that meet, numbered anew."""
    chosen = np.repeat(members, task.floats[:, 3])
    number = np.cumsum(chosen) - 1
    meet = number[pairs[chosen[pairs[:, 0]]]]
    return np.flatnonzero(chosen), _reach(task, members, number), meet


def _reach(task: Task, members: NDArray[np.bool_], number: NDArray[np.intp]) -> Any:
    """One row for every limit + 1 places in a row of a float: one of them at least is caught."""
    windows = []
    for f in np.flatnonzero(members):
        starts = np.arange(task.offsets[f], task.offsets[f + 1] - task.limit)
        windows.append(number[starts[:, None] + np.arange(task.limit + 1)])
    return _rows(np.concatenate(windows), int(number[-1]) + 1)


def _rows(columns: NDArray[np.intp], size: int) -> Any:
    """Sparse rows with ones in these columns; int [rows, ones in each]."""
    from scipy.sparse import csr_array

    rows = np.repeat(np.arange(len(columns)), columns.shape[1])
    return csr_array((np.ones(rows.size), (rows, columns.ravel())), shape=(len(columns), size))


def _solve(
    cost: NDArray[np.float64], rules: list[tuple[Any, float, float]], whole: bool = True
) -> Any:
    """Minimise over variables from 0 to 1, whole or not; `rules`: (matrix, least, most)."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    return milp(
        cost,
        integrality=np.full(len(cost), int(whole)),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(*rule) for rule in rules if rule[0].shape[0]],
        options={"node_limit": NODES, "mip_rel_gap": 0.0},
    )


def _least_stacked(task: Task, places: NDArray[np.intp], reach: Any, meet: NDArray[np.intp]) -> Any:
    """As few stacked columns as can be, then as few catches: one more variable for each column."""
    from scipy.sparse import csr_array, hstack

    rounds = np.repeat(task.floats[:, 0], task.floats[:, 3]).astype(np.int64)
    square = (rounds * task.stitches.shape[1] + task.places)[places]
    column, which = np.unique(square[meet], axis=0, return_inverse=True)
    excused = -_rows(which.reshape(-1, 1), len(column))
    size, more = len(places), len(column)
    rules = [
        (hstack([reach, csr_array((reach.shape[0], more))]), 1.0, np.inf),
        (hstack([_rows(meet, size), excused]), -np.inf, 1.0),
    ]
    stacked = np.concatenate([np.zeros(size), np.ones(more)])
    first = _solve(stacked, rules)
    if first.status != 0:
        return None
    rules.append((csr_array(stacked[None]), -np.inf, float(np.rint(first.fun))))
    return _solve(1 - stacked, rules)
