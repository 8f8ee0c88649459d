"""unknown-yarn: every catch names a yarn that floats behind the stitch it is on."""

from __future__ import annotations

import numpy as np

from pic2chart.chart.chart import NO_STITCH, Chart
from pic2chart.rules.finding import Finding
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import place, round_word

CODE = "unknown-yarn"


def unknown_yarn(chart: Chart, measures: Measures) -> list[Finding]:
    """One error for every catch that catches nothing, with the reason."""
    found = []
    for r, stitch, yarn in measures.catches[~measures.holds].tolist():
        name = chart.yarns[yarn].name if 0 <= yarn < len(chart.yarns) else None
        message = f"{place(chart, r, stitch)}: {_why(chart, r, stitch, yarn, name)}."
        mend = "Take this catch out, or name the yarn that floats behind the stitch."
        found.append(Finding(CODE, "error", message, mend, r + 1, stitch + 1, yarn=name))
    return found


def _why(chart: Chart, r: int, stitch: int, yarn: int, name: str | None) -> str:
    """What is wrong with a catch."""
    inside = 0 <= r < chart.round_count and 0 <= stitch < chart.stitch_count
    if not inside or chart.stitches[r, stitch] == NO_STITCH:
        return "a catch lies where there is no stitch"
    if name is None:
        return f"a catch names yarn {yarn + 1}, but the chart has {len(chart.yarns)}"
    if chart.stitches[r, stitch] == yarn:
        return f"{name} is to be caught behind the stitch it knits"
    if not np.any(chart.stitches[r] == yarn):
        return f"{name} is to be caught, but this {round_word(chart)} does not use it"
    return f"{name} cannot be caught here"
