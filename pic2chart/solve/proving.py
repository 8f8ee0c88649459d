"""Prove, within a time, how near the best chart a solution is. Here the clock is read, nowhere else.

What each step of the proof finds does not depend on the clock; it only decides after how many steps to
stop. So a proof that ends because it is close enough is the same on every machine, one that runs
out of time is not.
"""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic

from pic2chart.solve import bound, kernels_ready
from pic2chart.solve.bound import Proof
from pic2chart.solve.problem import Problem, Solution

ENOUGH = 1e-3
"""A proof stops when no chart can be closer by more than this share."""


def prove_for(
    problem: Problem, solution: Solution, seconds: float, say: Callable[[str, float], None]
) -> Proof:
    """Better and prove a solution until no chart can be closer by ENOUGH, or the seconds are up.

    The kernels' one-time compilation is not counted.
    """
    ready = kernels_ready("best_rounds")
    say("Proving" if ready else "Preparing the proof for this machine; this is done once", 0.6)
    began = monotonic()

    def go_on(proof: Proof) -> bool:
        nonlocal began
        if proof.steps <= 1:
            began = monotonic()
        spent = (monotonic() - began) / seconds
        say("Proving", 0.6 + 0.3 * min(spent, 1.0))
        return spent < 1 and proof.gap > ENOUGH

    return bound.prove(problem, solution, go_on)
