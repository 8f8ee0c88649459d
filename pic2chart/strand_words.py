"""The strand plan in a knitter's words: why, how to hold the yarns, where they change places."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import Chart
from pic2chart.rules.wording import listed, round_word
from pic2chart.strand_round import RoundStrands, Swap

Floats = NDArray[np.float64]

ALIKE = 0.1
"""Yarns whose part in the ground differs by less than this are told apart by lightness."""


def swap_warning(chart: Chart, rounds: tuple[RoundStrands, ...], swap: Swap) -> str:
    """Where and how a yarn changes places, and what that does to its stitches."""
    name, word = chart.yarns[swap.yarn].name, round_word(chart)
    then, now = (
        listed([chart.yarns[y].name for y in rounds[r].order if y != swap.yarn])
        for r in (swap.last_round, swap.round)
    )
    return (
        f"{word.capitalize()} {swap.round + 1}: {name} changes places. It ran {swap.before} {then} "
        f"in {word} {swap.last_round + 1} and runs {swap.now} {now} from here; its stitches will look "
        f"{'larger' if swap.now == 'under' else 'smaller'}."
    )


def reason(
    chart: Chart,
    under: tuple[int, ...],
    over: tuple[int, ...],
    ground: Floats,
    light: Floats,
) -> str:
    """What decided which yarns run under. `ground` and `light` are [yarns]."""
    names = _names(chart, under)
    verb = "runs" if len(under) == 1 else "run"
    lead = f"{names} {verb} under: the lower yarn shows larger on the front, and "
    if not over or ground[list(over)].min() - ground[list(under)].max() >= ALIKE:
        return f"{lead}{names} {'draws' if len(under) == 1 else 'draw'} the motif."
    if light[list(under)].max() < light[list(over)].min():
        return f"{lead}neither is the ground more than the other, so the darker is taken."
    return f"{lead}in this way the yarns change places least often."


def holds(
    chart: Chart, under: tuple[int, ...], over: tuple[int, ...]
) -> dict[tuple[str, str], str]:
    """How to hold the yarns, by (hand, how)."""
    below, above = _names(chart, under), _names(chart, over)
    picked = (
        f"One hand: bring {below} up from beneath {above}, and {above} over the top, every time "
        "the same way, so that they never twist."
    )
    stay = "stays the lower one" if len(under) == 1 else "stay the lower ones"
    back = f" In wrong-side rows {below} {stay} on the side that faces you."
    back = "" if chart.in_round else back
    return {
        ("right", "two-handed"): f"{_two_hands(below, above)}{back}",
        ("right", "one-handed"): f"{picked}{back}",
        ("left", "two-handed"): f"{_two_hands(above, below)}{back}",
        ("left", "one-handed"): f"{picked}{back}",
    }


def _two_hands(left: str, right: str) -> str:
    return f"Two hands: {left} in the left hand, {right} in the right."


def _names(chart: Chart, yarns: tuple[int, ...]) -> str:
    return listed([chart.yarns[y].name for y in yarns])
