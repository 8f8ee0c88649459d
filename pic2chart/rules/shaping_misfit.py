"""shaping-misfit: the shaping must account for every stitch of the round before.

Each decrease joins the next two stitches of the round before, each increase is made between two,
every other stitch is knitted on one; so the stitches used up must be just those there were. Only
charts that tell their shaping (garments) are looked at. A decrease never reaches across the join,
since its two stitches are looked for within the round.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from pic2chart.chart.chart import Chart
from pic2chart.chart.shaping import HOLD, USED, Shaping, read_shaping, worked
from pic2chart.rules.finding import Finding
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import many, place, round_word

CODE = "shaping-misfit"


def shaping_misfit(chart: Chart, measures: Measures) -> list[Finding]:
    """An error for every round whose stitches do not add up, and for shaping that cannot be worked."""
    if "shaping" not in chart.extra:
        return []
    shapings, unreadable = read_shaping(chart.extra)
    found = [] if not unreadable else [_unreadable(unreadable)]
    by_round: dict[int, list[Shaping]] = defaultdict(list)
    for shaping in shapings:
        misplaced = _misplaced(chart, shaping)
        if misplaced is None:
            by_round[shaping.round].append(shaping)
        else:
            found.append(misplaced)
    counts = measures.live.count
    for r in range(1, chart.round_count):
        if by_round[r] or counts[r] != counts[r - 1]:
            found += _round(chart, r, int(counts[r - 1]), by_round[r])
    return found


def _unreadable(count: int) -> Finding:
    message = f"{many(count, 'mark')} in the chart's list of shaping cannot be read."
    return Finding(CODE, "warning", message, "Make the chart again, or mend the list by hand.")


def _misplaced(chart: Chart, shaping: Shaping) -> Finding | None:
    """An error when shaping stands where there is no such stitch."""
    r, stitch = shaping.round, shaping.stitch
    inside = 0 < r < chart.round_count and stitch + shaping.count <= chart.stitch_count
    row = r - 1 if shaping.kind == HOLD else r
    if inside and bool(chart.live[row, stitch]):
        return None
    message = (
        f"{place(chart, r, stitch)}: {shaping.kind} is marked where there is no stitch for it."
    )
    return Finding(CODE, "error", message, "Move the mark to its stitch.", r + 1, stitch + 1)


def _round(chart: Chart, r: int, before: int, shapings: Sequence[Shaping]) -> list[Finding]:
    """Walk a round in knitting order and count the stitches of the round before it uses up."""
    used, found = 0, []
    for column, shaping in worked(chart.live[r], shapings):
        need = 1 if shaping is None else shaping.used
        if shaping is not None and shaping.kind in USED and used + need > before:
            left = max(before - used, 0)
            message = f"{place(chart, r, column)}: {shaping.kind} has {many(left, 'stitch')} to join, not {need}."
            mend = f"Take the decrease out, or work it earlier in the {round_word(chart)}."
            found.append(Finding(CODE, "error", message, mend, r + 1, column + 1, left))
        used += need
    if used != before and not found:
        now = int(np.count_nonzero(chart.live[r]))
        word = round_word(chart)
        message = (
            f"{word.capitalize()} {r + 1}: its {many(now, 'stitch')} use up {used} of {word} {r}, "
            f"which has {before}."
        )
        mend = "Mark as many decreases or increases as the stitch count changes by."
        found.append(Finding(CODE, "error", message, mend, r + 1, length=abs(used - before)))
    return found
