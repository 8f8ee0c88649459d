"""ragged-round: rounds that are empty, very short, or change size faster than shaping can.

An empty round cannot be knitted: an error. Fewer than 3 stitches cannot be worked in the round on
any needles: a warning there, nothing flat, where a point may end on one stitch. Common practice:
shaping at most halves a round (two together all round) or doubles it (one increased in every
stitch); a larger change needs casting on or binding off, which may be meant: a note.
"""

from __future__ import annotations

import numpy as np

from pic2chart.chart.chart import Chart
from pic2chart.rules.finding import Finding
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import many, round_word

CODE = "ragged-round"
FEWEST = 3


def ragged_round(chart: Chart, measures: Measures) -> list[Finding]:
    """One finding for every empty or short round, and for every jump in the number of stitches."""
    counts = measures.live.count
    found = [_short(chart, r, int(counts[r])) for r in _short_rounds(chart, measures)]
    word = round_word(chart)
    before, after = counts[:-1], counts[1:]
    jumps = (before > 0) & (after > 0) & ((after > 2 * before) | (2 * after < before))
    for r in np.flatnonzero(jumps).tolist():
        message = (
            f"{word.capitalize()} {r + 2} has {many(int(after[r]), 'stitch')} after "
            f"{int(before[r])} in {word} {r + 1}, more of a change than shaping makes."
        )
        mend = f"Spread it over more {word}s, or cast on or bind off the difference."
        found.append(Finding(CODE, "note", message, mend, r + 2, length=int(after[r])))
    return found


def _short_rounds(chart: Chart, measures: Measures) -> list[int]:
    fewest = FEWEST if chart.in_round else 1
    return [int(r) for r in np.flatnonzero(measures.live.count < fewest)]


def _short(chart: Chart, r: int, count: int) -> Finding:
    """The finding for a round with no stitch, or too few."""
    word = round_word(chart)
    where = f"{word.capitalize()} {r + 1}"
    if count == 0:
        message, mend = f"{where} has no stitch.", f"Take the {word} out of the chart."
        return Finding(CODE, "error", message, mend, r + 1, length=0)
    message = f"{where} has only {many(count, 'stitch')}, too few to knit in the round."
    mend = "Fasten off before this round: draw the yarn through the stitches left."
    return Finding(CODE, "warning", message, mend, r + 1, length=count)
