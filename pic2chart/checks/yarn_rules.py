"""Rules about yarns: how many a round uses, how well they read together, and whether each is used.

Each rule is a function of a chart and its measures that returns findings; what it asks, and where
that comes from, stands above its code.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np

from pic2chart.checks.finding import Finding
from pic2chart.core.colour import lightness
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.measure import Measures
from pic2chart.model.wording import listed, many, place, round_word, rounds_named

# too-many-colours: no round uses more yarns than allowed.
#
# Common practice: two colours in a round is the norm; three is possible but slow and thick.

TOO_MANY_COLOURS = "too-many-colours"


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
        found.append(Finding(TOO_MANY_COLOURS, "error", message, mend, r + 1, length=len(yarns)))
    return found


# low-contrast: yarns that share a round must differ in lightness.
#
# Common practice: photograph two yarns in black and white, or squint; if they merge, so will the
# pattern. Lightness is CIE L* (CIE 15); the smallest difference is the chart's `min_delta_L`.

LOW_CONTRAST = "low-contrast"


def low_contrast(chart: Chart, measures: Measures) -> list[Finding]:
    """One finding for every pair too close in lightness, naming the rounds they share.

    Two yarns of the very same colour are an error in the rounds they share, and a warning when they
    never meet, used or not.
    """
    light = lightness(np.array([y.rgb for y in chart.yarns], np.uint8)).tolist()
    found = []
    for a, b in combinations(range(len(chart.yarns)), 2):
        first, second = chart.yarns[a], chart.yarns[b]
        shared = np.flatnonzero(measures.used[:, a] & measures.used[:, b]).tolist()
        if first.colour == second.colour:
            found.append(_same_colour(chart, first.name, second.name, shared))
        elif shared and abs(light[a] - light[b]) < chart.rules.min_delta_L:
            gap = abs(light[a] - light[b])
            message = (
                f"{first.name} and {second.name} differ by {gap:.1f} in lightness, less than "
                f"{chart.rules.min_delta_L:g}, and meet in {rounds_named(chart, shared)}."
            )
            mend = f"Choose a lighter or darker yarn for {first.name} or {second.name}."
            found.append(
                Finding(
                    LOW_CONTRAST, "warning", message, mend, shared[0] + 1, None, None, second.name
                )
            )
    return found


def _same_colour(chart: Chart, first: str, second: str, shared: list[int]) -> Finding:
    """Two yarns of one colour: the pattern between them cannot be seen."""
    mend = f"Give {first} or {second} another colour, or make them one yarn."
    if not shared:
        message = f"{first} and {second} have the same colour; they look alike in the chart."
        return Finding(LOW_CONTRAST, "warning", message, mend, yarn=second)
    message = (
        f"{first} and {second} have the same colour and meet in {rounds_named(chart, shared)}: "
        "no pattern will show."
    )
    return Finding(LOW_CONTRAST, "error", message, mend, shared[0] + 1, yarn=second)


# unused-yarn: every yarn of the chart is knitted somewhere.

UNUSED_YARN = "unused-yarn"


def unused_yarn(chart: Chart, measures: Measures) -> list[Finding]:
    """One note for every yarn without a stitch."""
    found = []
    for y in np.flatnonzero(~measures.used.any(axis=0)).tolist():
        name = chart.yarns[y].name
        message = f"No stitch of the chart is knitted in {name}."
        found.append(Finding(UNUSED_YARN, "note", message, "Leave it out of the yarns.", yarn=name))
    return found


# unknown-yarn: every catch names a yarn that floats behind the stitch it is on.

UNKNOWN_YARN = "unknown-yarn"


def unknown_yarn(chart: Chart, measures: Measures) -> list[Finding]:
    """One error for every catch that catches nothing, with the reason."""
    found = []
    for r, stitch, yarn in measures.catches[~measures.holds].tolist():
        name = chart.yarns[yarn].name if 0 <= yarn < len(chart.yarns) else None
        message = f"{place(chart, r, stitch)}: {_why(chart, r, stitch, yarn, name)}."
        mend = "Take this catch out, or name the yarn that floats behind the stitch."
        found.append(Finding(UNKNOWN_YARN, "error", message, mend, r + 1, stitch + 1, yarn=name))
    return found


def _why(chart: Chart, r: int, stitch: int, yarn: int, name: str | None) -> str:
    """What is wrong with a catch."""
    inside = 0 <= r < chart.round_count and 0 <= stitch < chart.stitch_count
    if not inside or chart.stitches[r, stitch] == NO_STITCH:
        return "a catch lies where there is no stitch"
    if name is None:
        return f"a catch names yarn {yarn + 1}, but the chart has {len(chart.yarns)}"
    if chart.stitches[r, stitch] == yarn:
        return f"{name} is to be caught behind the stitch it knits"
    if not np.any(chart.stitches[r] == yarn):
        return f"{name} is to be caught, but this {round_word(chart)} does not use it"
    return f"{name} cannot be caught here"
