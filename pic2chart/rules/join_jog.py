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

    Only for charts worked in the round, either with a repeat, when all rounds are of full length, or
    of a garment, which says in its file that its rounds join (`"join"`).
    """
    repeating = chart.repeat is not None and bool(chart.live.all())
    if not chart.in_round or not (repeating or "join" in chart.extra):
        return []
    steps = join_steps(chart.stitches)[:, 0] if repeating else _steps_of_garment(chart, measures)
    if not steps.any():
        return []
    rounds = np.flatnonzero(steps).tolist()
    message = (
        f"The pattern steps at the join in {many(len(rounds), 'round')} ({rounds_named(chart, rounds)}): "
        "a last stitch meets another yarn in the next round."
    )
    better = _better_start(chart) if repeating else None
    start = f"Begin the round at stitch {better}, or put" if better else "Put"
    mend = f"{start} the join where it is not seen."
    first = int(measures.live.column[measures.live.first[rounds[0]]])
    return [Finding(CODE, "note", message, mend, rounds[0] + 1, first + 1, len(rounds))]


def _better_start(chart: Chart) -> int | None:
    """The stitch, from 1, at which a round should begin so that it steps least; None when it does."""
    totals: Ints = join_steps(chart.stitches).sum(axis=0)
    best = int(totals.argmin())
    return best + 1 if totals[best] < totals[0] else None


def _steps_of_garment(chart: Chart, measures: Measures) -> Ints:
    """Int [rounds]: 1 where the first and last stitch agree and the round above begins otherwise."""
    live = measures.live
    rounds = np.flatnonzero(live.count > 0)
    first = live.yarn[live.first[rounds]]
    last = live.yarn[live.first[rounds] + live.count[rounds] - 1]
    steps = np.zeros(chart.round_count, np.intp)
    steps[rounds[:-1]] = (first[:-1] == last[:-1]) & (first[1:] != first[:-1])
    return steps


def join_steps(stitches: Stitches) -> Ints:
    """Int [rounds, stitches]: 1 where a round begun at that stitch would step at its join.

    `stitches`: uint8 [rounds, stitches], all live.
    """
    last = np.roll(stitches, 1, axis=1)
    above = np.roll(stitches, -1, axis=0)
    return np.asarray((last == stitches) & (last != above), dtype=np.intp)
