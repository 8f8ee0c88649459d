"""catch-beside-change: a catch next to a colour change, where another place would do.

Common practice: catch in the middle of a float, not in the stitch next to a change of colour,
where the twist pulls the neighbour out of shape. The edge of a piece worked flat is no change.
"""

from __future__ import annotations

import numpy as np

from pic2chart.chart.chart import Chart
from pic2chart.rules.finding import Finding
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import place

CODE = "catch-beside-change"


def catch_beside_change(chart: Chart, measures: Measures) -> list[Finding]:
    """One note for every catch in the first or last stitch of a float that could move inwards."""
    found = []
    taken = {(c.round, c.stitch) for c in chart.catches}
    for r, stitch, yarn in _at_the_ends(measures):
        better = _better_place(chart, measures, taken, r, stitch, yarn)
        if better is None:
            continue
        name = chart.yarns[yarn].name
        message = f"{place(chart, r, stitch)}: {name} is caught right beside a colour change."
        mend = f"Catch it behind stitch {better + 1} instead."
        found.append(Finding(CODE, "note", message, mend, r + 1, stitch + 1, yarn=name))
    return found


def _at_the_ends(measures: Measures) -> list[tuple[int, int, int]]:
    """(round, stitch, yarn) of the catches whose yarn is knitted in the stitch before or after."""
    live, catches = measures.live, measures.catches[measures.holds]
    r, stitch, yarn = catches.T
    here = live.place[live.number[r, stitch]]
    beside = np.zeros(len(catches), bool)
    for step in (-1, 1):
        beside |= live.yarn[live.first[r] + (here + step) % live.count[r]] == yarn
    return [(a, b, c) for a, b, c in catches[beside].tolist()]


def _better_place(
    chart: Chart, measures: Measures, taken: set[tuple[int, int]], r: int, stitch: int, yarn: int
) -> int | None:
    """A column further into the float that keeps the limit and stacks on no other catch, or None."""
    row, live = chart.stitches[r], measures.live
    around = live.columns(r, 0, int(live.count[r]))
    if chart.in_round:  # begin behind the catch, so that the float is in one piece
        around = np.roll(around, -int(live.place[live.number[r, stitch]]))
    at = int(np.flatnonzero(around == stitch)[0])
    for step in (1, -1):
        before = at - step if chart.in_round else _inside(at - step, len(around))
        if before is None or row[around[before % len(around)]] != yarn:
            continue
        for offset in range(1, chart.rules.float_limit + 1):
            here = at + step * offset
            if not chart.in_round and _inside(here + step, len(around)) is None:
                return None
            column, following = (int(around[i % len(around)]) for i in (here, here + step))
            if row[column] == yarn or row[following] == yarn or (r, column) in taken:
                return None
            if not _stacks(chart, taken, r, column):
                return column
    return None


def _inside(index: int, count: int) -> int | None:
    return index if 0 <= index < count else None


def _stacks(chart: Chart, taken: set[tuple[int, int]], r: int, column: int) -> bool:
    """Whether a catch here would sit above or below another; a lone round that repeats is its own
    neighbour, so that there it always does."""
    rounds = [r - 1, r + 1]
    if chart.stacked:
        rounds = [other % chart.round_count for other in rounds]
    return r in rounds or any((other, column) in taken for other in rounds)
