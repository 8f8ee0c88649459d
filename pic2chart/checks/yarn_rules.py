"""Rules about yarns: how many a round uses, how well they read together, and whether each is used.

Each rule is a function of a chart and its measures that returns findings; what it asks, and where
that comes from, stands above its code.
"""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np

from pic2chart.checks.finding import Finding
from pic2chart.core.colour import lightness, parse_hex
from pic2chart.core.messages import Message, message
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.measure import Measures
from pic2chart.model.wording import a_round, place, round_named, rounds_named
from pic2chart.model.yarn import Yarn

# too-many-colours: no round uses more yarns than allowed.
#
# Common practice: two colours in a round is the norm; three is possible but slow and thick.

TOO_MANY_COLOURS = "too-many-colours"


def too_many_colours(chart: Chart, measures: Measures) -> list[Finding]:
    """One error for every round that uses too many yarns; the least used one is named to go."""
    allowed, found = chart.rules.colours_per_round, []
    for r in np.flatnonzero(measures.used.sum(axis=1) > allowed).tolist():
        yarns = np.flatnonzero(measures.used[r]).tolist()
        counts = {y: int((chart.stitches[r] == y).sum()) for y in yarns}
        least = min(yarns, key=lambda y: (counts[y], y))
        what = message(
            "too-many-colours",
            where=round_named(chart, r),
            count=len(yarns),
            yarns=tuple(chart.yarns[y].name for y in yarns),
            allowed=allowed,
            options=("per_round",),
        )
        cure = message(
            "too-many-colours-mend",
            count=counts[least],
            yarn=chart.yarns[least].name,
            word=a_round(chart),
        )
        found.append(Finding(TOO_MANY_COLOURS, "error", what, cure, r + 1, length=len(yarns)))
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
    spans = [_span(yarn) for yarn in chart.yarns]
    found = []
    for a, b in combinations(range(len(chart.yarns)), 2):
        first, second = chart.yarns[a], chart.yarns[b]
        shared = np.flatnonzero(measures.used[:, a] & measures.used[:, b]).tolist()
        if first.colour == second.colour:
            found.append(_same_colour(chart, first.name, second.name, shared))
            continue
        gap = max(spans[a][0] - spans[b][1], spans[b][0] - spans[a][1], 0.0)
        unsure = math.hypot(first.within or 0.0, second.within or 0.0)
        if shared and gap < chart.rules.min_delta_L:
            what = message(
                "low-contrast",
                first=first.name,
                second=second.name,
                gap=gap,
                least=chart.rules.min_delta_L,
                rounds=rounds_named(chart, shared),
                options=("min_delta_L",),
            )
            cure = message("low-contrast-mend", first=first.name, second=second.name)
            found.append(
                Finding(LOW_CONTRAST, "warning", what, cure, shared[0] + 1, None, None, second.name)
            )
        elif shared and gap - unsure < chart.rules.min_delta_L:
            what = message(
                "contrast-unsure",
                first=first.name,
                second=second.name,
                gap=gap,
                unsure=unsure,
                least=chart.rules.min_delta_L,
            )
            cure = message("contrast-unsure-mend")
            found.append(
                Finding(LOW_CONTRAST, "note", what, cure, shared[0] + 1, None, None, second.name)
            )
    return found


def _span(yarn: Yarn) -> tuple[float, float]:
    """L* of a yarn's darkest and of its lightest shade, the same for a yarn of one colour."""
    shades = [parse_hex(colour) for colour in yarn.shades or (yarn.colour,)]
    light = lightness(np.array(shades, np.uint8))
    return float(light.min()), float(light.max())


def _same_colour(chart: Chart, first: str, second: str, shared: list[int]) -> Finding:
    """Two yarns of one colour: the pattern between them cannot be seen."""
    cure = message("same-colour-mend", first=first, second=second)
    if not shared:
        what = message("same-colour-apart", first=first, second=second)
        return Finding(LOW_CONTRAST, "warning", what, cure, yarn=second)
    rounds = rounds_named(chart, shared)
    what = message("same-colour", first=first, second=second, rounds=rounds)
    return Finding(LOW_CONTRAST, "error", what, cure, shared[0] + 1, yarn=second)


# unused-yarn: every yarn of the chart is knitted somewhere.

UNUSED_YARN = "unused-yarn"


def unused_yarn(chart: Chart, measures: Measures) -> list[Finding]:
    """One note for every yarn without a stitch."""
    found = []
    for y in np.flatnonzero(~measures.used.any(axis=0)).tolist():
        name = chart.yarns[y].name
        what, cure = message("unused-yarn", yarn=name), message("unused-yarn-mend")
        found.append(Finding(UNUSED_YARN, "note", what, cure, yarn=name))
    return found


# unknown-yarn: every catch names a yarn that floats behind the stitch it is on.

UNKNOWN_YARN = "unknown-yarn"


def unknown_yarn(chart: Chart, measures: Measures) -> list[Finding]:
    """One error for every catch that catches nothing, with the reason."""
    found = []
    for r, stitch, yarn in measures.catches[~measures.holds].tolist():
        name = chart.yarns[yarn].name if 0 <= yarn < len(chart.yarns) else None
        what = message(
            "unknown-yarn",
            place=place(chart, r, stitch),
            why=_why(chart, r, stitch, yarn, name),
        )
        cure = message("unknown-yarn-mend")
        found.append(Finding(UNKNOWN_YARN, "error", what, cure, r + 1, stitch + 1, yarn=name))
    return found


def _why(chart: Chart, r: int, stitch: int, yarn: int, name: str | None) -> Message:
    """What is wrong with a catch."""
    inside = 0 <= r < chart.round_count and 0 <= stitch < chart.stitch_count
    if not inside or chart.stitches[r, stitch] == NO_STITCH:
        return message("catch-on-no-stitch")
    if name is None:
        return message("catch-of-no-yarn", yarn=yarn + 1, yarns=len(chart.yarns))
    if chart.stitches[r, stitch] == yarn:
        return message("catch-on-its-own-stitch", yarn=name)
    if not np.any(chart.stitches[r] == yarn):
        return message("catch-of-unused-yarn", yarn=name, word=a_round(chart))
    return message("catch-not-here", yarn=name)
