"""Small problems through every compiled kernel: python -m tests.helpers.kernel_runs RESULTS.npz

With PIC2CHART_INTERPRETED=1 the same lines run interpreted, where coverage sees them.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pic2chart.design.baseline import greedy_chart
from pic2chart.model.chart import Catch
from pic2chart.solve import kernels
from pic2chart.solve.bound import prove
from pic2chart.solve.catch_spread import spread_catches
from pic2chart.solve.catches import catch_problem, plan_catches
from pic2chart.solve.solver import solve
from tests.helpers.problems import a_small_problem, random_chart

PROBLEMS, CHARTS, STEPS = 24, 24, 4
SHOW = np.array([[0.0, 50.0, 30.0], [50.0, 0.0, 20.0], [30.0, 20.0, 0.0]])

Results = dict[str, NDArray[np.generic]]


def interpreted() -> bool:
    """Whether the kernels of this process are plain Python."""
    return not hasattr(kernels.sweep, "py_func")


def results() -> Results:
    """What the kernels come to: stitches, yarns in hand, energies, bounds and catches, by name."""
    found: Results = {}
    for seed in range(PROBLEMS):
        found |= _solved(seed)
    for seed in range(CHARTS):
        found |= _caught(seed)
    return found


def _solved(seed: int) -> Results:
    """A problem solved, a few steps of its proof, and its greedy repair."""
    problem = a_small_problem(seed)
    solution = solve(problem)
    proof = prove(problem, solution, lambda proof: True, STEPS)
    repaired = greedy_chart(
        problem.cost, problem.live, problem.per_round, problem.float_limit, problem.circular
    )
    return {
        f"repaired {seed}": repaired,
        f"stitches {seed}": solution.stitches,
        f"carried {seed}": solution.carried,
        f"numbers {seed}": np.array([solution.energy, proof.bound, proof.solution.energy]),
        f"proven {seed}": proof.solution.stitches,
    }


def _caught(seed: int) -> Results:
    """A chart's catch plan: the catches, and what is known of it."""
    rng = np.random.default_rng(seed)
    stitches = random_chart(rng, 3, ragged=bool(seed % 2))
    circular, limit = bool(rng.random() < 0.5), int(rng.integers(1, 5))
    stacked = bool(rng.random() < 0.5)
    problem = catch_problem(stitches, circular=circular, limit=limit, stacked=stacked, show=SHOW)
    plan = plan_catches(problem)
    spread = spread_catches(problem, plan)
    return {
        f"catches {seed}": _table(plan.catches),
        f"spread {seed}": _table(spread.catches),
        f"known {seed}": np.array([plan.proven, plan.lower_bound, plan.stacked_left]),
    }


def _table(catches: tuple[Catch, ...]) -> NDArray[np.int64]:
    rows = [(c.round, c.stitch, c.yarn) for c in catches]
    return np.array(rows, np.int64).reshape(-1, 3)


if __name__ == "__main__":
    assert interpreted(), "Set PIC2CHART_INTERPRETED=1."
    with Path(sys.argv[1]).open("wb") as file:
        np.savez(file, **results())  # type: ignore[arg-type]
