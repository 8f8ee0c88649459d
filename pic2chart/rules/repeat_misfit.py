"""repeat-misfit: the repeat goes into every round, and into the number of rounds.

Common practice: a pattern worked in the round needs a multiple of its repeat; worked flat, stitches
over are knitted at the edges to balance it, so there it is a note.
"""

from __future__ import annotations

import numpy as np

from pic2chart.chart.chart import Chart
from pic2chart.rules.finding import Finding, Level
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import many, round_word, rounds_named

CODE = "repeat-misfit"


def repeat_misfit(chart: Chart, measures: Measures) -> list[Finding]:
    """One finding for every stitch count the repeat does not divide, and one for the rounds."""
    if chart.repeat is None:
        return []
    across, up = chart.repeat
    found = []
    for count in np.unique(measures.live.count).tolist():
        if count % across:
            rounds = np.flatnonzero(measures.live.count == count).tolist()
            found.append(_across(chart, count, across, rounds))
    if chart.round_count % up:
        word = round_word(chart)
        message = f"The chart has {many(chart.round_count, word)}, but its repeat has {up}."
        mend = f"Make the chart a multiple of {many(up, word)} high."
        found.append(Finding(CODE, "warning", message, mend, length=up))
    return found


def _across(chart: Chart, count: int, across: int, rounds: list[int]) -> Finding:
    """The finding for all rounds of one stitch count."""
    named = rounds_named(chart, rounds)
    level: Level = "error" if chart.in_round else "note"
    over = count % across
    message = (
        f"{named[0].upper()}{named[1:]}: {many(count, 'stitch')} cannot be filled by a repeat of "
        f"{across}; {over} {'is' if over == 1 else 'are'} over."
    )
    fewer, more = count - over, count - over + across
    choice = f"{fewer} or {more}" if fewer else f"{more}"
    mend = f"Use {choice} stitches there, or change the repeat."
    return Finding(CODE, level, message, mend, rounds[0] + 1, length=count)
