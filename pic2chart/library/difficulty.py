"""How demanding a motif is to knit, from 1 to 10, by a plain formula that anyone can follow."""

from __future__ import annotations

import numpy as np

from pic2chart.checks.report import Report
from pic2chart.model.chart import Chart
from pic2chart.model.measure import Live

# How demanding a motif is to knit, from 1 to 10, by a plain formula that anyone can follow.
#
#     difficulty = 1 + Σ weight · min(1, amount / full)
#
# | what is counted | full at | weight |
# |---|---|---|
# | changes of yarn along the rounds, for each stitch | 0.5 | 3 |
# | catches for each 100 stitches | 6 | 2 |
# | share of rounds with three yarns or more | 1 | 2 |
# | yarns beyond two | 4 | 1 |
# | ends to weave in for each 10 rounds | 4 | 0.5 |
# | isolated stitches for each 100 | 5 | 0.5 |
#
# The order of the weights is common practice (many changes and many catches slow every round; three
# yarns in a round are slow and thick); the numbers are the project's own and no study stands behind
# them. They rank the motifs of a library against one another, no more.

WEIGHTS = {
    "changes of yarn": (0.5, 3.0, "one for every second stitch"),
    "catches": (6.0, 2.0, "6 in 100 stitches"),
    "rounds of three yarns": (1.0, 2.0, "every round"),
    "yarns beyond two": (4.0, 1.0, "4"),
    "ends": (4.0, 0.5, "4 in 10 rounds"),
    "isolated stitches": (5.0, 0.5, "5 in 100 stitches"),
}
"""What is counted: the amount at which it counts in full, its weight, and that amount in words."""
FORMULA = "1" + "".join(
    f" + up to {weight:g} for {name} (in full at {words})"
    for name, (_, weight, words) in WEIGHTS.items()
)
"""In words, for those who read a library."""
GRADES = ((3.0, "easy"), (5.0, "steady"), (7.0, "demanding"), (11.0, "hard"))
"""Words for a difficulty below each bound."""


PARTS = tuple(WEIGHTS)


def parts_of(chart: Chart, report: Report) -> tuple[float, ...]:
    """What each of PARTS adds to the difficulty, to two digits."""
    amounts = {
        "changes of yarn": changes(chart) / report.live,
        "catches": 100 * report.catches / report.live,
        "rounds of three yarns": sum(report.rounds_with[2:]) / report.rounds,
        "yarns beyond two": max(0, sum(yarn.stitches > 0 for yarn in report.yarns) - 2),
        "ends": 10 * report.ends / report.rounds,
        "isolated stitches": 100 * report.isolated / report.live,
    }
    return tuple(
        round(w * min(1.0, amounts[name] / full), 2) for name, (full, w, _) in WEIGHTS.items()
    )


def difficulty_of(chart: Chart, report: Report) -> float:
    """The difficulty, 1 to 10, to one digit."""
    return round(1.0 + sum(parts_of(chart, report)), 1)


def grade(difficulty: float) -> str:
    """'easy', 'steady', 'demanding' or 'hard'."""
    return next(word for bound, word in GRADES if difficulty < bound)


def changes(chart: Chart) -> int:
    """Times the next live stitch of a round has another yarn, round the join when in the round."""
    live = Live.of(chart.stitches)
    same_round = live.round[1:] == live.round[:-1]
    count = int((same_round & (live.yarn[1:] != live.yarn[:-1])).sum())
    if chart.in_round:
        first = np.flatnonzero(np.r_[True, ~same_round])
        last = np.r_[first[1:], len(live.round)] - 1
        count += int((live.yarn[first] != live.yarn[last]).sum())
    return count
