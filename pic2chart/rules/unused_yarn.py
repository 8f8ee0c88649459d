"""unused-yarn: every yarn of the chart is knitted somewhere."""

from __future__ import annotations

import numpy as np

from pic2chart.chart.chart import Chart
from pic2chart.rules.finding import Finding
from pic2chart.rules.measure import Measures

CODE = "unused-yarn"


def unused_yarn(chart: Chart, measures: Measures) -> list[Finding]:
    """One note for every yarn without a stitch."""
    found = []
    for y in np.flatnonzero(~measures.used.any(axis=0)).tolist():
        name = chart.yarns[y].name
        message = f"No stitch of the chart is knitted in {name}."
        found.append(Finding(CODE, "note", message, "Leave it out of the yarns.", yarn=name))
    return found
