"""buried-stitch: a single stitch between two long floats of its own yarn.

Common practice: when the floats are tight they pull such a stitch in, and it can vanish. A float is
long here when it passes the chart's limit; catching it nearby does not hold the stitch up.
"""

from __future__ import annotations

import numpy as np

from pic2chart.chart.chart import Chart
from pic2chart.rules.finding import Finding
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import place
from pic2chart.settings import MAX_SIDE, MAX_YARNS

CODE = "buried-stitch"
_SPAN = MAX_SIDE + 1


def buried_stitch(chart: Chart, measures: Measures) -> list[Finding]:
    """One note for every single stitch whose yarn floats beyond the limit on both sides.

    Its message gives both lengths; `length` is the shorter.
    """
    live, found = measures.live, []
    for r, at, yarn, left, right in _between(chart, measures):
        stitch, name = int(live.columns(r, at, 1)[0]), chart.yarns[yarn].name
        message = (
            f"{place(chart, r, stitch)}: a single stitch of {name} between floats of {left} and {right} "
            "can be pulled out of sight."
        )
        mend = f"Give it a second {name} stitch beside it, or keep both floats loose."
        length = min(left, right)
        found.append(Finding(CODE, "note", message, mend, r + 1, stitch + 1, length, name))
    return found


def _between(chart: Chart, measures: Measures) -> list[tuple[int, int, int, int, int]]:
    """(round, place, yarn, float before, float after) of each stitch between two long floats.

    The stitch after one float must be the stitch before the next; a float that runs to the edge of
    flat work has no stitch there.
    """
    floats, live = measures.floats.over(chart.rules.float_limit), measures.live
    around = live.count[floats.round]
    end = floats.place + floats.length
    ending = np.flatnonzero(chart.in_round | (end < around))
    beginning = np.flatnonzero(chart.in_round | (floats.place > 0))
    key = (floats.round * _SPAN) * MAX_YARNS + floats.yarn
    after = (key + (end % around) * MAX_YARNS)[ending]
    before = (key + ((floats.place - 1) % around) * MAX_YARNS)[beginning]
    _, i, j = np.intersect1d(after, before, assume_unique=True, return_indices=True)
    i, j = ending[i], beginning[j]
    parts = (floats.round[j], (end % around)[i], floats.yarn[j], floats.length[i], floats.length[j])
    return list(zip(*(part.tolist() for part in parts), strict=True))
