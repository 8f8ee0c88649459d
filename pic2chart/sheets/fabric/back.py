"""The back of the fabric: purl bumps, and every float as a strand that lies where it runs.

Common practice, drawn: the under yarn's strands lie lower on the back and the over yarn's higher and
on top; a caught strand is held at the stitch by the yarn that knits it. How far a strand sags is the
drape asked for: 'tight' strands run straight, 'loose' ones hang in a shallow bow.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pic2chart.model.chart import NO_STITCH, Catch, Chart
from pic2chart.model.measure import Floats, stretches
from pic2chart.model.wording import many
from pic2chart.sheets.fabric.strokes import (
    FabricFrame,
    Numbers,
    bundle_of,
    ground_marks,
    yarn_marks,
)
from pic2chart.sheets.marks.page import Bundle, Mark, Point, Sheet, clean, fabric_marks
from pic2chart.stranding.strands import Strands, plan_strands

Drape = Literal["tight", "loose"]

_BUMP = 0.36
_STRAND = 0.30
_LOW, _HIGH = 0.30, 0.66
"""How far up its round the lowest and the highest strand lies, in rounds."""
_SAG = {"tight": 0.0, "loose": 0.11}
"""Depth of a strand's bow, in rounds for each stitch it passes."""
_MOST_SAG = 0.95
_BOW = ((-0.40, -1.0), (-0.22, 0.35), (0.0, 0.8), (0.22, 0.35), (0.40, -1.0))
_TIE = ((-0.17, 0.12), (-0.10, 0.52), (0.10, 0.62), (0.17, 0.98))
_LADDER_LEG: tuple[Point, ...] = ((0.05, 0.0), (0.16, 0.42), (0.27, 0.86), (0.24, 1.04))


@dataclass(frozen=True, slots=True)
class Strand:
    """Yarn running free behind `length` live stitches of a round.

    `level` is 0 for the lowest strand of the round and 1 for the highest. `start` and `end` are
    where it leaves and reaches the fabric, in stitches across; beyond the edges at the join.
    `caught` tells whether it is held by a catch at each end instead of knitted.
    """

    round: int
    yarn: int
    length: int
    level: float
    start: float
    end: float
    caught: tuple[bool, bool]


def fabric_back(chart: Chart, drape: Drape = "loose", plan: Strands | None = None) -> Sheet:
    """The wrong side of the fabric at its true size, seen from behind."""
    frame = FabricFrame.of(chart, back=True)
    planned = plan or plan_strands(chart)
    found = _stretches(chart)
    rungs: dict[int, list[Catch]] = {}
    for rung in chart.rungs:
        rungs.setdefault(rung.round, []).append(rung)

    def made() -> Iterator[Mark]:
        yield from ground_marks(frame)
        for r in range(chart.round_count):
            yield from bump_marks(frame, r)
        for strands in _by_round(chart, planned, found, range(chart.round_count)):
            r = strands[0].round
            yield from strand_marks(frame, r, strands, drape)
            yield from ladder_marks(frame, rungs.get(r, ()))

    ladders = f", and {many(len(chart.construction.ladders), 'ladder')}" if rungs else ""
    words = (
        f"The back of the fabric, {chart.stitch_count} stitches by {chart.round_count}, with "
        f"{many(len(found), 'strand')} and {many(len(chart.catches), 'catch')}{ladders}."
    )
    return Sheet(*frame.size, clean(chart.title), words, fabric_marks(made, chart.stitches.size))


def strands_of(chart: Chart, plan: Strands, round_: int) -> list[Strand]:
    """The strands of a round (from 0), each between two places where its yarn is knitted or caught;
    under before over.
    """
    return next(_by_round(chart, plan, _stretches(chart), range(round_, round_ + 1)), [])


@lru_cache(maxsize=1)
def _stretches(chart: Chart) -> Floats:
    """Those of the last chart are kept, since a chart never changes and each of its strips asks for them."""
    return stretches(chart.stitches, chart.closed, (*chart.catches, *chart.rungs))


def _by_round(chart: Chart, plan: Strands, found: Floats, rounds: range) -> Iterator[list[Strand]]:
    """The strands of one round after another, those that have none left out, under before over."""
    rungs = chart.rungs
    starts = np.searchsorted(found.round, np.arange(chart.round_count + 1)).tolist()
    for r in rounds:
        first, past = starts[r], starts[r + 1]
        if first == past:
            continue
        held = (*chart.catches_in(r, r + 1), *(rung for rung in rungs if rung.round == r))
        caught = {(catch.stitch, catch.yarn) for catch in held}
        live = (chart.stitches[r] != NO_STITCH).nonzero()[0].tolist()
        around = live, chart.closes(r)
        parts = (part[first:past].tolist() for part in (found.place, found.length, found.yarn))
        strands = [
            _strand(chart, plan, around, caught, (r, *row)) for row in zip(*parts, strict=True)
        ]
        yield sorted(strands, key=lambda s: (s.level, s.start))


def _strand(
    chart: Chart,
    plan: Strands,
    around: tuple[list[int], bool],
    caught: set[tuple[int, int]],
    row: tuple[int, int, int, int],
) -> Strand:
    """One strand; `around`: the columns of its round's stitches, and whether the round closes."""
    r, place, length, yarn = row
    live, closes = around
    count = len(live)
    before, after = place - 1, place + length
    ends = []
    held = []
    for at in (before, after):
        inside = closes or 0 <= at < count
        column = live[at % count] if inside else (-1 if at < 0 else chart.stitch_count)
        turns = (at // count if inside else 0) * chart.stitch_count
        ends.append(column + turns + 0.5)
        held.append(inside and (column, yarn) in caught)
    order = plan.rounds[r].order
    level = order.index(yarn) / max(1, len(order) - 1)
    return Strand(r, yarn, length, level, ends[0], ends[1], (held[0], held[1]))


def bump_marks(frame: FabricFrame, r: int) -> list[Mark]:
    """The heads of the stitches, and the loops between two stitches of one yarn."""
    marks: list[Mark] = []
    for index, yarn in enumerate(frame.chart.yarns):
        mine = frame.of_yarn(r, index)
        heads = _arcs(frame, mine + 0.5, r + 0.90, 0.20)
        loops = _arcs(frame, mine[:-1][np.diff(mine) == 1] + 1.0, r + 0.16, -0.20)
        bumps = bundle_of(np.concatenate([loops, heads]))
        width = _BUMP * min(frame.stitch)
        marks += yarn_marks(bumps, yarn.colour, width, f"bumps yarn-{index + 1}")
    return marks


def _arcs(frame: FabricFrame, across: NDArray[np.floating], up: float, bow: float) -> Numbers:
    """Short bows [bows, points, 2], upward when `bow` is above 0."""
    x, y = np.array(_BOW).T
    return frame.places(across[:, None], x, bow * y, up)


def strand_marks(frame: FabricFrame, r: int, strands: Sequence[Strand], drape: Drape) -> list[Mark]:
    """The strands of a round from the lowest to the highest, then what holds the caught ones."""
    marks: list[Mark] = []
    first, past = frame.window
    width = _STRAND * min(frame.stitch)
    row = frame.chart.stitches[r]
    for yarn in dict.fromkeys(s.yarn for s in strands):
        courses = _courses(frame, r, [s for s in strands if s.yarn == yarn], drape)
        colour = frame.chart.yarns[yarn].colour
        marks += yarn_marks(courses, colour, width, f"strand yarn-{yarn + 1}")
    caught = np.array([c.stitch for c in frame.chart.catches_in(r, r + 1)], np.intp)
    here = caught[(first <= caught) & (caught < past)]
    for yarn, colour in enumerate(y.colour for y in frame.chart.yarns):
        ties = bundle_of(frame.copies(_TIE, here[row[here] == yarn], r))
        marks += yarn_marks(ties, colour, 0.85 * width, f"tie yarn-{yarn + 1}")
    return marks


def ladder_marks(frame: FabricFrame, rungs: Iterable[Catch]) -> list[Mark]:
    """The ladder stitches of a round: seen from behind they are knitted, two legs each."""
    marks: list[Mark] = []
    first, past = frame.window
    legs: dict[int, list[tuple[Point, ...]]] = {}
    for rung in rungs:
        if first <= rung.stitch < past:
            for side in (-1, 1):
                leg = tuple(
                    frame.at(rung.stitch + 0.5 + side * x, rung.round + y) for x, y in _LADDER_LEG
                )
                legs.setdefault(rung.yarn, []).append(leg)
    for yarn, paths in legs.items():
        colour = frame.chart.yarns[yarn].colour
        width = 1.15 * _STRAND * min(frame.stitch)
        marks += yarn_marks(tuple(paths), colour, width, f"ladder yarn-{yarn + 1}")
    return marks


def _courses(frame: FabricFrame, r: int, strands: Sequence[Strand], drape: Drape) -> Bundle:
    """The courses of a round's strands within the window and behind stitches, since the fabric closes
    across a gap; one that runs across the join shows at both edges.
    """
    count, closes = frame.chart.stitch_count, frame.chart.closes(r)
    lefts: list[float] = []
    parts: list[Numbers] = []
    for s in strands:
        shifts = [0, *([count] if closes and s.start < 0 else [])]
        shifts += [-count] if closes and s.end > count else []
        lefts += [s.start + shift for shift in shifts]
        parts += [_course(s.end - s.start, s.length, s.level, s.caught, drape)] * len(shifts)
    sizes = [len(part) for part in parts]
    x, y = np.concatenate(parts).T
    x = np.repeat(lefts, sizes) + x
    first, past = frame.window
    live = frame.chart.stitches[r] != NO_STITCH
    seen = (first - 0.01 <= x) & (x <= past + 0.01) & live[np.clip(x.astype(np.intp), 0, count - 1)]
    line = np.repeat(np.arange(len(parts)), sizes)
    return _pieces(frame.places(0.0, x, y, r), line, seen)


def _pieces(points: Numbers, line: NDArray[np.intp], seen: NDArray[np.bool_]) -> Bundle:
    """The stretches of lines that are seen, of two points or more. `line`: which one a point is of."""
    kept = np.flatnonzero(seen)
    breaks = (np.diff(kept) != 1) | (np.diff(line[kept]) != 0)
    firsts = np.flatnonzero(np.concatenate([[True], breaks])) if kept.size else kept
    sizes = np.diff(firsts, append=kept.size)
    several = np.repeat(sizes > 1, sizes)
    return Bundle(points[kept[several]], tuple(np.cumsum(sizes[sizes > 1]).tolist()))


@lru_cache(maxsize=4096)
def _course(
    wide: float, length: int, level: float, caught: tuple[bool, bool], drape: Drape
) -> Numbers:
    """Places (across, up) [points, 2] along a strand from where it leaves the fabric to where it comes back, counted
    from the strand's start and the foot of its round. Few strands of a fabric differ in their courses.
    """
    start = 0.0 if caught[0] else 0.26
    end = wide - (0.0 if caught[1] else 0.26)
    lane = _LOW + (_HIGH - _LOW) * level
    sag = min(_MOST_SAG, _SAG[drape] * length)
    steps = max(6, min(200, math.ceil(2 * wide) + 2))
    ends = [0.56 if is_caught else 0.42 for is_caught in caught]
    course = []
    for i in range(steps + 1):
        t = i / steps
        x = start + (end - start) * t
        near = (math.exp(-(x - start) / 0.45), math.exp(-(end - x) / 0.45))
        y = lane - sag * math.sin(math.pi * t) ** 1.2
        y += (ends[0] - lane) * near[0] + (ends[1] - lane) * near[1]
        course.append((x, y))
    return np.array(course)
