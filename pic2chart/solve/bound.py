"""The proof: how far any chart under the same rules can lie below the one that was found.

Dual decomposition (Guignard & Kim 1987; Komodakis, Paragios & Tziritas 2011 for labellings). The
energy is shared among problems that can each be solved exactly: every round by itself with all that
belongs to a round, and the yarns carried over the rounds (the trellis of `kernels`, Viterbi over
the rounds); every column by itself with the differences upwards (Viterbi); and, for stitches that
came out isolated, the stitch with its neighbours. Each keeps its own copy of the stitches;
multipliers move cost between the copies where they disagree. Whatever the multipliers, the least
energies add up to no more than the energy of any chart: a true lower bound. Polyak's step raises
it, on a subgradient averaged with those before (Camerini, Fratta & Maffioli 1975). The rounds' copy
is a chart under all the rules, so every step also offers a start for the solver.

The steps do not depend on the clock; it only decides after how many of them to stop.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pic2chart.model import measure
from pic2chart.solve import kernels, round_data
from pic2chart.solve.problem import NOT_ALLOWED, Problem, Solution
from pic2chart.solve.solver import SolverRun, cheapest_sets, settled

# The isolated stitches' part of the bound: single stitches, each with its neighbours.
#
# For every stitch that came out isolated in the rounds' copy a little problem is added: the stitch and its
# neighbours, with a price when none of these has its yarn. Its least cost for given multipliers follows
# in one line: with yarn k in the middle all neighbours take their cheapest yarn, and then either the
# price is paid or one neighbour is changed to k.

Floats64 = NDArray[np.float64]
Ints = NDArray[np.int64]
Stitches = NDArray[np.uint8]


@dataclass(slots=True, eq=False)
class Alone:
    """The little problems there are: A of them, each with 9 places (the stitch, then its neighbours).

    `around` int64 [R·N, 9]: every stitch's place and its neighbours', -1 for none; `place` int64
    [A, 9]: those of the problems; `lift` and `speed` [A, 9, K]: what the rounds pay more at a place,
    and the averaged subgradient; `copy` int64 [A, 9]: the yarns they chose.
    """

    price: float
    shape: tuple[int, int, int]
    circular: bool
    stacked: bool
    forbidden: Floats64
    around: Ints
    place: Ints
    lift: Floats64
    speed: Floats64
    copy: Ints

    @classmethod
    def of(cls, problem: Problem, price: float) -> Alone:
        """None at first; `price` is what an isolated stitch costs."""
        shape = problem.cost.shape
        nothing = np.zeros((0, 9, shape[2]))
        forbidden = np.where(problem.cost >= NOT_ALLOWED, NOT_ALLOWED, 0.0).reshape(-1, shape[2])
        return cls(
            price,
            (shape[0], shape[1], shape[2]),
            problem.circular,
            problem.stacked,
            forbidden,
            _around(problem.live, problem.circular, problem.stacked),
            np.zeros((0, 9), np.int64),
            nothing,
            nothing.copy(),
            np.zeros((0, 9), np.int64),
        )

    @property
    def move(self) -> Floats64:
        """What the rounds pay more, [R, N, K]."""
        rounds, stitches, yarns = self.shape
        total = np.zeros((rounds * stitches, yarns))
        there = self.place >= 0
        np.add.at(total, self.place[there], self.lift[there])
        return total.reshape(self.shape)

    def watch(self, rows: Stitches, cost: Floats64) -> None:
        """Add a problem for every isolated stitch of `rows` that has none yet.

        `cost` [R, N, K]: what the rounds pay now, from which the multipliers begin.
        """
        if self.price <= 0:
            return
        found = np.flatnonzero(measure.isolated(rows, self.circular, self.stacked))
        fresh = found[~np.isin(found, self.place[:, 0])]
        if not fresh.size:
            return
        place = self.around[fresh]
        lift = self._first_lift(place, rows, cost.reshape(-1, self.shape[2]))
        self.place = np.concatenate([self.place, place])
        self.lift = np.concatenate([self.lift, lift])
        self.speed = np.concatenate([self.speed, np.zeros_like(lift)])
        self.copy = np.concatenate([self.copy, np.zeros((fresh.size, 9), np.int64)])

    def _first_lift(self, place: Ints, rows: Stitches, cost: Floats64) -> Floats64:
        """Multipliers to begin with: the isolated stitch's yarn dearer, and cheaper by as much beside it.

        No neighbour is made cheaper than the yarn it has, so that the rounds gain nothing by it, and
        the stitch no dearer than its least cheapened neighbour pays for.
        """
        lift = np.zeros((len(place), 9, self.shape[2]))
        each, there = np.arange(len(place)), place[:, 1:] >= 0
        yarn = rows.ravel()[place[:, 0]].astype(np.int64)
        beside = np.where(there, place[:, 1:], 0)
        now = cost[beside, rows.ravel()[beside].astype(np.int64) % self.shape[2]]
        slack = np.clip(cost[beside, yarn[:, None]] - now, 0.0, self.price)
        slack = np.where(there, slack, self.price)
        lift[each, 0, yarn] = slack.min(axis=1)
        for side in range(8):
            lift[each, 1 + side, yarn] = np.where(there[:, side], -slack.min(axis=1), 0.0)
        return lift

    def evaluate(self, rows: Stitches) -> float:
        """The least cost of all the problems; where yarns draw, the copy takes that of `rows`."""
        if not len(self.place):
            return 0.0
        there = self.place >= 0
        cost = np.where(there[..., None], self.forbidden[self.place] - self.lift, 0.0)
        now = self._now(rows)
        cheapest = cost.min(axis=2)
        own = np.take_along_axis(cost, now[..., None], 2)[..., 0]
        self.copy = np.where(own <= cheapest, now, cost.argmin(axis=2))
        dearer = np.where(there[..., None], cost - cheapest[..., None], np.inf)[:, 1:]
        rescue = dearer.min(axis=1)
        middle = cost[:, 0] + np.minimum(self.price, rescue)
        centre = self._centre(middle, now[:, 0])
        each = np.arange(len(centre))
        saved = np.flatnonzero(rescue[each, centre] < self.price)
        nearest = dearer[saved, :, centre[saved]].argmin(axis=1)
        self.copy[:, 0] = centre
        self.copy[saved, 1 + nearest] = centre[saved]
        return float(middle[each, centre].sum() + cheapest[:, 1:].sum())

    def turn(self, rows: Stitches, average: float) -> float:
        """Average the subgradient into the direction; the square of its length."""
        if not len(self.place):
            return 0.0
        there = self.place >= 0
        slope = np.zeros_like(self.lift)
        where = np.nonzero(there)
        np.add.at(slope, (*where, self._now(rows)[where]), 1.0)
        np.add.at(slope, (*where, self.copy[where]), -1.0)
        self.speed = slope + average * self.speed
        return float((self.speed**2).sum())

    def climb(self, step: float) -> None:
        """Move the multipliers along the direction."""
        self.lift += step * self.speed

    def _now(self, rows: Stitches) -> Ints:
        return np.where(self.place >= 0, rows.ravel()[self.place], 0).astype(np.int64)

    @staticmethod
    def _centre(middle: Floats64, now: Ints) -> Ints:
        """The cheapest yarn of each middle stitch; `now` where that is as cheap."""
        own = np.take_along_axis(middle, now[:, None], 1)[:, 0]
        return np.asarray(np.where(own <= middle.min(axis=1), now, middle.argmin(axis=1)))


def _around(live: NDArray[np.bool_], circular: bool, stacked: bool) -> Ints:
    """Every stitch and its neighbours as `measure.isolated` has them, int64 [R·N, 9], -1 for none."""
    rounds, width = live.shape
    out = np.full((rounds, width, 9), -1, np.int64)
    number = np.where(live, np.arange(live.size).reshape(live.shape), -1)
    out[..., 0] = number
    for r in range(rounds):
        columns = np.flatnonzero(live[r])
        if columns.size > 1:
            before, after = np.roll(number[r, columns], 1), np.roll(number[r, columns], -1)
            if not circular:
                before[0], after[-1] = -1, -1
            out[r, columns, 1], out[r, columns, 2] = before, after
    for side, step in ((3, -1), (6, 1)):
        for turn in (-1, 0, 1):
            moved = np.roll(np.roll(number, -step, axis=0), -turn, axis=1)
            if not stacked:
                moved[-1 if step == 1 else 0] = -1
            if not circular and turn:
                moved[:, -1 if turn == 1 else 0] = -1
            out[..., side + turn + 1] = np.where(live, moved, -1)
    return out.reshape(-1, 9)


SLACK = 1e-6
"""Taken off every bound: more than the kernels' own EPS can add up to."""
AVERAGE = 0.6
"""Part of the direction before that is kept in the next."""
POLISH = 4
"""Every so many steps the rounds' copy is handed to the solver as a start."""


@dataclass(frozen=True, slots=True, eq=False)
class Proof:
    """The best solution, a lower bound of every chart's energy, and the steps that were taken."""

    solution: Solution
    bound: float
    steps: int

    @property
    def gap(self) -> float:
        """How much closer any chart can be, as a share of the solution's energy, 0 to 1."""
        energy = self.solution.energy
        return max(0.0, energy - self.bound) / energy if energy > 0 else 0.0


def prove(
    problem: Problem,
    solution: Solution,
    go_on: Callable[[Proof], bool],
    most: int = 100_000,
) -> Proof:
    """Raise the bound, and better the solution where a step finds how, while `go_on` and at most `most` steps.

    A solution with blocked rounds breaks the rules of the problem: its bound stays at minus infinity.
    """
    proof = Proof(solution, -np.inf, 0)
    if solution.blocked:
        return proof
    dual = _Dual.of(problem, solution)
    while proof.steps < most and go_on(proof):
        value = dual.evaluate()
        best = dual.better(proof.solution, proof.steps)
        bound = max(proof.bound, value - SLACK)
        proof = Proof(best, min(bound, best.energy), proof.steps + 1)
        if not dual.climb(best.energy, value):
            break
    return proof


@dataclass(slots=True, eq=False)
class _Dual:
    """The multipliers and each part's copy of the stitches; [R, N, K] where not said otherwise.

    `move`: what the rounds pay more and the columns less; `speed`: the averaged subgradient;
    `rows`, `columns` uint8 [R, N]: the copies; `carried_set` int64 [R]; `alone`: the isolated
    stitches' part.
    """

    problem: Problem
    run: SolverRun
    move: Floats64
    speed: Floats64
    rows: Stitches
    columns: Stitches
    carried_set: NDArray[np.int64]
    alone: Alone
    seen: set[bytes] = field(default_factory=set)

    @classmethod
    def of(cls, problem: Problem, solution: Solution) -> _Dual:
        run = SolverRun.of(problem)
        zero = np.zeros(problem.cost.shape)
        carried_set = np.searchsorted(np.sort(run.choice.sets), solution.carried)
        carried_set = np.argsort(run.choice.sets, kind="stable")[carried_set]
        rows = solution.stitches.copy()
        alone = Alone.of(problem, run.constraints.isolated)
        return cls(problem, run, zero, zero.copy(), rows, rows.copy(), carried_set, alone)

    def evaluate(self) -> float:
        """Solve every part for the multipliers there are; the bound they give."""
        closed = self.problem.stacked and len(self.rows) >= 3
        grid = self.run.grid
        shifted = grid.cost + self.move + self.alone.move
        value = self._rounds(grid._replace(cost=shifted))
        value += self._columns(closed)
        self.alone.watch(self.rows, shifted)
        return float(value + self.alone.evaluate(self.rows))

    def _columns(self, closed: bool) -> float:
        """All columns at their best: their least cost."""
        rounds, _, yarns = self.move.shape
        spare = np.empty(yarns), np.empty(yarns), np.empty((rounds, yarns), np.int64)
        weights = self.run.grid.weight_v
        return float(kernels.best_columns(self.columns, -self.move, weights, closed, *spare))

    def _rounds(self, grid: round_data.GridCosts) -> float:
        """All rounds with the yarns they carry: their least cost, or less.

        A set of yarns that was not tried has the bound of its lap; the sets that come out are solved
        exactly, until none comes out that was not.
        """
        run = self.run
        if run.choice.sets.size == 1:
            values = self._best_rounds(grid)
            return float(values.sum() + run.choice.hold.sum())
        bounds = run.set_bounds(self.rows, grid)
        inside = (run.choice.subsets[None, :] & ~run.choice.sets[:, None]) == 0
        node = np.where(inside[None], bounds[:, None, :], np.inf).min(axis=2)
        at, exact = np.arange(len(node)), np.zeros(node.shape, bool)
        for _ in range(4):
            self.carried_set, least = cheapest_sets(run, node)
            if exact[at, self.carried_set].all():
                break
            node[at, self.carried_set] = self._best_rounds(grid)
            exact[at, self.carried_set] = True
            _, least = cheapest_sets(run, node)
        return least

    def _best_rounds(self, grid: round_data.GridCosts) -> Floats64:
        """Every round at its best with the yarns it carries, in place: its least cost, [R]."""
        run, values = self.run, np.empty(len(self.rows))
        kernels.best_rounds(
            self.rows, self.carried_set, grid, run.constraints, run.choice, run.workspace, values
        )
        return values

    def better(self, best: Solution, step: int) -> Solution:
        """The better of `best` and the rounds' copy, settled by the solver every few steps."""
        if step % POLISH or (key := self.rows.tobytes()) in self.seen:
            return best
        self.seen.add(key)
        found = settled(self.run, self.rows.copy(), self.carried_set.copy())
        return found if found.energy < best.energy - 1e-9 else best

    def climb(self, energy: float, value: float) -> bool:
        """Move the multipliers; False when all copies agree or the bound has reached the energy."""
        slope = np.zeros(self.move.shape)
        at, place = np.nonzero(self.problem.live & (self.rows != self.columns))
        slope[at, place, self.rows[at, place]] = 1.0
        slope[at, place, self.columns[at, place]] = -1.0
        self.speed = slope + AVERAGE * self.speed
        length = float((self.speed**2).sum()) + self.alone.turn(self.rows, AVERAGE)
        if energy - value <= SLACK or length < 1e-12:
            return False
        step = (energy - value) / length
        self.move += step * self.speed
        self.alone.climb(step)
        return True
