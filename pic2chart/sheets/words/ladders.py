"""Ladder stitches in the words of a round: after how many stitches of the needle each is worked.

'new ladders of ink after 12 and 24', 'ladders of ink after 12 and 24', and in the round after the last,
'close ladders of ink after 12 and 24'. The stitches of the round are counted, ladder stitches are not.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from pic2chart.model.chart import Chart
from pic2chart.model.construction import Ladder
from pic2chart.model.wording import listed

NEW, ON, CLOSED = "new ", "", "close "
"""What is done with a ladder in a round, as the words begin."""
_WORDS = re.compile(r"(new |close )?ladders? of (.+) after (\d{1,4}(?:(?:, | and )\d{1,4})*)")


class LadderSpots(NamedTuple):
    """What is done with the ladders of a yarn (index) in a round; `after` how many stitches each."""

    done: str
    yarn: int
    after: tuple[int, ...]


def ladder_spots(chart: Chart) -> list[tuple[LadderSpots, ...]]:
    """For every round its ladders begun, worked and closed, in the order they are come to."""
    found: list[dict[tuple[str, int], list[int]]] = [
        defaultdict(list) for _ in range(chart.round_count)
    ]
    for ladder in chart.construction.ladders:
        for r in range(max(0, ladder.round), min(ladder.past + 1, chart.round_count)):
            done = NEW if r == ladder.round else CLOSED if r == ladder.past else ON
            if 0 <= ladder.stitch < chart.stitch_count and ladder.yarn < len(chart.yarns):
                found[r][done, ladder.yarn].append(_after(chart, r, ladder.stitch))
    return [
        tuple(LadderSpots(done, yarn, tuple(sorted(at))) for (done, yarn), at in sorted(r.items()))
        for r in found
    ]


def _after(chart: Chart, r: int, stitch: int) -> int:
    """Stitches of the round that are worked before the ladder stitch behind a square."""
    live = chart.live[r]
    if chart.row(r).backwards:
        return int(live[stitch + 1 :].sum())
    return int(live[: stitch + 1].sum())


def ladder_words(spots: LadderSpots, names: Sequence[str]) -> str:
    """'new ladders of ink after 12 and 24'."""
    several = "" if len(spots.after) == 1 else "s"
    places = listed([str(n) for n in spots.after])
    return f"{spots.done}ladder{several} of {names[spots.yarn]} after {places}"


def read_ladder_words(words: str, names: Sequence[str]) -> LadderSpots | None:
    """What `ladder_words` wrote; None for any other words."""
    match = _WORDS.fullmatch(words)
    if match is None or match[2] not in names:
        return None
    after = tuple(int(n) for n in re.findall(r"\d+", match[3]))
    return LadderSpots(match[1] or ON, names.index(match[2]), after)


def ladders_of(chart: Chart, worked: Iterable[tuple[int, LadderSpots]]) -> tuple[Ladder, ...]:
    """The ladders that rounds (from 0) tell of from the first on, on a chart that holds their stitches.

    A place beyond the round's stitches holds none.
    """
    standing: dict[tuple[int, int], Ladder] = {}
    found: list[Ladder] = []
    for r, spots in worked:
        for after in spots.after if spots.done != CLOSED else ():
            stitch = _square(chart, r, after)
            if stitch is None:
                continue
            before = standing.get((stitch, spots.yarn))
            if before is None or spots.done == NEW or before.past != r:
                found += [] if before is None else [before]
                before = Ladder(r, stitch, spots.yarn, 0)
            standing[stitch, spots.yarn] = replace(before, rounds=before.rounds + 1)
    return tuple(sorted([*found, *standing.values()]))


def _square(chart: Chart, r: int, after: int) -> int | None:
    """The square behind which a ladder stitch stands that is worked after so many stitches."""
    columns = np.flatnonzero(chart.live[r])
    at = len(columns) - 1 - after if chart.row(r).backwards else after - 1
    return int(columns[at]) if 0 <= at < len(columns) else None
