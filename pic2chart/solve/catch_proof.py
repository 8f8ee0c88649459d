"""Settle the catch plan where the quick sweep and the plain lower bound do not meet.

Floats that share a column in consecutive rounds form groups that do not touch each other. In each
group the bound rises with prices on the meeting places (see `raise_bound`), the same prices lead
the catches of neighbouring rounds apart, and both stop when they meet. Groups for which they never
meet are few and go to an integer program.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.solve import catch_kernels, catch_proof_kernels
from pic2chart.solve.catches import (
    ATTEMPTS,
    FEWER,
    LARGE,
    MOST_IDLE,
    MOST_WORK,
    NEARLY,
    STEPS,
    SWEEPS,
    CatchProblem,
    Ints,
    WorkingPlan,
)

# The integer program of one group of floats, for what prices and sweeps leave open.
#
# SciPy's HiGHS solves it. Limits on its size and on the nodes of its search, not on time, keep it
# repeatable. Nodes alone do not hold it: where many floats run behind one stitch a single node can
# take half a minute.

NODES = 500
"""Nodes of the search after which a group is left unproven."""
MOST_PLACES = 6_000
"""Places above which a group is not tried."""
CROWDED = 3
"""So many floats behind one stitch mean four yarns in a round, more than any rules allow."""
MOST_CROWDED = 600
"""Places above which a group is not tried whose floats crowd so."""
MOST_RELAXED = 12_000
"""Places above which not even the linear program is tried: 35,000 took it 1.3 s, for one catch."""
INFEASIBLE = 2


@dataclass(slots=True)
class Effort:
    """Places that may still be given to the linear and to the integer program, over all groups of a
    chart. Groups with one float behind each stitch, which both settle at once, spend nothing.
    """

    relaxed: int = MOST_RELAXED
    whole: int = MOST_PLACES

    def may_relax(self, places: int, deep: int) -> bool:
        """Whether a group of so many places, `deep` floats at most behind one stitch, may be tried."""
        if places > self.relaxed:
            return False
        self.relaxed -= places if deep > 1 else 0
        return True

    def may_solve(self, places: int, deep: int) -> bool:
        """The same for the integer program."""
        if places > (MOST_CROWDED if deep >= CROWDED else self.whole):
            return False
        self.whole -= places if deep > 1 else 0
        return True


@dataclass(frozen=True, slots=True, eq=False)
class CatchSolution:
    """`caught` uint8 [places] of the whole problem; `bound`: no plan of the group that stacks as
    little has fewer catches; `proven`: this plan has no more.
    """

    caught: NDArray[np.uint8]
    bound: int
    proven: bool


def fewest_catches(
    problem: CatchProblem, pairs: Ints, members: NDArray[np.bool_]
) -> CatchSolution | None:
    """The fewest catches of the floats in `members` (bool [F]), stacked only as far as they must.

    `pairs` int32 [P, 2]: places on one column in consecutive rounds. None when nothing was found
    within the limit on nodes.
    """
    places, reach, meet = _program(problem, pairs, members)
    size = len(places)
    result = _solve(np.ones(size), [(reach, 1, np.inf), (_rows(meet, size), -np.inf, 1)])
    if result.status == INFEASIBLE:
        result = _least_stacked(problem, places, reach, meet)
    if result is None or result.x is None:
        return None
    caught = np.zeros(len(problem.places), np.uint8)
    caught[places] = np.rint(result.x[:size])
    known = result.mip_dual_bound if np.isfinite(result.mip_dual_bound) else 0.0
    return CatchSolution(caught, _whole(known), bool(result.status == 0))


def relaxed_bound(problem: CatchProblem, pairs: Ints, members: NDArray[np.bool_]) -> int:
    """What the same floats cannot do with less than when catches may be split; 0 when unknown.

    Holds for plans in which nothing is stacked. Far quicker than the whole numbers, often as good.
    """
    places, reach, meet = _program(problem, pairs, members)
    size = len(places)
    rules = [(reach, 1.0, np.inf), (_rows(meet, size), -np.inf, 1.0)]
    result = _solve(np.ones(size), rules, whole=False)
    return _whole(result.fun) if result.status == 0 else 0


def _whole(bound: float) -> int:
    return int(np.ceil(bound - 1e-6))


def _program(
    problem: CatchProblem, pairs: Ints, members: NDArray[np.bool_]
) -> tuple[NDArray[np.intp], Any, NDArray[np.intp]]:
    """The places of these floats, the rows of `_reach`, and the places that meet, numbered anew."""
    chosen = np.repeat(members, problem.floats[:, 3])
    number = np.cumsum(chosen) - 1
    meet = number[pairs[chosen[pairs[:, 0]]]]
    return np.flatnonzero(chosen), _reach(problem, members, number), meet


def _reach(problem: CatchProblem, members: NDArray[np.bool_], number: NDArray[np.intp]) -> Any:
    """One row for every limit + 1 places in a row of a float: one of them at least is caught."""
    windows = []
    for f in np.flatnonzero(members):
        starts = np.arange(problem.offsets[f], problem.offsets[f + 1] - problem.limit)
        windows.append(number[starts[:, None] + np.arange(problem.limit + 1)])
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


def _least_stacked(
    problem: CatchProblem, places: NDArray[np.intp], reach: Any, meet: NDArray[np.intp]
) -> Any:
    """As few stacked columns as can be, then as few catches: one more variable for each column."""
    from scipy.sparse import csr_array, hstack

    rounds = np.repeat(problem.floats[:, 0], problem.floats[:, 3]).astype(np.int64)
    square = (rounds * problem.stitches.shape[1] + problem.places)[places]
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


DRIVING_SWEEPS = 20
"""Sweeps in which the price of stacked catches rises where they persist."""
EIGHTH = catch_kernels.CATCH // 8


@dataclass(slots=True, eq=False)
class Groups:
    """The groups of one problem and what is known of them.

    `pairs` int32 [P, 2]: places that meet; `group` int32 [F]: the first float of each float's
    group; `owner` int32 [places] the same for places; `square` [P]: round * N + column of the lower
    place; `square_group` int32 [R * N]: the group that meets there. `price`, `drift` [P] are the
    kernel's; `least`, `best`, `effort` [F], at the first float: catches without neighbours, lower bound,
    places three times and pairs.
    """

    plan: WorkingPlan
    pairs: Ints = field(init=False)
    group: Ints = field(init=False)
    owner: Ints = field(init=False)
    square: NDArray[np.intp] = field(init=False)
    square_group: Ints = field(init=False)
    price: NDArray[np.float64] = field(init=False)
    drift: NDArray[np.float64] = field(init=False)
    least: NDArray[np.int64] = field(init=False)
    best: NDArray[np.float64] = field(init=False)
    effort: NDArray[np.int64] = field(init=False)

    def __post_init__(self) -> None:
        problem = self.plan.problem
        width = problem.stitches.shape[1]
        self.pairs, self.group = _meeting(problem)
        self.owner = problem.per_place(self.group)
        own = problem.per_place(problem.floats[:, 0]).astype(np.intp)
        lower = self.pairs[:, 0]
        self.square = (own * width + problem.places)[lower]
        self.square_group = np.zeros(problem.stitches.size, np.int32)
        self.square_group[self.square] = self.owner[lower]
        self.price = np.zeros(len(self.pairs))
        self.drift = np.zeros(len(self.pairs))
        floats = len(self.group)
        least = np.bincount(self.group, problem.fewest, floats)
        self.least, self.best = np.rint(least).astype(np.int64), np.rint(least)
        self.effort = 3 * np.bincount(self.owner, minlength=floats)
        self.effort += np.bincount(self.owner[lower], minlength=floats)

    def bounds(self) -> NDArray[np.int64]:
        """Int [F]: the whole number of catches no plan of the group can go below."""
        return np.asarray(np.ceil(self.best - 1e-6), np.int64)

    def counted(self, plan: WorkingPlan) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Int [F] each: the group's stacked pairs of catches, and its catches, in this draft."""
        at = np.flatnonzero(plan.stacked())  # two yarns caught behind one stitch count once
        caught = np.flatnonzero(plan.caught.view(np.bool_))
        stacked, catches = (
            np.bincount(groups, minlength=len(self.group))
            for groups in (self.square_group[at], self.owner[caught])
        )
        return stacked, catches

    def open(self) -> NDArray[np.bool_]:
        """Bool [F]: the float's group is neither settled yet nor left as it is."""
        stacked, catches = self.counted(self.plan)
        unsettled = (stacked > 0) | (self.bounds() < catches)
        return np.asarray((unsettled & ~self._left(stacked, catches))[self.group])

    def any_left(self) -> bool:
        """Whether a group that is not settled is left as it is."""
        stacked, catches = self.counted(self.plan)
        return bool((self._left(stacked, catches) & (self.bounds() < catches)).any())

    def _left(self, stacked: NDArray[np.int64], catches: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Bool [F], at the first float: a large group that is nearly settled."""
        nearly = (stacked == 0) & ((catches - self.bounds()) * NEARLY <= catches)
        return np.asarray(nearly & (self.effort > LARGE))

    def known(self) -> tuple[int, int, int]:
        """Stacked pairs, catches and whole lower bounds of all groups: what an attempt may better."""
        stacked, catches = self.counted(self.plan)
        return int(stacked.sum()), int(catches.sum()), int(self.bounds().sum())

    def work(self) -> int:
        """What one attempt at the groups that are not settled yet costs: a place three times what a
        meeting pair does.
        """
        return int(self.effort[self.open()].sum())

    def deepest(self) -> NDArray[np.int64]:
        """Int [F], at the first float: the most floats of the group behind one stitch."""
        problem, deepest = self.plan.problem, np.zeros(len(self.group), np.int64)
        rounds = np.repeat(problem.floats[:, 0], problem.floats[:, 3]).astype(np.intp)
        square = rounds * problem.stitches.shape[1] + problem.places
        np.maximum.at(deepest, self.owner, np.bincount(square)[square])
        return deepest

    def raise_bounds(self) -> None:
        """Some steps of the lower bound, aiming at the present number of catches."""
        problem = self.plan.problem
        stacked, catches = self.counted(self.plan)
        target = (catches + (stacked > 0)).astype(float)
        target[self.effort > LARGE] *= 1 - 1 / NEARLY  # no attempt follows on what is left there
        places, floats, pairs = len(problem.places), len(problem.floats), len(self.pairs)
        bound, norm, worth = np.zeros((3, floats))
        steps = FEWER if (self.effort > LARGE).any() else STEPS
        catch_proof_kernels.raise_bound(
            problem.floats, problem.offsets, self.pairs, self.group, self.owner, problem.limit,
            self.price, self.drift, target, self.best, steps, problem.per_place(np.arange(floats)),
            np.zeros(places), np.zeros(places, np.uint8),
            bound, norm, worth, np.zeros(floats, np.uint8),
            np.zeros(problem.longest), np.zeros(problem.longest, np.int64),
            np.zeros(floats, np.int32), *np.zeros((2, pairs), np.int32),
        )  # fmt: skip

    def take_better(self, other: WorkingPlan) -> None:
        """Take over the catches of every group that stacks less, or as much with fewer catches."""
        stacked, catches = self.counted(self.plan)
        other_stacked, other_catches = self.counted(other)
        fewer = (other_stacked == stacked) & (other_catches < catches)
        better = (other_stacked < stacked) | fewer
        self.plan.replace(better[self.owner], other.caught)


def _meeting(problem: CatchProblem) -> tuple[Ints, Ints]:
    """What `meeting_places` finds: the pairs, and the group of each float."""
    places, floats = len(problem.places), len(problem.floats)
    pairs, group = np.zeros((places + 1, 2), np.int32), np.zeros(floats, np.int32)
    head = np.zeros(problem.stitches.shape, np.int32)
    room = group, head, *np.zeros((2, places), np.int32)
    while True:
        found = catch_proof_kernels.meeting_places(
            problem.floats, problem.offsets, problem.places, problem.stacked, pairs, *room
        )
        if found <= len(pairs):
            return pairs[:found].copy(), group
        pairs = np.zeros((found, 2), np.int32)


def settle_groups(plan: WorkingPlan, parity: Ints) -> tuple[WorkingPlan, int, bool]:
    """The better draft, the lower bound on its catches, and whether it is proven best.

    `parity`: the floats in the order of the last sweeps (even rounds, then odd ones).
    """
    groups, spent, idle = Groups(plan), 0, 0
    for attempt in range(ATTEMPTS):
        work, known = groups.work(), groups.known()
        spent, idle = spent + work, idle + work
        if work == 0 or (attempt and (spent > MOST_WORK or idle > MOST_IDLE)):
            break
        groups.raise_bounds()
        if not groups.open().any():
            break
        groups.take_better(_driven_apart(groups, parity, with_toll=attempt % 2 == 0))
        if groups.known() != known:
            idle = 0
    proven = _settled_rest(groups) and not groups.any_left()
    plan.sweep(parity, SWEEPS)
    return plan, int(groups.bounds()[np.unique(groups.group)].sum()), proven


def _driven_apart(groups: Groups, parity: Ints, with_toll: bool) -> WorkingPlan:
    """A new draft of the open groups, led by the prices of the lower bound."""
    problem, is_open = groups.plan.problem, groups.open()
    plan, none = WorkingPlan(problem), np.zeros(len(problem.places), np.int64)
    plan.replace(~is_open[groups.owner], groups.plan.caught)
    dear = np.flatnonzero(groups.price)
    paid = (np.minimum(groups.price[dear], 100.0) * catch_kernels.CATCH).astype(np.int64)
    toll = np.bincount(groups.pairs[dear].T.ravel(), np.tile(paid, 2), len(problem.places)).astype(
        np.int64
    )
    price = np.zeros(plan.held.shape, np.int64)
    np.maximum.at(price.reshape(-1), groups.square[dear], paid)
    price += EIGHTH
    slack = problem.order(problem.limit - problem.floats[:, 3] % (problem.limit + 1))
    order = parity[is_open[parity]]
    plan.sweep(slack[is_open[slack]], 1, price, toll if with_toll else none)
    for step in range(DRIVING_SWEEPS):
        plan.sweep(order, 1, price, none, further=step > 0 or not with_toll)
        both = plan.stacked()
        if not both.any():
            break
        price[both] += EIGHTH
        plan.note_change(both)
    plan.sweep(order, SWEEPS)
    return plan


def _settled_rest(groups: Groups) -> bool:
    """Settle what is left with the linear, then the integer program; whether all of it was."""
    left = np.unique(groups.group[groups.open()])
    if not left.size:
        return True
    stacked = groups.counted(groups.plan)[0] > 0
    groups.best[stacked] = groups.least[stacked]  # prices hold only where nothing need be stacked
    size, deep = np.bincount(groups.owner)[left], groups.deepest()[left]
    effort, proven = Effort(), True
    for first, places, floats in zip(left.tolist(), size.tolist(), deep.tolist(), strict=True):
        proven &= _settled_exactly(groups, first, places, floats, effort)
    return proven


def _settled_exactly(groups: Groups, first: int, places: int, deep: int, effort: Effort) -> bool:
    """Settle one group, as far as the effort allows; False when that gives up."""
    problem, members = groups.plan.problem, groups.group == first
    stacked, catches = (counts[first] for counts in groups.counted(groups.plan))
    if not stacked and effort.may_relax(places, deep):
        relaxed = relaxed_bound(problem, groups.pairs, members)
        groups.best[first] = max(groups.best[first], relaxed)
        if relaxed >= catches:
            return True
    if not effort.may_solve(places, deep):
        return False
    result = fewest_catches(problem, groups.pairs, members)
    if result is None:
        return False
    trial = WorkingPlan(problem)
    mine = groups.owner == first
    trial.replace(np.ones_like(mine), np.where(mine, result.caught, groups.plan.caught))
    groups.take_better(trial)
    groups.best[first] = max(groups.best[first], result.bound)
    return result.proven
