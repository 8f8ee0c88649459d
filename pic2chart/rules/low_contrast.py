"""low-contrast: yarns that share a round must differ in lightness.

Common practice: photograph two yarns in black and white, or squint; if they merge, so will the
pattern. Lightness is CIE L* (CIE 15); the smallest difference is the chart's `min_delta_L`.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np

from pic2chart.chart.chart import Chart
from pic2chart.colour import lightness
from pic2chart.rules.finding import Finding
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import rounds_named

CODE = "low-contrast"


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
                Finding(CODE, "warning", message, mend, shared[0] + 1, None, None, second.name)
            )
    return found


def _same_colour(chart: Chart, first: str, second: str, shared: list[int]) -> Finding:
    """Two yarns of one colour: the pattern between them cannot be seen."""
    mend = f"Give {first} or {second} another colour, or make them one yarn."
    if not shared:
        message = f"{first} and {second} have the same colour; they look alike in the chart."
        return Finding(CODE, "warning", message, mend, yarn=second)
    message = (
        f"{first} and {second} have the same colour and meet in {rounds_named(chart, shared)}: "
        "no pattern will show."
    )
    return Finding(CODE, "error", message, mend, shared[0] + 1, yarn=second)
