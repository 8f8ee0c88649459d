"""too-many-colours: no round uses more yarns than allowed.

Common practice: two colours in a round is the norm; three is possible but slow and thick.
"""

from __future__ import annotations

import numpy as np

from pic2chart.chart.chart import Chart
from pic2chart.rules.finding import Finding
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import listed, many, round_word

CODE = "too-many-colours"


def too_many_colours(chart: Chart, measures: Measures) -> list[Finding]:
    """One error for every round that uses too many yarns; the least used one is named to go."""
    word = round_word(chart)
    allowed, found = chart.rules.colours_per_round, []
    for r in np.flatnonzero(measures.used.sum(axis=1) > allowed).tolist():
        yarns = np.flatnonzero(measures.used[r]).tolist()
        counts = {y: int((chart.stitches[r] == y).sum()) for y in yarns}
        least = min(yarns, key=lambda y: (counts[y], y))
        names = listed([chart.yarns[y].name for y in yarns])
        message = f"{word.capitalize()} {r + 1} uses {len(yarns)} yarns ({names}); the most allowed is {allowed}."
        mend = (
            f"Knit the {many(counts[least], 'stitch')} of {chart.yarns[least].name} "
            f"in another yarn of the {word}."
        )
        found.append(Finding(CODE, "error", message, mend, r + 1, length=len(yarns)))
    return found
