"""Catches spread over the fabric so that none is seen: not beside one another, not in lines.

The fewest catches (see `catches`) often stand in columns or slanting lines, since there are few
places for so few. A few more, 3 % at the most, give room. Each float is placed exactly, given all
others, at the least cost: the price of a catch, and what it costs to lie near others. The costs of
two catches fall with their distance, and three in a line cost besides, which spreads them as blue
noise does (Ulichney 1988: no clumps, no rows). Costs that change by chance, less and less (simulated
annealing, Kirkpatrick 1983), lead out of places that are only best nearby; meanwhile the price of a
catch is led so that there are as many as there may be. In the end those beside a colour change move
inwards where that costs no more.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.messages import Message, message
from pic2chart.model.chart import NO_STITCH, Catches
from pic2chart.solve import spread_kernels as kernels
from pic2chart.solve.catches import (
    CatchPlan,
    CatchProblem,
    WorkingPlan,
    catches_of,
    change_blocks,
)

MORE = 0.03
"""So many catches more than the fewest there may be, as a share."""
_STACKED, _NEAR, _DOUBLED, _BESIDE, _LINE, _GAP = 1 << 40, 8000, 6000, 2500, 1200, 4
_PAIR, _WIDE = 900.0, 2.2
"""What two catches cost right beside each other, and how far apart (stitches) it has fallen to 60 %."""
_TIDY = _BESIDE + 5000
"""What one beside a colour change costs in the end: on top of the other price less than two side by side,
so that it moves inwards unless that makes such a pair.
"""
_DEAR, _FIRST, _CHEAPEST, _DEAREST = 1 << 30, 4000, 50, 60_000
"""What a catch costs: so dear that there is none more than needed; at first while it is led; and between
which prices it is led.
"""
_LEAD, _CHEAPER, _DEARER, _AT_LAST = 3.0, 2.0, 1.5, 1.12
"""How the price follows the number of catches: halvings for each 3 % there are too few, the most of them
and of doublings at once; and by how much it is raised in the end while there are too many, squared each
time.
"""
_NOISE, _MOST_NOISE, _LAST_NOISE, _COOLINGS = 120, 8000, 1500, 16
_SETTLING, _SETTLED, _TIDYING, _RAISES, _ATTEMPTS = 2, 3, 5, 4, 3
"""Sweeps of the start, after the cooling and of the tidying; how often the price may be raised, and how
often all that be done, if there are too many catches in the end.
"""


@dataclass(frozen=True, slots=True)
class CatchSpread:
    """Where floats are caught. `plan`: the fewest catches.

    `beside_left`: pairs of catches of consecutive rounds on one column or on neighbouring ones.
    """

    catches: Catches
    plan: CatchPlan
    beside_left: int

    @property
    def remarks(self) -> tuple[Message, ...]:
        """What a knitter should know: that fewer might do, and that some lie side by side."""
        if not self.beside_left:
            return self.plan.remarks
        beside = message("catches-beside", catches=len(self.catches), beside=self.beside_left)
        return (*self.plan.remarks, beside)


def spread_catches(
    problem: CatchProblem, plan: CatchPlan, awkward: NDArray[np.bool_] | None = None
) -> CatchSpread:
    """The catches of a problem's plan spread out, under the same requirements and at most 3 % more of them.

    `awkward` bool [R, N]: stitches behind which it is hard to catch.
    """
    if not plan.catches:
        return CatchSpread(plan.catches, plan, 0)
    if awkward is None:
        awkward = np.zeros(problem.stitches.shape, bool)
    best = _Spreading(problem, awkward, _at(problem, plan.catches)).spread()
    return CatchSpread(catches_of(best), plan, _beside(best))


@dataclass(slots=True, eq=False)
class _SeenPlan(WorkingPlan):
    """A plan with what each stitch sees of its catches, as `spread_kernels` keeps it; 0 until it does."""

    near: NDArray[np.int64] = field(init=False)
    windows: NDArray[np.int64] = field(init=False)
    is_new: bool = True

    def __post_init__(self) -> None:
        WorkingPlan.__post_init__(self)
        rounds, width = self.held.shape
        self.near = np.zeros((rounds, width), np.int64)
        self.windows = np.zeros((rounds + 1, width), np.int64)

    def copy(self) -> _SeenPlan:
        """Another plan of the same catches."""
        plan = _SeenPlan(self.problem)
        for part in ("caught", "held", "near", "windows"):
            getattr(plan, part)[:] = getattr(self, part)
        plan.is_new = self.is_new
        return plan


@dataclass(slots=True, eq=False)
class _Spreading:
    """The best plan so far, and the price of a catch at which it was found."""

    problem: CatchProblem
    awkward: NDArray[np.bool_]
    best: _SeenPlan
    fewest: int = field(init=False)
    most: int = field(init=False)
    most_stacked: int = field(init=False)
    members: NDArray[np.int32] = field(init=False)
    first: NDArray[np.int32] = field(init=False)
    pairs: NDArray[np.int64] = field(init=False)
    sight: NDArray[np.int64] = field(init=False)

    def __post_init__(self) -> None:
        self.fewest = int(self.best.caught.sum())
        self.most = int((1 + MORE) * self.fewest)
        self.most_stacked = int(self.best.stacked().sum())
        self.members, self.first = _copies(self.problem)
        self.pairs, self.sight = _pairs(), _sight()

    def spread(self) -> _SeenPlan:
        """The fewest catches moved apart, then led by chance to as many as there may be."""
        start, price = self._swept(_DEAR, _SETTLING), _DEAR
        if self._fits(start):
            self.best = start
        aim = self.most
        for _ in range(_ATTEMPTS):
            trial, now = self._annealed(aim)
            if self._fits(trial):
                break
            aim -= 1 + 2 * abs(
                int(trial.caught.sum()) - self.most
            )  # it comes to rest above its aim
        if self._fits(trial) and _cost(trial) < _cost(self.best):
            self.best, price = trial, now
        tidy = self._swept(price, _TIDYING, _TIDY)
        return tidy if self._fits(tidy) and _beside(tidy) <= _beside(self.best) else self.best

    def _fits(self, plan: WorkingPlan) -> bool:
        few = int(plan.caught.sum()) <= self.most
        return few and int(plan.stacked().sum()) <= self.most_stacked

    def _annealed(self, aim: int) -> tuple[_SeenPlan, int]:
        """A plan of about `aim` catches that chance led away from the best one, and the price of a catch
        that it ended at.
        """
        plan, price = self.best.copy(), _FIRST
        for seed, noise in enumerate(_cooling(), 1):
            self._sweep(plan, price, noise, seed)
            price = self._led(price, plan, aim)
        self._sweep(plan, price, sweeps=_SETTLED)
        for turn in range(_RAISES):
            if self._fits(plan):
                break
            price = int(_AT_LAST**2**turn * price) + 1
            self._sweep(plan, price, sweeps=_SETTLING)
        return plan, price

    def _led(self, price: int, plan: WorkingPlan, aim: int) -> int:
        """The next price of a catch: lower where the plan has fewer than `aim`, else higher."""
        over = (int(plan.caught.sum()) - aim) / max(1, self.most - self.fewest)
        led = price * 2.0 ** min(max(_LEAD * over, -_CHEAPER), _DEARER)
        return int(min(max(led, _CHEAPEST), _DEAREST))

    def _swept(self, price: int, sweeps: int, beside: int = _BESIDE) -> _SeenPlan:
        """The best plan, swept once more."""
        plan = self.best.copy()
        self._sweep(plan, price, sweeps=sweeps, beside=beside)
        return plan

    def _sweep(
        self,
        plan: _SeenPlan,
        price: int,
        noise: int = _NOISE,
        seed: int = 0,
        sweeps: int = 1,
        beside: int = _BESIDE,
    ) -> None:
        """Place all floats anew, in place, at most so many times."""
        problem = self.problem
        prices = [price, _DOUBLED, beside, _LINE, _GAP, noise, seed]
        cost, total, came = np.zeros((3, problem.longest), np.int64)
        kernels.spread_catches(
            problem.floats, problem.offsets, problem.places, self.members, self.first,
            problem.stitches, problem.show, problem.limit, problem.circular, problem.stacked,
            self.awkward, self.pairs, self.sight, np.array(prices, np.int64),
            plan.caught, plan.held, plan.near, plan.windows, plan.is_new, sweeps,
            cost, total, came,
            change_blocks(plan.held), np.zeros(len(self.first), np.int64),
        )  # fmt: skip
        plan.is_new = False


def _cooling() -> Iterator[int]:
    """The most that chance adds, from sweep to sweep."""
    share = (_LAST_NOISE / _MOST_NOISE) ** (1 / _COOLINGS)
    return (int(_MOST_NOISE * share**step) for step in range(_COOLINGS))


def _at(problem: CatchProblem, catches: Catches) -> _SeenPlan:
    """The plan's catches at their places."""
    width, kinds = problem.stitches.shape[1], len(problem.show)
    rounds, columns, yarns = catches.table.T
    owner = np.repeat(problem.floats[:, :2].astype(np.int64), problem.floats[:, 3], axis=0)
    squares = (owner[:, 0] * width + problem.places) * kinds + owner[:, 1]
    found = np.isin(squares, (rounds * width + columns) * kinds + yarns)
    plan = _SeenPlan(problem)
    plan.replace(np.ones(len(found), bool), found.astype(np.uint8))
    return plan


@cache
def _pairs() -> NDArray[np.int64]:
    """What two catches cost, by the rounds and stitches from one to the other."""
    reach_up, reach_across = kernels.REACH_UP, kernels.REACH_ACROSS
    up, across = np.mgrid[-reach_up : reach_up + 1, -reach_across : reach_across + 1]
    cost = np.rint(_PAIR * np.exp(-(up**2 + across**2) / (2 * _WIDE**2)))
    cost[up == 0] = 0  # those of one float see to their gaps
    cost[(up == 0) & (abs(across) == 1)] = _PAIR
    cost[(abs(up) == 1) & (abs(across) == 1)] = _NEAR
    cost[(abs(up) == 1) & (across == 0)] = _STACKED
    return np.asarray(cost, dtype=np.int64)


@cache
def _sight() -> NDArray[np.int64]:
    """The bits of a catch in the word of a stitch, by the stitches from one to the other: `spread_kernels`."""
    word = np.zeros(2 * kernels.SIGHT + 1, np.int64)
    for across in range(-kernels.SIGHT, kernels.SIGHT + 1):
        for part, (each, rest) in enumerate((divmod(across, 1), divmod(across, 2))):
            if rest == 0 and abs(each) <= kernels.LONGEST_STEP:
                for way, turned in enumerate((each, -each)):
                    at = kernels.WINDOW * (2 * part + way) + kernels.LONGEST_STEP + turned
                    word[across + kernels.SIGHT] |= 1 << at
    return word


def _copies(problem: CatchProblem) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Floats with their copies in rounds that repeat, and where each class begins.

    Even rounds come before odd ones, so that those of a sweep do not see each other.
    """
    floats, rounds = problem.floats, problem.floats[:, 0]
    period = np.array([_period(row) for row in problem.stitches], np.int64)
    turn = np.where(problem.circular[rounds], period[rounds], problem.stitches.shape[1] + 1)
    keys = (floats[:, 2] % turn, floats[:, 3], floats[:, 1], rounds, rounds % 2)
    order = np.lexsort((floats[:, 2], *keys))
    table = np.column_stack([key[order] for key in keys])
    new = np.ones(len(order), bool)
    new[1:] = (table[1:] != table[:-1]).any(axis=1)
    first = np.append(np.flatnonzero(new), len(order))
    return order.astype(np.int32), first.astype(np.int32)


def _period(row: NDArray[np.uint8]) -> int:
    """The least number of live stitches that repeat round a whole round."""
    live: bytes = row[row != NO_STITCH].tobytes()
    return max(1, (live + live).find(live, 1))


def _cost(plan: WorkingPlan) -> int:
    """What is worth avoiding: catches side by side, and three in a line."""
    held, at, row = _surroundings(plan)
    step = kernels.LONGEST_STEP
    ways = [row + k for k in range(-step, step + 1)] + [2 * row + k for k in (-1, 0, 1)]
    found = sum(int(np.count_nonzero(held[at + way] & held[at + 2 * way])) for way in ways)
    return _NEAR * _beside(plan) + _LINE * found


def _beside(plan: WorkingPlan) -> int:
    """Pairs of catches in consecutive rounds on one column or on neighbouring ones."""
    held, at, row = _surroundings(plan)
    return sum(int(np.count_nonzero(held[at + row + step])) for step in (-1, 0, 1))


def _surroundings(plan: WorkingPlan) -> tuple[NDArray[np.bool_], NDArray[np.intp], int]:
    """Whether each stitch is caught behind, with as many rounds above and stitches beside as a line may
    reach, counted on where the chart closes: flat; the index of every catch, and a row's length.
    """
    problem, (above, beside) = plan.problem, (kernels.LINE_UP, kernels.SIGHT)
    held = plan.held > 0
    rows = np.pad(held, ((0, 0), (beside, beside)), mode="wrap")
    rows[~problem.circular, :beside] = rows[~problem.circular, -beside:] = False
    around = np.pad(rows, ((0, above), (0, 0)), mode="wrap" if problem.stacked else "constant")
    rounds, columns = np.divmod(np.flatnonzero(held), held.shape[1])
    row = around.shape[1]
    return around.ravel(), rounds * row + columns + beside, row
