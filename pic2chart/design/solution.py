"""A canvas → its stitches: solved, proved when wanted, and measured against a greedy repair."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.likeness import Kept, ReferenceImage
from pic2chart.core.messages import Message, message
from pic2chart.design import canvas as canvases
from pic2chart.design.baseline import greedy_chart
from pic2chart.design.canvas import Canvas, with_ticks
from pic2chart.model.chart import NO_STITCH, Chart, Rules
from pic2chart.model.wording import round_named
from pic2chart.model.yarn import Yarn, yarn_lab

if TYPE_CHECKING:
    from pic2chart.solve.bound import Proof
    from pic2chart.solve.problem import Problem, Solution

Progress = Callable[[str, float], None]
"""Told what is being done, and how far the whole is (0–1)."""


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """The solution for a canvas, the problem it solves, and the chart of nearest yarns, no rules.

    `cost` [R, N, K]: what each yarn costs at each stitch by itself.

    `proof` is there when it was asked for and no fixed stitches contradict the rules.
    """

    solution: Solution
    problem: Problem
    free: NDArray[np.uint8]
    cost: NDArray[np.float64]
    proof: Proof | None = None

    @property
    def stitches(self) -> NDArray[np.uint8]:
        """The chosen stitches."""
        return self.solution.stitches

    @property
    def energy(self) -> float:
        """Their energy."""
        return self.solution.energy

    @property
    def blocked(self) -> tuple[int, ...]:
        """Rounds whose fixed stitches contradict the rules."""
        return self.solution.blocked

    @property
    def gap(self) -> float | None:
        """How much closer any chart can be, as a share; None when it was not proved."""
        return None if self.proof is None else self.proof.gap

    @property
    def score(self) -> dict[str, float]:
        """The energy and, where it was proved, its lower bound."""
        bound = {} if self.proof is None else {"bound": round(self.proof.bound, 6)}
        return {"energy": round(self.solution.energy, 6), **bound}

    @property
    def moved(self) -> int:
        """Stitches that the rules moved away from their nearest yarn."""
        return int((self.free != self.solution.stitches).sum())


def solve_canvas(
    canvas: Canvas,
    yarns: Sequence[Yarn],
    chroma: float,
    rules: Rules,
    say: Progress,
    *,
    circular: bool,
    change: float = 1.0,
    seconds: float | None = None,
) -> Solved:
    """Choose the stitches of a canvas; `chroma` is what `yarns_for` gives with the yarns.

    With `seconds` the solution is bettered and proved for so long at most. What a step of the proof
    finds does not depend on the clock, only how many steps there are.

    `change` is the look's price of a change of yarn against the usual one.
    """
    lab = yarn_lab(yarns)
    cost = canvases.stitch_costs(canvas, lab, chroma)
    plain = canvases.problem_of(canvas, cost, rules, lab[:, 0], circular=circular, change=change)
    problem = with_ticks(plain, canvases.spared(canvas))
    solution, proof = solve_announced(problem, say), None
    if seconds is not None and not solution.blocked:
        from pic2chart.solve.proving import prove_for

        proof = prove_for(problem, solution, seconds, say)
        solution = proof.solution
    return Solved(solution, problem, canvases.nearest(cost, canvas.live), cost, proof)


def solve_announced(
    problem: Problem, say: Progress, start: NDArray[np.uint8] | None = None
) -> Solution:
    """Solve, saying so; the one-time compilation of the kernels is announced first."""
    from pic2chart.solve import kernels_ready, solver

    def progress(share: float) -> None:
        say("Choosing stitches", 0.3 + 0.6 * share)

    if not kernels_ready():
        say("Preparing the solver for this machine; this is done once and takes seconds", 0.3)
    elif not kernels_ready(*solver.kernels_for(problem)):
        say("Preparing the solver for more yarns on this machine; this is done once", 0.3)
    else:
        say("Choosing stitches", 0.3)
    return solver.solve(problem, start, progress)


def silent(words: str, share: float) -> None:
    """Progress that tells nobody."""
    del words, share


def likeness_kept(reference: ReferenceImage, solved: Solved, yarns: Sequence[Yarn]) -> Kept:
    """The chart's likeness beside that of the nearest yarns and of their plain repair."""
    p = solved.problem
    repaired = greedy_chart(solved.cost, p.live, p.per_round, p.float_limit, p.circular)
    charts = (solved.stitches, solved.free, repaired)
    return Kept(*(reference.compare(shown_lightness(chart, yarns)) for chart in charts))


def shown_lightness(stitches: NDArray[np.uint8], yarns: Sequence[Yarn]) -> NDArray[np.float64]:
    """L* of every stitch, float [R, N]; 0 where there is none."""
    light = yarn_lab(yarns)[:, 0]
    return np.append(light, np.zeros(NO_STITCH + 1 - light.size))[stitches]


def blocked_notes(chart: Chart, blocked: tuple[int, ...]) -> tuple[Message, ...]:
    """A remark for each round whose fixed stitches contradict the rules, and why."""
    notes = []
    for r in blocked:
        fixed = chart.stitches[r] if chart.fixed is None else chart.stitches[r][chart.fixed[r]]
        yarns = len(np.unique(fixed[fixed != NO_STITCH]))
        limit = chart.rules.colours_per_round
        why = (
            message("fixed-use-too-many-yarns", yarns=yarns, allowed=limit)
            if yarns > limit
            else message("fixed-leave-a-float", limit=chart.rules.float_limit)
        )
        notes.append(message("round-blocked", where=round_named(chart, r), why=why))
    return tuple(notes)
