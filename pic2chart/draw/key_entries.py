"""What a sheet's key has to explain, as values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pic2chart.chart import Chart
from pic2chart.chart.keys import KEYS
from pic2chart.chart.shaping import read_openings
from pic2chart.draw.look import PLAIN, Look
from pic2chart.draw.overlays import letters_catches
from pic2chart.draw.page import clean
from pic2chart.draw.shaping import SHAPES, named, set_aside, shapings
from pic2chart.draw.squares import ABSENT, ground_of
from pic2chart.rules.finding import Finding, Level
from pic2chart.rules.wording import many, round_word

LEVELS: tuple[Level, ...] = ("error", "warning", "note")

Kind = Literal[
    "yarn",
    "no-stitch",
    "catch",
    "shaping",
    "opening",
    "aside",
    "join",
    "repeat",
    "changed",
    "error",
    "warning",
    "note",
]


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the key. `yarn` and `colour` are those of the block's yarn, if it has one.

    `sign` is the kind of shaping, drawn for that `hand`, or the letter in a catch mark.
    """

    kind: Kind
    name: str
    detail: str
    yarn: int = 0
    colour: str = ABSENT
    sign: str = ""
    hand: str = "right"


def sheet_entries(
    chart: Chart, changed: int, findings: Sequence[Finding], look: Look = PLAIN
) -> tuple[Entry, ...]:
    """Every yarn in the chart's order, then each further mark that the sheet shows."""
    entries = list(yarn_entries(chart, look))
    if not chart.live.all():
        entries.append(Entry("no-stitch", "no stitch", "skip this square"))
    if chart.catches:
        caught = sorted({catch.yarn for catch in chart.catches})
        colour = chart.yarns[caught[0]].colour
        letter = KEYS[caught[0]] if letters_catches(chart) else ""
        lettered = " and letter" if letter else ""
        detail = f"{len(chart.catches):,}, in the caught yarn's colour{lettered}"
        entries.append(Entry("catch", "catch behind stitch", detail, colour=colour, sign=letter))
    found = [shaping.kind for shaping in shapings(chart)]
    for kind in (kind for kind in SHAPES if kind in found):
        detail = _count(found.count(kind), "place", "places")
        entries.append(
            Entry("shaping", named(kind, chart.hand), detail, sign=kind, hand=chart.hand)
        )
    entries += [
        Entry("opening", "opening", f"{_count(o.count, 'stitch', 'stitches')} on waste yarn")
        for o in read_openings(chart.extra)[:1]
    ]
    entries += [
        Entry("aside", "set aside", f"{_count(s.count, 'stitch', 'stitches')} on waste yarn")
        for s in set_aside(chart)[:1]
    ]
    if chart.in_round:
        entries.append(Entry("join", "join", "the round closes: last stitch to first"))
    if chart.repeat:
        size = f"{_count(chart.repeat[0], 'stitch', 'stitches')} × {many(chart.repeat[1], round_word(chart))}"
        entries.append(Entry("repeat", "repeat", size))
    if changed:
        entries.append(Entry("changed", "changed stitch", _count(changed, "stitch", "stitches")))
    for level in LEVELS:
        number = sum(f.level == level and f.round is not None for f in findings)
        if number:
            entries.append(Entry(level, level, f"{_count(number, 'place', 'places')}, see below"))
    return tuple(entries)


def yarn_entries(chart: Chart, look: Look = PLAIN) -> tuple[Entry, ...]:
    """One entry a yarn: its key letter and name, and how many stitches it knits."""
    counts = np.bincount(chart.stitches[chart.live], minlength=len(chart.yarns))
    return tuple(
        Entry(
            "yarn",
            _called(KEYS[index], clean(yarn.name)),
            _count(int(counts[index]), "stitch", "stitches") if counts[index] else "not used",
            index,
            ground_of(yarn.colour, look),
        )
        for index, yarn in enumerate(chart.yarns)
    )


def _called(key: str, name: str) -> str:
    """'A oat'; 'yarn A' where the key is all its name."""
    return name if name == f"yarn {key}" else f"{key} {name}"


def _count(number: int, one: str, many: str) -> str:
    return f"{number:,} {one if number == 1 else many}"
