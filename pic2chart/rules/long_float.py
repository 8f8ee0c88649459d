"""long-float: in a chart whose long floats are broken, no float may pass the limit.

Common practice: 5 stitches is the cautious limit, 7 a looser one, and 2.5 cm the rule by length.
Where long floats are caught instead, a float may be any length; see catch-missing.
"""

from __future__ import annotations

from pic2chart.chart.chart import Chart
from pic2chart.rules.finding import Finding
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import many, place

CODE = "long-float"


def long_float(chart: Chart, measures: Measures) -> list[Finding]:
    """One error for every float over the limit, when the chart breaks its long floats."""
    if chart.rules.long_floats != "break":
        return []
    limit, found = chart.rules.float_limit, []
    for r, start, at, length, y in measures.floats.over(limit).rows():
        name = chart.yarns[y].name
        middle = int(measures.live.columns(r, at, length)[length // 2])
        message = (
            f"{place(chart, r, start)}: the {name} yarn floats behind {many(length, 'stitch')}; "
            f"the limit is {limit}."
        )
        mend = f"Put a stitch of {name} near stitch {middle + 1}, or let long floats be caught."
        found.append(Finding(CODE, "error", message, mend, r + 1, start + 1, length, name))
    return found
