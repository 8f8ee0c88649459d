"""The proof: how far any chart under the same rules can lie below the one that was found.

Dual decomposition (Guignard & Kim 1987; Komodakis, Paragios & Tziritas 2011 for labellings). The
energy is shared among problems that can each be solved exactly: every round by itself with all that
belongs to a round, and the yarns in hand over the rounds (the trellis of `kernels`, Viterbi over the
rounds); every column by itself with the differences upwards (Viterbi); and, for stitches that came
out isolated, the stitch with its neighbours. Each keeps its own copy of the stitches; multipliers move
cost between the copies where they disagree. Whatever the multipliers, the least energies add up to no
more than the energy of any chart: a true lower bound. Polyak's step raises it, on a subgradient averaged
with those before (Camerini, Fratta & Maffioli 1975). The rounds' copy is a chart under all the
rules, so every step also offers a start for the solver.

The steps do not depend on the clock; it only decides after how many of them to stop.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pic2chart.solve import kernels
from pic2chart.solve.alone import Alone
from pic2chart.solve.problem import Problem, Solution
from pic2chart.solve.solver import Run, cheapest_hands, settled

SLACK = 1e-6
"""Taken off every bound: more than the kernels' own EPS can add up to."""
AVERAGE = 0.6
"""Part of the direction before that is kept in the next."""
POLISH = 4
"""Every so many steps the rounds' copy is handed to the solver as a start."""

Floats64 = NDArray[np.float64]
Stitches = NDArray[np.uint8]


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

    `move`: what the rounds pay more and the columns less; `speed`: the averaged subgradient; `rows`,
    `columns` uint8 [R, N]: the copies; `hands` int64 [R]; `alone`: the isolated stitches' part.
    """

    problem: Problem
    run: Run
    move: Floats64
    speed: Floats64
    rows: Stitches
    columns: Stitches
    hands: NDArray[np.int64]
    alone: Alone
    seen: set[bytes] = field(default_factory=set)

    @classmethod
    def of(cls, problem: Problem, solution: Solution) -> _Dual:
        run = Run.of(problem)
        zero = np.zeros(problem.cost.shape)
        hands = np.searchsorted(np.sort(run.choice.sets), solution.hands)
        hands = np.argsort(run.choice.sets, kind="stable")[hands]
        rows = solution.stitches.copy()
        alone = Alone.of(problem, run.law.isolated)
        return cls(problem, run, zero, zero.copy(), rows, rows.copy(), hands, alone)

    def evaluate(self) -> float:
        """Solve every part for the multipliers there are; the bound they give."""
        closed = self.problem.stacked and len(self.rows) >= 3
        grid = self.run.grid
        shifted = grid.cost + self.move + self.alone.move
        value = self._rounds(grid._replace(cost=shifted))
        value += kernels.best_columns(self.columns, -self.move, grid.weight_v, closed)
        self.alone.watch(self.rows, shifted)
        return float(value + self.alone.evaluate(self.rows))

    def _rounds(self, grid: kernels.Grid) -> float:
        """All rounds with the yarns in hand: their least cost, or less.

        A set of yarns that was not tried has the bound of its lap; the sets that come out are solved
        exactly, until none comes out that was not.
        """
        run, values = self.run, np.empty(len(self.rows))
        if run.choice.sets.size == 1:
            kernels.best_rounds(self.rows, self.hands, grid, run.law, run.choice, values)
            return float(values.sum() + run.choice.hold.sum())
        bounds = kernels.set_bounds(self.rows, grid, run.law, run.choice)
        inside = (run.choice.subsets[None, :] & ~run.choice.sets[:, None]) == 0
        node = np.where(inside[None], bounds[:, None, :], np.inf).min(axis=2)
        at, exact = np.arange(len(node)), np.zeros(node.shape, bool)
        for _ in range(4):
            self.hands, least = cheapest_hands(run, node)
            if exact[at, self.hands].all():
                break
            kernels.best_rounds(self.rows, self.hands, grid, run.law, run.choice, values)
            node[at, self.hands] = values
            exact[at, self.hands] = True
            _, least = cheapest_hands(run, node)
        return least

    def better(self, best: Solution, step: int) -> Solution:
        """The better of `best` and the rounds' copy, settled by the solver every few steps."""
        if step % POLISH or (key := self.rows.tobytes()) in self.seen:
            return best
        self.seen.add(key)
        found = settled(self.run, self.rows.copy(), self.hands.copy())
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
