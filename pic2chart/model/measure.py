"""The measures every rule, the solver's tests and the catch plan share: numpy on whole charts.

A float is a maximal stretch of consecutive live stitches of a round behind which a yarn used in
that round is not knitted. Worked in the round it is measured on the circle of the round's live
stitches, across the join; worked flat it also runs from an edge to the yarn's first or last stitch,
since every yarn of a row is carried to both edges. A round of one colour has no float.

Common practice: a float longer than about 5 stitches is caught; the limit is the caller's.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.settings import MAX_SIDE, MAX_YARNS
from pic2chart.model.chart import NO_STITCH, Catch, Catches, Chart, Stitches

# The live stitches of a chart, listed round by round in knitting order.

Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Live:
    """The live stitches one after another in knitting order, with their places in their rounds.

    `round`, `column`, `yarn`, `place`: int [live stitches]; `place` counts the round's live
    stitches from 0. `first`, `count`: int [rounds], where a round begins in that list and how many
    live stitches it has. `number`: int [rounds, stitches], index into the list (0 at no stitch).
    """

    round: Ints
    column: Ints
    yarn: Ints
    place: Ints
    first: Ints
    count: Ints
    number: Ints

    @classmethod
    def of(cls, stitches: Stitches) -> Live:
        """List the live stitches of uint8 [rounds, stitches]."""
        live = stitches != NO_STITCH
        flat, (height, width) = np.flatnonzero(live), stitches.shape
        count = np.count_nonzero(live, axis=1)
        first = np.cumsum(count) - count
        listed = np.arange(len(flat))
        columns = flat - np.repeat(width * np.arange(height), count)
        place = listed - np.repeat(first, count)
        number = np.zeros(stitches.shape, np.intp)
        number.reshape(-1)[flat] = listed
        yarn = stitches.reshape(-1)[flat].astype(np.intp)
        rounds = np.repeat(np.arange(height), count)
        return cls(rounds, columns, yarn, place, first, count, number)

    def columns(self, round: int, place: int, length: int) -> Ints:
        """The columns of `length` live stitches of a round from a place on, round the join."""
        places = (place + np.arange(length)) % self.count[round]
        return np.asarray(self.column[self.first[round] + places])


Circular = bool | Bools
"""Whether rounds join their own first stitch: all of them or none, or bool [rounds]."""
_SPAN = MAX_SIDE + 1
"""One more than the largest place, to pack (round, yarn, place) into one sortable number."""


@dataclass(frozen=True, slots=True, eq=False)
class Floats:
    """Floats (or the stretches between catches), sorted by round, place and yarn; int arrays.

    `start` is the column of the float's first stitch in knitting order, `place` the same counted on
    the round's live stitches, `length` counts live stitches.
    """

    round: Ints
    start: Ints
    place: Ints
    length: Ints
    yarn: Ints

    def __len__(self) -> int:
        return len(self.round)

    def where(self, chosen: Bools) -> Floats:
        """Those floats for which `chosen` (bool [floats]) is true."""
        parts = (self.round, self.start, self.place, self.length, self.yarn)
        return Floats(*(part[chosen] for part in parts))

    def over(self, limit: int) -> Floats:
        """Those longer than `limit` stitches."""
        return self.where(self.length > limit)

    @property
    def longest(self) -> int:
        """Stitches in the longest, 0 when there is none."""
        return int(self.length.max(initial=0))

    def rows(self) -> list[tuple[int, int, int, int, int]]:
        """(round, start, place, length, yarn) of each, as plain numbers counting from 0."""
        parts = (self.round, self.start, self.place, self.length, self.yarn)
        return list(zip(*(part.tolist() for part in parts), strict=True))


def floats(stitches: Stitches, circular: Circular, live: Live | None = None) -> Floats:
    """Every float of uint8 [rounds, stitches] (255 = no stitch); `live`: its live stitches, if listed."""
    return _gaps(live or Live.of(stitches), circular)


def stretches(stitches: Stitches, circular: Circular, catches: Iterable[Catch]) -> Floats:
    """The uncaught stretches: every float cut at the catches that hold its yarn.

    Catches that hold nothing (see `catch_holds`) do not count.
    """
    live = Live.of(stitches)
    return _stretches(stitches, live, circular, catch_array(catches))


def catch_array(catches: Iterable[Catch]) -> Ints:
    """Catches as int [catches, 3]: round, stitch, yarn, from 0, sorted."""
    return Catches.of(catches).table


def catch_holds(stitches: Stitches, catches: Ints) -> Bools:
    """Bool [catches]: the catch lies on a live stitch, and its yarn floats behind it there."""
    rounds, columns, yarns = catches.T
    inside = (rounds >= 0) & (rounds < stitches.shape[0])
    inside &= (columns >= 0) & (columns < stitches.shape[1])
    inside &= (yarns >= 0) & (yarns < MAX_YARNS)
    r, c, y = (np.where(inside, part, 0) for part in (rounds, columns, yarns))
    knitted = stitches[r, c]
    used = yarns_per_round(stitches, MAX_YARNS)[r, y]
    return np.asarray(inside & used & (knitted != NO_STITCH) & (knitted != y))


def isolated(
    stitches: Stitches, circular: Circular, stacked: bool, live: Live | None = None
) -> Bools:
    """Bool [rounds, stitches]: stitches none of whose eight neighbours has their yarn.

    Left and right are the previous and next live stitch of the round (round the join when
    `circular`, across gaps); above and below are columns c-1, c, c+1 of the adjacent rounds (columns
    modulo the width when circular; the last round is next to the first when `stacked`). `live`: the
    live stitches, if they are listed.
    """
    beside = _beside(stitches, live or Live.of(stitches), circular)
    return _isolated(stitches, beside, circular, stacked)


def yarns_per_round(stitches: Stitches, k: int) -> Bools:
    """Bool [rounds, k]: which of `k` yarns each round uses."""
    used = np.zeros((stitches.shape[0], NO_STITCH + 1), bool)
    used[np.arange(stitches.shape[0])[:, None], stitches] = True
    return used[:, :k]


def catches_needed(length: int, limit: int) -> int:
    """Catches that keep every stretch of a float within the limit: ceil((n-limit)/(limit+1))."""
    return length // (limit + 1)


def catch_offsets(length: int, limit: int) -> list[int]:
    """Where to catch a float, counted from its first stitch (0), evenly spread and as few as can be."""
    needed = catches_needed(length, limit)
    return [j * (length + 1) // (needed + 1) - 1 for j in range(1, needed + 1)]


@dataclass(frozen=True, slots=True, eq=False)
class Measures:
    """All measures of one chart, taken once.

    `floats` ignores catches, `stretches` is cut by them and by ladders; `used` bool [rounds, yarns]; `isolated`
    bool [rounds, stitches]; `catches` int [catches, 3]; `holds` bool [catches].
    """

    live: Live
    floats: Floats
    stretches: Floats
    used: Bools
    isolated: Bools
    catches: Ints
    holds: Bools
    limit: int

    @classmethod
    def of(cls, chart: Chart) -> Measures:
        """Measure a chart."""
        stitches, circular = chart.stitches, chart.closed
        live, catches = Live.of(stitches), catch_array(chart.catches)
        whole = _gaps(live, circular)
        held = np.concatenate([catches, catch_array(chart.rungs)])
        cut = _stretches(stitches, live, circular, held) if len(held) else whole
        alone = _isolated(stitches, _beside(stitches, live, circular), circular, chart.stacked)
        alone[:, chart.steek] = False  # it is cut open, and nobody sees it
        used = yarns_per_round(stitches, len(chart.yarns))
        holds = catch_holds(stitches, catches)
        return cls(live, whole, cut, used, alone, catches, holds, chart.rules.float_limit)

    def to_dict(self) -> dict[str, int]:
        """The figures a report shows, as plain data."""
        return {
            "stitches": len(self.live.round),
            "most_yarns_in_a_round": int(self.used.sum(axis=1).max()),
            "floats": len(self.floats),
            "longest_float": self.floats.longest,
            "floats_over_limit": len(self.floats.over(self.limit)),
            "catches": len(self.catches),
            "longest_uncaught": self.stretches.longest,
            "uncaught_over_limit": len(self.stretches.over(self.limit)),
            "isolated_stitches": int(self.isolated.sum()),
        }


def _stretches(stitches: Stitches, live: Live, circular: Circular, catches: Ints) -> Floats:
    """Gaps between anchors: a yarn is anchored where it is knitted and where it is caught."""
    r, c, y = catches[catch_holds(stitches, catches)].T
    return _gaps(live, circular, live.number[r, c], y)


_NONE: Ints = np.zeros(0, np.intp)


def _gaps(live: Live, circular: Circular, caught: Ints = _NONE, yarns: Ints = _NONE) -> Floats:
    """The stretches of live stitches between neighbouring anchors of one yarn in one round: where it is
    knitted, and at the live stitches `caught` (indices), each of the yarn beside it.
    """
    closed = np.broadcast_to(circular, live.count.shape)
    used = np.flatnonzero(np.bincount(live.yarn, minlength=1))
    parts = [
        _gaps_between(live, _anchors(live, y, caught[yarns == y]), closed) for y in used.tolist()
    ]
    r = np.concatenate([_NONE, *(part[0] for part in parts)])
    begin = np.concatenate([_NONE, *(part[1] for part in parts)]) % live.count[r]
    length = np.concatenate([_NONE, *(part[2] for part in parts)])
    y = np.repeat(used, [len(part[0]) for part in parts])
    ranked = np.argsort((r * _SPAN + begin) * MAX_YARNS + y, kind="stable")
    r, begin, length, y = r[ranked], begin[ranked], length[ranked], y[ranked]
    return Floats(r, live.column[live.first[r] + begin], begin, length, y)


def _anchors(live: Live, yarn: int, caught: Ints) -> Ints:
    """Indices of the live stitches at which a yarn is knitted or caught."""
    at = live.yarn == yarn
    at[caught] = True
    return np.flatnonzero(at)


def _gaps_between(live: Live, anchors: Ints, closed: Bools) -> tuple[Ints, Ints, Ints]:
    """Round, place after the anchor before it (may pass the end of the round) and length of each gap
    between the anchors of one yarn, which are indices of live stitches.
    """
    r, p = live.round[anchors], live.place[anchors]
    starts = np.flatnonzero(np.diff(r, prepend=-1))
    ends = np.append(starts[1:], len(r)) - 1
    following = np.append(p[1:], 0)
    following[ends] = live.count[r[ends]] + np.where(closed[r[ends]], p[starts], 0)
    length = following - p - 1
    at = np.flatnonzero(length > 0)
    edge = starts[~closed[r[starts]] & (p[starts] > 0)]  # from the edge to the yarn's first stitch
    return (
        np.append(r[at], r[edge]),
        np.append(p[at] + 1, np.zeros_like(edge)),
        np.append(length[at], p[edge]),
    )


def _beside(stitches: Stitches, live: Live, circular: Circular) -> Bools:
    """Bool [rounds, stitches]: the previous or next live stitch of the round has the same yarn."""
    same = np.zeros(len(live.yarn), bool)
    alike = (live.yarn[1:] == live.yarn[:-1]) & (live.round[1:] == live.round[:-1])
    same[1:] |= alike
    same[:-1] |= alike
    rounds = np.flatnonzero((live.count > 1) & circular)
    first = live.first[rounds]
    last = first + live.count[rounds] - 1
    joined = live.yarn[first] == live.yarn[last]
    same[first] |= joined
    same[last] |= joined
    beside = np.zeros(stitches.shape, bool)
    beside[live.round, live.column] = same
    return beside


def _isolated(stitches: Stitches, beside: Bools, circular: Circular, stacked: bool) -> Bools:
    """Stitches with none of their yarn beside them, nor among the six above and below."""
    padded = np.pad(stitches, ((0, 0), (1, 1)), mode="wrap")
    ends = np.flatnonzero(~np.broadcast_to(circular, len(stitches)))
    padded[ends, 0] = padded[ends, -1] = NO_STITCH
    rows = np.pad(padded, ((1, 1), (0, 0)), mode="wrap" if stacked else "constant")
    if not stacked:
        rows[[0, -1]] = NO_STITCH
    height, width = stitches.shape
    alone = (stitches != NO_STITCH) & ~beside
    for up in (0, 2):
        for across in (0, 1, 2):
            alone &= rows[up : up + height, across : across + width] != stitches
    return np.asarray(alone)
