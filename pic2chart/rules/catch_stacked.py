"""catch-stacked: no catch sits on the same stitch in two consecutive rounds.

Common practice: a column of twists shows on the front. Where the chart repeats upwards, its last
round is followed by its first.
"""

from __future__ import annotations

from pic2chart.chart.chart import Chart
from pic2chart.rules.finding import Finding
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import place, round_word

CODE = "catch-stacked"


def catch_stacked(chart: Chart, measures: Measures) -> list[Finding]:
    """One warning for every stitch caught in a round and again in the round above.

    Catches that hold nothing are left to unknown-yarn.
    """
    top = chart.round_count
    caught = {(r, s): yarn for r, s, yarn in measures.catches[measures.holds].tolist()}
    found = []
    for (r, stitch), yarn in caught.items():
        above = (r + 1) % top if chart.stacked else r + 1
        if (above, stitch) not in caught:
            continue
        name = chart.yarns[yarn].name
        message = (
            f"{place(chart, r, stitch)}: caught here and again in {round_word(chart)} {above + 1}; "
            "twists above each other show on the front."
        )
        mend = f"Move the catch in {round_word(chart)} {above + 1} a stitch or two to one side."
        if above == r:
            mend = "Move it a stitch or two to one side each time it comes."
        found.append(Finding(CODE, "warning", message, mend, r + 1, stitch + 1, yarn=name))
    return found
