"""Rounds as they are spoken: runs of one yarn in knitting order, repeats folded, catches named."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.keys import KEYS
from pic2chart.model.rows import Row
from pic2chart.model.wording import listed, round_word

_LONGEST_UNIT = 24
_SAVING = 2
"""Runs that folding a repeat must save to be worth its brackets."""
_PLAIN_NAME = re.compile(r"[^\W\d_][\w .'’-]*")
_OWN_WORDS = frozenset({"skip", "stitch", "stitches", "yarn", "catch", "round", "row"})


@dataclass(frozen=True, slots=True)
class Run:
    """`count` stitches of one yarn (index); 255 are squares without a stitch."""

    count: int
    yarn: int


@dataclass(frozen=True, slots=True)
class Group:
    """Runs worked `times` times over."""

    runs: tuple[Run, ...]
    times: int


Parts = tuple[Run | Group, ...]


@dataclass(frozen=True, slots=True)
class Spoken:
    """Rounds `first` to `last` (from 0), which are worked alike.

    `parts` come in the order they are worked, which on a row that comes back is backwards along the
    chart. `row` is how the first of them is worked, `stated` whether the chart states that. `catches` are (yarn, stitches from 0 in the order they are reached); `shaped` the
    decreases and increases as (kind, stitches); `openings` stitches knitted with waste yarn first,
    as (first, past the last).
    """

    first: int
    last: int
    parts: Parts
    catches: tuple[tuple[int, tuple[int, ...]], ...]
    row: Row
    stated: bool = False
    shaped: tuple[tuple[str, tuple[int, ...]], ...] = ()
    openings: tuple[tuple[int, int], ...] = ()


def speak(chart: Chart) -> tuple[Spoken, ...]:
    """Every round of the chart; in the round, equal rounds that follow each other are said once."""
    spoken: list[Spoken] = []
    caught, shaped, openings = _catches(chart), _shaped(chart), _openings(chart)
    stated = {row.round for row in chart.rows}
    for r in range(chart.round_count):
        row = chart.row(r)
        squares = chart.stitches[r, ::-1] if row.backwards else chart.stitches[r]
        catches = _by_yarn(caught[r], row.backwards)
        beside = (catches, shaped.get(r, ()), openings.get(r, ()))
        last = spoken[-1] if spoken else None
        if (
            last is not None
            and chart.in_round
            and not (last.stated or r in stated)
            and beside == (last.catches, last.shaped, last.openings)
            and np.array_equal(chart.stitches[r], chart.stitches[last.first])
        ):
            spoken[-1] = replace(last, last=r)
        else:
            parts = fold(_runs(squares))
            spoken.append(Spoken(r, r, parts, catches, row, r in stated, beside[1], beside[2]))
    return tuple(spoken)


def _shaped(chart: Chart) -> dict[int, tuple[tuple[str, tuple[int, ...]], ...]]:
    """Decreases and increases of every round by kind; what is cast on or held a pattern tells."""
    found: dict[int, dict[str, list[int]]] = {}
    for s in chart.shaped:
        found.setdefault(s.round, {}).setdefault(s.kind, []).append(s.stitch)
    return {r: _in_order(kinds, chart.row(r).backwards) for r, kinds in found.items()}


def _in_order(
    kinds: dict[str, list[int]], backwards: bool
) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """Kinds and their stitches in the order they are reached."""
    turn = -1 if backwards else 1
    described = [(kind, sorted(places, key=lambda s: turn * s)) for kind, places in kinds.items()]
    described.sort(key=lambda shaped: (turn * shaped[1][0], shaped[0]))
    return tuple((kind, tuple(places)) for kind, places in described)


def _openings(chart: Chart) -> dict[int, tuple[tuple[int, int], ...]]:
    found: dict[int, list[tuple[int, int]]] = {}
    for o in chart.construction.openings:
        past = min(o.stitch + o.count, chart.stitch_count)
        if o.round < chart.round_count and 0 <= o.stitch < past:
            found.setdefault(o.round, []).append((o.stitch, past))
    return {r: tuple(places) for r, places in found.items()}


def _runs(row: np.ndarray[tuple[int], np.dtype[np.uint8]]) -> list[Run]:
    edges = np.flatnonzero(np.diff(row)) + 1
    starts = [0, *edges.tolist()]
    ends = [*edges.tolist(), len(row)]
    return [Run(end - start, int(row[start])) for start, end in zip(starts, ends, strict=True)]


def _catches(chart: Chart) -> list[list[tuple[int, int]]]:
    """(yarn, stitch) of the catches of every round."""
    rounds: list[list[tuple[int, int]]] = [[] for _ in range(chart.round_count)]
    for catch in chart.catches:
        rounds[catch.round].append((catch.yarn, catch.stitch))
    return rounds


def _by_yarn(
    caught: list[tuple[int, int]], backwards: bool
) -> tuple[tuple[int, tuple[int, ...]], ...]:
    yarns = sorted({yarn for yarn, _ in caught})
    return tuple(
        (yarn, tuple(sorted((s for y, s in caught if y == yarn), reverse=backwards)))
        for yarn in yarns
    )


def fold(runs: Sequence[Run]) -> Parts:
    """The shortest wording of the runs in which a stretch that repeats is said once.

    Exact over all ways to choose repeats of units up to 24 runs, each taken as often as it follows
    itself; groups are not nested.
    """
    count = len(runs)
    cost = [0.0] * (count + 1)
    choice: list[tuple[int, int]] = [(1, 1)] * count
    times_from = {unit: _times(runs, unit) for unit in range(2, _LONGEST_UNIT + 1)}
    for i in range(count - 1, -1, -1):
        cost[i] = 1 + cost[i + 1]
        for unit in range(2, min(_LONGEST_UNIT, (count - i) // 2) + 1):
            times = times_from[unit][i]
            if times > 1 and unit + _SAVING + cost[i + unit * times] < cost[i]:
                cost[i] = unit + _SAVING + cost[i + unit * times]
                choice[i] = (unit, times)
    parts: list[Run | Group] = []
    i = 0
    while i < count:
        unit, times = choice[i]
        parts.append(runs[i] if times == 1 else Group(tuple(runs[i : i + unit]), times))
        i += unit * times
    return tuple(parts)


def _times(runs: Sequence[Run], unit: int) -> list[int]:
    """How often the `unit` runs from each place on follow each other."""
    alike = [0] * (len(runs) + 1)
    for i in range(len(runs) - unit - 1, -1, -1):
        alike[i] = alike[i + 1] + 1 if runs[i] == runs[i + unit] else 0
    return [1 + length // unit for length in alike]


def called(chart: Chart) -> tuple[str, ...]:
    """What each yarn is called in the words: its name where that is plain and its own, else its key."""
    folded = [yarn.name.casefold() for yarn in chart.yarns]
    return tuple(
        yarn.name
        if _plain(yarn.name) and folded.count(yarn.name.casefold()) == 1
        else f"yarn {key}"
        for yarn, key in zip(chart.yarns, KEYS, strict=False)
    )


def _plain(name: str) -> bool:
    words = name.casefold().split()
    return _PLAIN_NAME.fullmatch(name) is not None and words[0] not in _OWN_WORDS


def run_words(parts: Parts, names: Sequence[str]) -> str:
    """'3 oat, (2 ink, 1 oat) × 4, skip 2'."""
    return ", ".join(
        f"({run_words(part.runs, names)}) × {part.times}"
        if isinstance(part, Group)
        else _run(part, names)
        for part in parts
    )


def _run(run: Run, names: Sequence[str]) -> str:
    return f"skip {run.count}" if run.yarn == NO_STITCH else f"{run.count} {names[run.yarn]}"


def catch_words(spoken: Spoken, names: Sequence[str]) -> str:
    """'catch ink behind stitches 7 and 13; catch oat behind stitch 20', or nothing."""
    return "; ".join(
        f"catch {names[yarn]} behind {_numbered(stitches)}" for yarn, stitches in spoken.catches
    )


def shaping_words(spoken: Spoken) -> str:
    """'k2tog at stitches 3 and 30; waste yarn at stitches 16 to 25', or nothing."""
    described = [f"{kind} at {_numbered(stitches)}" for kind, stitches in spoken.shaped]
    described += [
        f"waste yarn at stitches {first + 1} to {past}" for first, past in spoken.openings
    ]
    return "; ".join(described)


def _numbered(stitches: Sequence[int]) -> str:
    word = "stitch" if len(stitches) == 1 else "stitches"
    return f"{word} {listed([str(s + 1) for s in stitches])}"


def label(spoken: Spoken, chart: Chart) -> str:
    """'Round 12', 'Rounds 3–9', 'Row 1 (knit)', 'Row 2 (purl)', 'Round 30 (purl, stitches 40 to 9)'."""
    row, word = spoken.row, round_word(chart).capitalize()
    work = "purl" if row.wrong_side else "knit"
    if spoken.stated:
        start, end = (row.last, row.first) if row.backwards else (row.first, row.last)
        return f"{word} {spoken.first + 1} ({work}, stitches {start + 1} to {end + 1})"
    if not chart.in_round:
        return f"{word} {spoken.first + 1} ({work})"
    if spoken.first == spoken.last:
        return f"Round {spoken.first + 1}"
    return f"Rounds {spoken.first + 1}–{spoken.last + 1}"


def sentence(spoken: Spoken, names: Sequence[str]) -> str:
    """The round without its label: '3 oat, 2 ink; catch ink behind stitch 7.'."""
    clauses = (run_words(spoken.parts, names), shaping_words(spoken), catch_words(spoken, names))
    return "; ".join(filter(None, clauses)) + "."
