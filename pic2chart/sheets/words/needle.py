"""What a round works, in the order in which the needle brings it: stitches, shaping, catches.

Everything counts stitches on the needle; squares of the chart that hold none do not come up.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from pic2chart.model.chart import NO_STITCH, Catch, Chart
from pic2chart.model.construction import (
    CAST_ON,
    HOLD,
    KINDS,
    USED,
    WORKED_IN,
    Opening,
    Shaping,
    worked,
)

KNIT, WASTE = "knit", "waste yarn"
"""A plain stitch, and stitches knitted with waste yarn that come again."""

Caught = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Act:
    """`count` stitches worked alike: plain, shaped (`kind` as in `Shaping`), or with waste yarn.

    `yarn` is its index, `NO_STITCH` for stitches held or knitted with waste yarn, which leave none of
    this round. `catches`: (place within the act from 0, yarn), in the order they are come to.
    """

    kind: str
    count: int
    yarn: int = NO_STITCH
    catches: Caught = ()

    @property
    def made(self) -> int:
        """Stitches of this round that it leaves on the needle."""
        return 0 if self.yarn == NO_STITCH else self.count

    @property
    def used(self) -> int:
        """Stitches of the round before that it takes up."""
        if self.kind in (KNIT, HOLD):
            return self.count
        return USED.get(self.kind, 0) * self.count


@lru_cache(maxsize=8)
def acts_of(chart: Chart) -> tuple[tuple[Act, ...], ...]:
    """Every round as acts of one stitch each (held ones together), in the order they are worked.

    Shaping, catches and openings where the chart has no stitch cannot be worked and are left out.
    """
    shaped: dict[int, list[Shaping]] = {}
    for s in chart.construction.marks:
        if s.kind in KINDS and 0 <= s.stitch <= chart.stitch_count - s.count:
            shaped.setdefault(s.round, []).append(s)
    caught: dict[tuple[int, int], list[int]] = {}
    for c in chart.catches:
        caught.setdefault((c.round, c.stitch), []).append(c.yarn)
    opened: dict[int, list[Opening]] = {}
    for o in chart.construction.openings:
        opened.setdefault(o.round, []).append(o)
    return tuple(
        tuple(_acts(chart, r, shaped.get(r, ()), caught, opened.get(r, ())))
        for r in range(chart.round_count)
    )


def _acts(
    chart: Chart,
    r: int,
    shaped: Iterable[Shaping],
    caught: dict[tuple[int, int], list[int]],
    opened: Iterable[Opening],
) -> list[Act]:
    backwards = chart.row(r).backwards
    row = chart.stitches[r]
    events = worked(row != NO_STITCH, shaped)
    yarns = row.tolist()
    waste = {start: count for o in opened for start, count in _opens(chart, o, backwards)}
    acts: list[Act] = []
    for column, shaping in reversed(events) if backwards else events:
        if shaping is not None and shaping.kind == HOLD:
            acts.append(Act(HOLD, shaping.count))
            continue
        if column in waste:
            acts.append(Act(WASTE, waste[column]))
        kind = KNIT if shaping is None else shaping.kind
        catches = tuple([(0, y) for y in caught.get((r, column), ())])
        acts.append(Act(kind, 1, yarns[column], catches))
    return acts


def _opens(chart: Chart, opening: Opening, backwards: bool) -> list[tuple[int, int]]:
    """The column of the stitch it is come to at, and its stitches; none when its ends hold none."""
    past = min(opening.stitch + opening.count, chart.stitch_count)
    if not 0 <= opening.stitch < past:
        return []
    live = chart.live[opening.round, opening.stitch : past]
    if not (live[0] and live[-1]):
        return []
    return [(past - 1 if backwards else opening.stitch, int(live.sum()))]


def joined(acts: Sequence[Act]) -> list[Act]:
    """Plain stitches of one yarn, and those cast on in it, drawn together into runs."""
    runs: list[Act] = []
    for act in acts:
        last = runs[-1] if runs else None
        alike = last is not None and (last.kind, last.yarn) == (act.kind, act.yarn)
        if last is not None and alike and act.kind in (KNIT, CAST_ON):
            moved = tuple((last.count + place, yarn) for place, yarn in act.catches)
            runs[-1] = replace(last, count=last.count + act.count, catches=last.catches + moved)
        else:
            runs.append(act)
    return runs


def unsaid(chart: Chart) -> bool:
    """Whether the chart has shaping, catches or openings where it has no stitch."""
    acts = [act for round_ in acts_of(chart) for act in round_]
    found = sum(len(act.catches) for act in acts) + sum(act.kind == WASTE for act in acts)
    shaped = sum(act.count for act in acts if act.kind not in (KNIT, WASTE))
    return found != len(chart.catches) + len(chart.construction.openings) or shaped != sum(
        s.count for s in chart.construction.marks
    )


@dataclass(frozen=True, slots=True)
class Placed:
    """A round put back on the chart: yarns by square, shaping, openings and catches."""

    row: np.ndarray[tuple[int], np.dtype[np.uint8]]
    shaped: tuple[Shaping, ...]
    openings: tuple[Opening, ...]
    catches: tuple[Catch, ...]


def placed(
    acts: Sequence[Act], round_: int, squares: Sequence[int], needle: Sequence[int], across: int
) -> Placed:
    """What the acts of a round (from 0) are on a chart `across` squares wide.

    `squares`: those of its stitches, `needle`: those of the stitches that wait to be worked, both in the
    order they are come to.
    """
    row = np.full(across, NO_STITCH, np.uint8)
    shaped: list[Shaping] = []
    openings: list[Opening] = []
    catches: list[Catch] = []
    made = used = 0
    for act in acts:
        here = squares[made : made + act.count]
        if act.kind == HOLD:
            held = needle[used : used + act.count]
            shaped.append(Shaping(round_, min(held, default=0), HOLD, act.count))
        elif act.kind == WASTE:
            low, high = min(here, default=0), max(here, default=0)
            openings.append(Opening(round_, low, high - low + 1))
        else:
            row[list(here)] = act.yarn
            catches += [Catch(round_, here[place], yarn) for place, yarn in act.catches]
        if act.kind in WORKED_IN:
            shaped += [Shaping(round_, square, act.kind) for square in here]
        elif act.kind == CAST_ON:
            shaped += [Shaping(round_, square, CAST_ON) for square in here]
        made += act.made
        used += act.used
    return Placed(row, tuple(_together(shaped)), tuple(openings), tuple(catches))


def _together(shaped: Iterable[Shaping]) -> list[Shaping]:
    """Stitches cast on side by side are one cast-on."""
    found: list[Shaping] = []
    for s in sorted(shaped):
        last = found[-1] if found else None
        if (
            last is not None
            and s.kind == last.kind == CAST_ON
            and s.stitch == last.stitch + last.count
        ):
            found[-1] = replace(last, count=last.count + 1)
        else:
            found.append(s)
    return found
