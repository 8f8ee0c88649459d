"""Where each yarn is joined, carried up while it rests, and cut, through the whole piece.

Common practice: a yarn that rests few rounds is carried up inside, at the join or along the edge, and
one that rests longer is cut and joined anew. A row that comes back leaves its yarns at its other end;
one that is wanted where it does not lie must be cut and joined anew too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from pic2chart.model.chart import Chart
from pic2chart.model.measure import Bools, yarns_per_round

CARRIED = 4
"""Rounds a yarn may rest and still be carried up at the join instead of broken off (common
practice, from memory; some carry further)."""


@dataclass(frozen=True, slots=True)
class Length:
    """One length of a yarn (index), joined in round `first` and cut after `last`; rounds from 0.

    `rests`: (last round before, first after) of each rest over which it is carried up. `astray`: it
    is cut only because it lies at the edge at which the row that wants it next does not begin.
    """

    yarn: int
    first: int
    last: int
    rests: tuple[tuple[int, int], ...] = ()
    astray: bool = False


def lengths_of(chart: Chart, used: Bools | None = None) -> tuple[Length, ...]:
    """The lengths of yarn that a chart takes, sorted by the round in which they are joined.

    `used`: bool [rounds, yarns] of the chart, where it is measured already.
    """
    used = yarns_per_round(chart.stitches, len(chart.yarns)) if used is None else used
    found = [
        length
        for yarn, column in enumerate(used.T)
        for length in _of_yarn(chart, yarn, np.flatnonzero(column).tolist())
    ]
    return tuple(sorted(found, key=lambda length: (length.first, length.yarn)))


def _of_yarn(chart: Chart, yarn: int, rounds: list[int]) -> Iterator[Length]:
    if not rounds:
        return
    first, rests = rounds[0], list[tuple[int, int]]()
    for before, after in pairwise(rounds):
        near, here = after - before <= CARRIED + 1, _lies_there(chart, before, after)
        if near and here:
            rests += [(before, after)] if after > before + 1 else []
        else:
            yield Length(yarn, first, before, tuple(rests), near)
            first, rests = after, []
    yield Length(yarn, first, rounds[-1], tuple(rests))


def _lies_there(chart: Chart, before: int, after: int) -> bool:
    """Whether a yarn left at the end of one round lies where a later one begins."""
    if after == before + 1 or (chart.closes(before) and chart.closes(after)):
        return True
    left, wanted = chart.row(before), chart.row(after)
    last = chart.stitch_count - 1
    ends = {0, last} if chart.closes(before) else {left.first if left.backwards else left.last}
    starts = (
        {0, last} if chart.closes(after) else {wanted.last if wanted.backwards else wanted.first}
    )
    return bool(ends & starts)


@dataclass(frozen=True, slots=True)
class YarnMoves:
    """What is done with the yarns of one round; yarns are indices.

    `joined` at its beginning; after its end `cut`, `astray` (cut since they lie at the wrong edge)
    and `carried` up: (yarn, rounds it rests).
    """

    joined: tuple[int, ...] = ()
    cut: tuple[int, ...] = ()
    astray: tuple[int, ...] = ()
    carried: tuple[tuple[int, int], ...] = ()

    @property
    def after(self) -> bool:
        """Whether anything is done when the round is worked."""
        return bool(self.cut or self.astray or self.carried)


def yarn_moves(chart: Chart) -> dict[int, YarnMoves]:
    """What is done with the yarns, by round (from 0), for rounds in which anything is.

    The yarn that is there already is not joined: of a garment the one its plain parts are knitted in,
    of a chart by itself the one it is cast on in. What is left at the end is the pattern's affair.
    """
    lengths, there = lengths_of(chart), yarn_at_hand(chart)
    end = chart.round_count - 1
    found: dict[int, YarnMoves] = {}
    for r in range(chart.round_count):
        cut = [n for n in lengths if n.last == r and r < end]
        moves = YarnMoves(
            _yarns(n for n in lengths if n.first == r and (r or n.yarn != there)),
            _yarns(n for n in cut if not n.astray),
            _yarns(n for n in cut if n.astray),
            tuple((n.yarn, after - r - 1) for n in lengths for at, after in n.rests if at == r),
        )
        if moves != YarnMoves():
            found[r] = moves
    return found


def _yarns(lengths: Iterable[Length]) -> tuple[int, ...]:
    return tuple(length.yarn for length in lengths)


def yarn_at_hand(chart: Chart) -> int | None:
    """The yarn that is on the needles when round 1 begins; None where both must be joined."""
    plain = chart.construction.plain_parts
    if plain is not None:
        return plain[0].yarn if plain else None
    first = chart.stitches[0][chart.live[0]]
    return int(np.bincount(first).argmax()) if first.size else None
