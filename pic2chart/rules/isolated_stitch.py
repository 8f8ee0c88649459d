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
    """One finding for every isolated stitch: a warning in a tidy chart, else a note."""
    tidy = chart.rules.isolated == "tidy"
    level: Level = "warning" if tidy else "note"
    mend = MEND if tidy else KEPT
    found = []
    for r, stitch in np.argwhere(measures.isolated).tolist():
        name = chart.yarns[int(chart.stitches[r, stitch])].name
        message = f"{place(chart, r, stitch)}: a lone stitch of {name}."
        found.append(Finding(CODE, level, message, mend, r + 1, stitch + 1, 1, name))
    return found
