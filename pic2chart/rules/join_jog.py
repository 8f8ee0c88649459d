"""join-jog: a repeating pattern that steps by one round where the round joins.

Knitting in the round is a spiral: the last stitch of a round meets the first stitch of the next.
A band that runs straight across the join on paper therefore steps up by one round in wool. Common
practice: begin the round where one yarn stands plain, or put the join where it is not seen. A
picture, which is knitted once, has a beginning anyway; it is not looked at.
"""

from __future__ import annotations

import numpy as np

from pic2chart.chart.chart import Chart, Stitches
from pic2chart.rules.finding import Finding
from pic2chart.rules.live import Ints
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import many, rounds_named

CODE = "join-jog"


def join_jog(chart: Chart, measures: Measures) -> list[Finding]:
    """At most one note: the rounds that step at the join, and a better first stitch if there is one.

    Only for charts worked in the round, with a repeat, whose rounds are all of full length.
    """
    if chart.repeat is None or not chart.in_round or not chart.live.all():
        return []
    steps = join_steps(chart.stitches)
    if not steps[:, 0].any():
        return []
    rounds = np.flatnonzero(steps[:, 0]).tolist()
    message = (
        f"The pattern steps at the join in {many(len(rounds), 'round')} ({rounds_named(rounds)}): "
        "a last stitch meets another yarn in the next round."
    )
    totals: Ints = steps.sum(axis=0)
    best = int(totals.argmin())
    start = f"Begin the round at stitch {best + 1}, or put" if totals[best] < totals[0] else "Put"
    mend = f"{start} the join where it is not seen."
    return [Finding(CODE, "note", message, mend, rounds[0] + 1, 1, len(rounds))]


def join_steps(stitches: Stitches) -> Ints:
    """Int [rounds, stitches]: 1 where a round begun at that stitch would step at its join.

    `stitches`: uint8 [rounds, stitches], all live.
    """
    last = np.roll(stitches, 1, axis=1)
    above = np.roll(stitches, -1, axis=0)
    return np.asarray((last == stitches) & (last != above), dtype=np.intp)
