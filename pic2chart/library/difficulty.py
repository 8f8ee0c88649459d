"""How demanding a motif is to knit, from 1 to 10, by a plain formula that anyone can follow.

Each part counts from 0 at one amount to its weight at another, in between in proportion:

| what is counted | from | to | weight |
|---|---|---|---|
| changes of yarn along the rounds, a stitch | 0.05 | 0.30 | 0.25 |
| stitches unlike the one below, of a repeat too long to know by heart | 0.03 | 0.25 | 0.20 |
| catches in 100 stitches | 3 | 13 | 0.20 |
| stitches of the repeat, doublings | 64 | 5,793 | 0.15 |
| ends to weave in for 10 rounds | 0.4 | 2 | 0.08 |
| share of rounds with three yarns or more | 0 | 0.6 | 0.06 |
| yarns beyond two | 0 | 3 | 0.03 |
| isolated stitches in 100 | 0 | 3 | 0.03 |

A repeat of 16 stitches is known by heart, one of 1,024 is not. The sum of the parts becomes a
difficulty by SCALE, straight between its points, and each part gets its share of what is over 1. What
is counted is common practice (many changes and catches slow every round, a long repeat must be read
stitch by stitch); the numbers are the project's own: they spread charts of photographs, drawings and
repeats over the scale, and no study of knitters stands behind them.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import log2

import numpy as np

from pic2chart.checks.report import Report
from pic2chart.model.chart import Chart
from pic2chart.model.measure import Live
from pic2chart.model.repeat import Repeat

WEIGHTS = {
    "changes of yarn": (0.05, 0.30, 0.25),
    "rounds unlike those below": (0.03, 0.25, 0.20),
    "catches": (3.0, 13.0, 0.20),
    "length of the repeat": (6.0, 12.5, 0.15),
    "ends": (0.4, 2.0, 0.08),
    "rounds of three yarns": (0.0, 0.6, 0.06),
    "yarns beyond two": (0.0, 3.0, 0.03),
    "isolated stitches": (0.0, 3.0, 0.03),
}
"""What is counted: the amount from which it counts, that at which it counts in full, its weight."""
PARTS = tuple(WEIGHTS)
SCALE = ((0.0, 1.0), (0.15, 1.0), (0.30, 2.0), (0.40, 3.5), (0.47, 5.5), (0.55, 7.5), (0.65, 10.0))
"""Points of (sum of the parts, difficulty); 10 above the last."""
_BY_HEART = 4.0, 10.0
"""Doublings of stitches of a repeat that is known by heart, and of one that must be read."""
FORMULA = (
    "From changes of yarn, rounds unlike those below, catches, the length of the repeat, ends, rounds "
    "of three yarns, further yarns and isolated stitches; to compare the motifs of a library, no more."
)
"""In words, for those who read a library."""
GRADES = ((3.0, "easy"), (5.0, "steady"), (7.0, "demanding"), (11.0, "hard"))
"""Words for a difficulty below each bound."""


def amounts_in(chart: Chart, report: Report, repeat: Repeat) -> Mapping[str, float]:
    """What is counted, by the names of WEIGHTS."""
    doublings = log2(max(1, repeat.box[0] * repeat.box[1]))
    read = _part(doublings, *_BY_HEART)
    return {
        "changes of yarn": changes(chart) / report.live,
        "rounds unlike those below": read * float(np.mean(np.diff(chart.stitches, axis=0) != 0)),
        "catches": 100 * report.catches / report.live,
        "length of the repeat": doublings,
        "ends": 10 * report.ends / report.rounds,
        "rounds of three yarns": sum(report.rounds_with[2:]) / report.rounds,
        "yarns beyond two": max(0, sum(yarn.stitches > 0 for yarn in report.yarns) - 2),
        "isolated stitches": 100 * report.isolated / report.live,
    }


def parts_of(amounts: Mapping[str, float]) -> tuple[float, ...]:
    """What each of PARTS adds to 1, to two digits."""
    parts = [w * _part(amounts[name], low, high) for name, (low, high, w) in WEIGHTS.items()]
    whole = sum(parts)
    sums, levels = [point[0] for point in SCALE], [point[1] for point in SCALE]
    over = float(np.interp(whole, sums, levels)) - 1.0
    return tuple(round(over * part / whole, 2) if whole else 0.0 for part in parts)


def difficulty_of(parts: tuple[float, ...]) -> float:
    """The difficulty, 1 to 10, to one digit."""
    return round(1.0 + sum(parts), 1)


def grade(difficulty: float) -> str:
    """'easy', 'steady', 'demanding' or 'hard'."""
    return next(word for bound, word in GRADES if difficulty < bound)


def _part(amount: float, low: float, high: float) -> float:
    return min(1.0, max(0.0, (amount - low) / (high - low)))


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
