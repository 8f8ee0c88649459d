"""Ladders: stitches of the carried yarn behind a wide ground, in place of catches.

Common practice (ladderback): where a yarn runs behind very many stitches, stitches of its own are made
behind the ground, a few apart, and worked in every round; each long float becomes short steps from one
to the next, and nothing shows on the front. They are purled in right-side rounds and knitted in
wrong-side rows with both yarns out of their way, as the second face of double knitting is, and closed
by a decrease that has the ground's stitch on top.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pic2chart.garment.written import Section
from pic2chart.model.chart import Chart
from pic2chart.model.construction import Ladder
from pic2chart.model.measure import Live, catches_needed, floats, stretches

if TYPE_CHECKING:
    from pic2chart.garment.piece import Piece

FEWEST_ROUNDS = 4
"""Rounds that a ladder has at the least: a lower one is more trouble than its catches."""

Bools = NDArray[np.bool_]


def laddered(chart: Chart, over: int) -> Chart:
    """The chart with ladders behind its floats over `over` stitches; itself where none can be.

    They stand so far apart that no step between them passes the float limit; of all ways to place
    them the one that leaves the fewest catches is taken, then the one of fewest stitches.
    """
    found: tuple[Ladder, ...] = ()
    free = _free(chart)
    for yarn in range(len(chart.yarns)):
        behind = _behind(chart, yarn, over) & free
        if not behind.any():
            continue
        ways = [
            _standing(behind, free, columns, yarn)
            for columns in _lattices(_unit(chart), chart.stitch_count, chart.rules.float_limit)
        ]
        best = min(ways, key=lambda way: (_left(chart, way), sum(ladder.rounds for ladder in way)))
        found += best
        for ladder in best:
            free[ladder.round : ladder.past + 1, ladder.stitch] = False
    return chart.with_(construction=replace(chart.construction, ladders=found)) if found else chart


def _free(chart: Chart) -> Bools:
    """Bool [rounds, squares]: where a ladder may stand or be closed: no shaping, opening or steek there,
    and a stitch that follows in the same round.
    """
    live = chart.live
    free = live & np.roll(live, -1, axis=1)
    free[:, -1] = False
    free[:, chart.steek] = False
    told = chart.construction
    marked = [(s.round, s.stitch, s.count) for s in told.marks]
    marked += [(o.round, o.stitch, o.count) for o in told.openings]
    for r, first, count in marked:
        free[max(0, r - 1) : max(0, r + 1), max(0, first - 1) : first + count + 1] = False
    free[[row.round for row in chart.rows]] = False
    return free


def _behind(chart: Chart, yarn: int, over: int) -> Bools:
    """Bool [rounds, squares]: where a yarn floats behind more than `over` stitches."""
    found = np.zeros(chart.stitches.shape, bool)
    live = Live.of(chart.stitches)
    long = floats(chart.stitches, chart.closed).over(over)
    for r, _, at, length, here in long.rows():
        if here == yarn:
            found[r, live.columns(r, at, length)] = True
    return found


def _unit(chart: Chart) -> int:
    """Squares after which the whole chart repeats across."""
    across = chart.repeat[0] if chart.repeat is not None else chart.stitch_count
    return across if chart.stitch_count % across == 0 else chart.stitch_count


def _lattices(unit: int, across: int, limit: int) -> Iterator[list[int]]:
    """The squares of ladders, as far apart as the limit allows, from every place they can begin at."""
    for first in range(min(limit + 1, unit)):
        columns = list(range(first, unit, limit + 1))
        if unit - 1 - columns[-1] + first > limit:
            columns.append(unit - 2)
        yield sorted({left + c for left in range(0, across, unit) for c in columns})


def _standing(behind: Bools, free: Bools, columns: Sequence[int], yarn: int) -> tuple[Ladder, ...]:
    """The ladders on those squares, each closed in a free round above it."""
    found = []
    for column in columns:
        here = np.flatnonzero(np.diff(behind[:, column].astype(np.int8), prepend=0, append=0))
        for first, past in here.reshape(-1, 2).tolist():
            past = min(past, len(behind) - 1)
            while past > first and not free[past, column]:
                past -= 1
            if past - first >= FEWEST_ROUNDS:
                found.append(Ladder(first, column, yarn, past - first))
    return tuple(found)


def _left(chart: Chart, ladders: tuple[Ladder, ...]) -> int:
    """Catches that are still needed."""
    limit = chart.rules.float_limit
    stood = chart.with_(construction=replace(chart.construction, ladders=ladders))
    loose = stretches(stood.stitches, stood.closed, stood.rungs).over(limit)
    return sum(catches_needed(length, limit) for length in loose.length.tolist())


def ladder_section(pieces: Sequence[Piece]) -> tuple[Section, ...]:
    """How ladders are worked and where they stand; nothing where there are none."""
    lines = [line for piece in pieces for line in _places(piece)]
    if not lines:
        return ()
    flat = any(not piece.chart.in_round and piece.chart.construction.ladders for piece in pieces)
    purled = (
        "In right-side rows purl it, both yarns at the front; in wrong-side rows knit it, both yarns at "
        "the back"
        if flat
        else "In every round purl it, both yarns at the front"
    )
    back = " (in a wrong-side row p2tog it with the st before it)" if flat else ""
    return (
        Section(
            "Ladders",
            (
                "Where a yarn runs behind very many sts, a ladder st of that yarn stands behind the work: it "
                "holds the strand, and needs no catch. Ladder sts are counted with none of the sts here.",
                "To begin one, make a backward loop of its yarn after the st named.",
                f"{purled}, then take both yarns back to where they were: it lies behind, and the front "
                "closes before it.",
                "To close one, in the round after its last, k2tog it with the st that follows it, in that "
                f"st's yarn, so that the st lies on top{back}.",
                *lines,
            ),
        ),
    )


def _places(piece: Piece) -> Iterator[str]:
    """'Panel, rounds 5–40: ink behind sts 12, 24 and 36.' Squares as on the chart."""
    chart = piece.chart
    word = "round" if chart.in_round else "row"
    alike: dict[tuple[int, int, int], list[int]] = defaultdict(list)
    for ladder in chart.construction.ladders:
        alike[ladder.round, ladder.past, ladder.yarn].append(ladder.stitch + 1)
    for (first, past, yarn), columns in alike.items():
        yield (
            f"{piece.name.replace('-', ' ').capitalize()}, {word}s {first + 1}–{past}: "
            f"{chart.yarns[yarn].name} after {'st' if len(columns) == 1 else 'sts'} "
            f"{', '.join(map(str, columns))} of the chart."
        )
