"""isolated-stitch: a stitch none of whose eight neighbours has its yarn.

Common practice: single stitches look like mistakes in a picture, and are wanted in a pattern of
dots; so they are warnings where the chart is to be tidy and notes where they are kept.
"""

from __future__ import annotations

import numpy as np

from pic2chart.chart.chart import Chart
from pic2chart.rules.finding import Finding, Level
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import place

CODE = "isolated-stitch"
MEND = "Knit it in a neighbour's yarn, or give it a neighbour of its own."
KEPT = "The chart keeps such stitches; knit it snug, and nothing need be changed."


def isolated_stitch(chart: Chart, measures: Measures) -> list[Finding]:
    """In a tidy chart a warning for every isolated stitch; where they are kept, a note for every round
    and yarn that has some.
    """
    places = np.argwhere(measures.isolated).tolist()
    if chart.rules.isolated == "tidy":
        return [_alone(chart, r, stitch, "warning", MEND) for r, stitch in places]
    by_round: dict[tuple[int, int], list[int]] = {}
    for r, stitch in places:
        by_round.setdefault((r, int(chart.stitches[r, stitch])), []).append(stitch)
    return [_kept(chart, r, stitches) for (r, _), stitches in by_round.items()]


def _alone(chart: Chart, r: int, stitch: int, level: Level, mend: str) -> Finding:
    name = chart.yarns[int(chart.stitches[r, stitch])].name
    message = f"{place(chart, r, stitch)}: a lone stitch of {name}."
    return Finding(CODE, level, message, mend, r + 1, stitch + 1, 1, name)


def _kept(chart: Chart, r: int, stitches: list[int]) -> Finding:
    """One note for the lone stitches of a yarn in a round, at the first of them."""
    if len(stitches) == 1:
        return _alone(chart, r, stitches[0], "note", KEPT)
    name = chart.yarns[int(chart.stitches[r, stitches[0]])].name
    message = f"{place(chart, r, stitches[0])}, and {len(stitches) - 1} more there: lone stitches of {name}."
    return Finding(CODE, "note", message, KEPT, r + 1, stitches[0] + 1, 1, name)
