"""catch-missing: where long floats are caught, no stretch between catches may pass the limit.

Common practice: the float is twisted round the working yarn so that nothing longer than the limit
hangs free; a float of n stitches needs ceil((n - limit) / (limit + 1)) catches.
"""

from __future__ import annotations

from pic2chart.chart.chart import Chart
from pic2chart.rules.finding import Finding
from pic2chart.rules.measure import Measures, catch_offsets
from pic2chart.rules.wording import behind, many, place

CODE = "catch-missing"


def catch_missing(chart: Chart, measures: Measures) -> list[Finding]:
    """One error for every uncaught stretch over the limit, when the chart catches long floats."""
    if chart.rules.long_floats != "catch":
        return []
    limit, found = chart.rules.float_limit, []
    for r, start, at, length, y in measures.stretches.over(limit).rows():
        name = chart.yarns[y].name
        offsets = catch_offsets(length, limit)
        where = behind(measures.live.columns(r, at, length)[offsets].tolist())
        message = (
            f"{place(chart, r, start)}: the {name} yarn floats behind {many(length, 'stitch')}, "
            f"and the limit is {limit}."
        )
        mend = f"Catch {name} {where}."
        found.append(Finding(CODE, "error", message, mend, r + 1, start + 1, length, name))
    return found
