"""Trial charts for sets of yarns: which set shows the picture best once the rules are kept.

Which yarns lie nearest to a picture's colours is not the whole question when a round may use only two
of them. Each of the best sets is therefore solved, and judged by what is left of the picture's colours.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from pic2chart import canvas as canvases
from pic2chart.chart import Rules
from pic2chart.draft import draft
from pic2chart.grid import Grid
from pic2chart.likeness import VIEW, blur
from pic2chart.looks import Look
from pic2chart.ticks import with_ticks
from pic2chart.yarn import Yarn

Floats = NDArray[np.float64]


def judge_of(
    grid: Grid, shelf: Sequence[Yarn], lab: Floats, rules: Rules, look: Look, aspect: float
) -> Callable[[tuple[int, ...]], float]:
    """A function that judges a set of the shelf's yarns (smaller is better).

    `lab` [yarns, 3] of the shelf. The judgement is the mean squared Lab distance, within the subject,
    of the trial chart from the grid, both blurred for the viewing distance.
    """
    from pic2chart.solve import solver

    wanted = _seen(grid.target.astype(np.float64), aspect)
    share = grid.subject.astype(np.float64) + 0.02

    def judge(members: tuple[int, ...]) -> float:
        yarns, colours = tuple(shelf[i] for i in members), lab[list(members)]
        weight = np.ones(grid.subject.shape)
        drafted = draft(
            grid, yarns, colours, weight, look, aspect, per_round=rules.colours_per_round
        )
        cost = canvases.stitch_costs(drafted.canvas, colours, canvases.CHROMA)
        problem = canvases.problem_of(
            drafted.canvas, cost, rules, colours[:, 0], circular=True, change=look.change
        )
        shown = _seen(colours[solver.solve(with_ticks(problem)).stitches], aspect)
        return float((((shown - wanted) ** 2).sum(axis=2) * share).sum() / share.sum())

    return judge


def _seen(lab: Floats, aspect: float) -> Floats:
    return np.stack([blur(lab[..., i], VIEW / aspect, VIEW) for i in range(3)], axis=2)
