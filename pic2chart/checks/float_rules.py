"""Rules about floats: how long they may be, where they are caught, and where they can snag.

Each rule is a function of a chart and its measures that returns findings; what it asks, and where
that comes from, stands above its code.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from pic2chart.checks.finding import Finding, Level, OfOneRule
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE, MAX_YARNS
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.measure import Bools, Floats, Ints, Measures, catch_offsets
from pic2chart.model.wording import a_round, behind, place

# long-float: in a chart whose long floats are broken, no float may pass the limit.
#
# Common practice: 5 stitches is the cautious limit, 7 a looser one, and 2.5 cm the rule by length.
# Where long floats are caught instead, a float may be any length; see catch-missing.

LONG_FLOAT = "long-float"


def long_float(chart: Chart, measures: Measures) -> Sequence[Finding]:
    """One error for every float over the limit, when the chart breaks its long floats."""
    if chart.rules.long_floats != "break":
        return []
    table = _table(measures.floats.over(chart.rules.float_limit))
    return _alike(chart, LONG_FLOAT, "error", table, _long)


def _alike(
    chart: Chart, rule: str, level: Level, table: Ints, make: Callable[..., Finding]
) -> OfOneRule:
    """Findings that `make(chart, *row)` gives."""
    return OfOneRule(rule, level, tuple(y.name for y in chart.yarns), table, partial(make, chart))


def _table(floats: Floats) -> Ints:
    """Int [floats, 5]: round, first stitch, yarn, place, length."""
    return np.column_stack([floats.round, floats.start, floats.yarn, floats.place, floats.length])


def _columns(chart: Chart, r: int, at: int, length: int) -> Ints:
    """As `Live.columns`."""
    live = np.flatnonzero(chart.stitches[r] != NO_STITCH)
    return live[(at + np.arange(length)) % len(live)]


def _long(chart: Chart, r: int, start: int, y: int, at: int, length: int) -> Finding:
    name, limit = chart.yarns[y].name, chart.rules.float_limit
    middle = int(_columns(chart, r, at, length)[length // 2])
    what = message(
        "long-float", place=place(chart, r, start), yarn=name, length=length, limit=limit
    )
    cure = message("long-float-mend", yarn=name, stitch=middle + 1, options=("long_floats",))
    return Finding(LONG_FLOAT, "error", what, cure, r + 1, start + 1, length, name)


# catch-missing: where long floats are caught, no stretch between catches may pass the limit.
#
# Common practice: the float is twisted round the working yarn so that nothing longer than the limit
# hangs free; a float of n stitches needs ceil((n - limit) / (limit + 1)) catches.

CATCH_MISSING = "catch-missing"


def catch_missing(chart: Chart, measures: Measures) -> Sequence[Finding]:
    """One error for every uncaught stretch over the limit, when the chart catches long floats."""
    if chart.rules.long_floats != "catch":
        return []
    table = _table(measures.stretches.over(chart.rules.float_limit))
    return _alike(chart, CATCH_MISSING, "error", table, _missing)


def _missing(chart: Chart, r: int, start: int, y: int, at: int, length: int) -> Finding:
    name, limit = chart.yarns[y].name, chart.rules.float_limit
    where = behind(_columns(chart, r, at, length)[catch_offsets(length, limit)].tolist())
    what = message(
        "catch-missing", place=place(chart, r, start), yarn=name, length=length, limit=limit
    )
    cure = message("catch-missing-mend", yarn=name, where=where)
    return Finding(CATCH_MISSING, "error", what, cure, r + 1, start + 1, length, name)


# catch-stacked: no catch sits on the same stitch in two consecutive rounds.
#
# Common practice: a column of catches shows on the front. Where the chart repeats upwards, its last
# round is followed by its first.

CATCH_STACKED = "catch-stacked"


def catch_stacked(chart: Chart, measures: Measures) -> Sequence[Finding]:
    """One warning for every stitch caught in a round and again in the round above.

    Catches that hold nothing are left to unknown-yarn.
    """
    top = chart.round_count
    r, s, yarns = measures.catches[measures.holds].T
    caught = np.full(chart.stitches.shape, NO_STITCH)
    caught[r, s] = yarns
    both = (caught != NO_STITCH) & (np.roll(caught, -1, axis=0) != NO_STITCH)
    both[top if chart.stacked else top - 1 :] = False
    table = np.column_stack([*np.nonzero(both), caught[both]])
    return _alike(chart, CATCH_STACKED, "warning", table, _stacked)


def _stacked(chart: Chart, r: int, stitch: int, y: int) -> Finding:
    above, name, word = (r + 1) % chart.round_count, chart.yarns[y].name, a_round(chart)
    what = message("catch-stacked", place=place(chart, r, stitch), word=word, above=above + 1)
    cure = message("catch-stacked-mend", word=word, above=above + 1)
    if above == r:
        cure = message("catch-stacked-on-itself-mend")
    return Finding(CATCH_STACKED, "warning", what, cure, r + 1, stitch + 1, yarn=name)


# catch-beside-change: a catch next to a colour change, where another place would do.
#
# Common practice: catch in the middle of a float, not in the stitch next to a change of colour,
# where the twist pulls the neighbour out of shape. The edge of a piece worked flat is no change.

CATCH_BESIDE_CHANGE = "catch-beside-change"


def catch_beside_change(chart: Chart, measures: Measures) -> Sequence[Finding]:
    """One note for every catch in the first or last stitch of a float that could move inwards."""
    found: list[tuple[int, ...]] = []
    taken = np.zeros(chart.stitches.shape, bool)
    places = measures.catches[:, :2]
    inside = ((places >= 0) & (places < taken.shape)).all(axis=1)
    taken[tuple(places[inside].T)] = True
    for r, stitch, yarn in _at_the_ends(measures):
        better = _better_place(chart, measures, taken, r, stitch, yarn)
        if better is not None:
            found.append((r, stitch, yarn, better))
    table = np.array(found, np.intp).reshape(-1, 4)
    return _alike(chart, CATCH_BESIDE_CHANGE, "note", table, _beside_change)


def _beside_change(chart: Chart, r: int, stitch: int, y: int, better: int) -> Finding:
    name = chart.yarns[y].name
    what = message("catch-beside-change", place=place(chart, r, stitch), yarn=name)
    cure = message("catch-beside-change-mend", stitch=better + 1)
    return Finding(CATCH_BESIDE_CHANGE, "note", what, cure, r + 1, stitch + 1, yarn=name)


def _at_the_ends(measures: Measures) -> list[tuple[int, int, int]]:
    """(round, stitch, yarn) of the catches whose yarn is knitted in the stitch before or after."""
    live, catches = measures.live, measures.catches[measures.holds]
    r, stitch, yarn = catches.T
    here = live.place[live.number[r, stitch]]
    beside = np.zeros(len(catches), bool)
    for step in (-1, 1):
        beside |= live.yarn[live.first[r] + (here + step) % live.count[r]] == yarn
    return [(a, b, c) for a, b, c in catches[beside].tolist()]


def _better_place(
    chart: Chart, measures: Measures, taken: Bools, r: int, stitch: int, yarn: int
) -> int | None:
    """A column further into the float that keeps the limit and stacks on no other catch, or None."""
    row, live = chart.stitches[r], measures.live
    around = live.columns(r, 0, int(live.count[r]))
    closed = chart.closes(r)
    if closed:  # begin behind the catch, so that the float is in one piece
        around = np.roll(around, -int(live.place[live.number[r, stitch]]))
    at = int(np.flatnonzero(around == stitch)[0])
    for step in (1, -1):
        before = at - step if closed else _inside(at - step, len(around))
        if before is None or row[around[before % len(around)]] != yarn:
            continue
        for offset in range(1, chart.rules.float_limit + 1):
            here = at + step * offset
            if not closed and _inside(here + step, len(around)) is None:
                return None
            column, following = (int(around[i % len(around)]) for i in (here, here + step))
            if row[column] == yarn or row[following] == yarn or taken[r, column]:
                return None
            if not _stacks(chart, taken, r, column):
                return column
    return None


def _inside(index: int, count: int) -> int | None:
    return index if 0 <= index < count else None


def _stacks(chart: Chart, taken: Bools, r: int, column: int) -> bool:
    """Whether a catch here would sit above or below another; a lone round that repeats is its own
    neighbour, so that there it always does."""
    rounds = [r - 1, r + 1]
    if chart.stacked:
        rounds = [other % chart.round_count for other in rounds]
    return r in rounds or any(
        0 <= other < chart.round_count and bool(taken[other, column]) for other in rounds
    )


# buried-stitch: a single stitch between two long floats of its own yarn.
#
# Common practice: when the floats are tight they pull such a stitch in, and it can vanish. A float is
# long here when it passes the chart's limit; catching it nearby does not hold the stitch up.

BURIED_STITCH = "buried-stitch"
_SPAN = MAX_SIDE + 1


def buried_stitch(chart: Chart, measures: Measures) -> Sequence[Finding]:
    """One note for every single stitch whose yarn floats beyond the limit on both sides.

    Its message gives both lengths; `length` is the shorter.
    """
    return _alike(chart, BURIED_STITCH, "note", _between(chart, measures), _buried)


def _buried(chart: Chart, r: int, stitch: int, y: int, left: int, right: int) -> Finding:
    name, where = chart.yarns[y].name, place(chart, r, stitch)
    what = message("buried-stitch", place=where, yarn=name, left=left, right=right)
    cure = message("buried-stitch-mend", yarn=name)
    return Finding(BURIED_STITCH, "note", what, cure, r + 1, stitch + 1, min(left, right), name)


def _between(chart: Chart, measures: Measures) -> Ints:
    """Int [found, 5]: round, stitch, yarn, float before, float after of each stitch between two long floats.

    The stitch after one float must be the stitch before the next; a float that runs to the edge of
    flat work has no stitch there.
    """
    floats, live = measures.floats.over(chart.rules.float_limit), measures.live
    around = live.count[floats.round]
    end = floats.place + floats.length
    closed = chart.closed[floats.round]
    ending = np.flatnonzero(closed | (end < around))
    beginning = np.flatnonzero(closed | (floats.place > 0))
    key = (floats.round * _SPAN) * MAX_YARNS + floats.yarn
    after = (key + (end % around) * MAX_YARNS)[ending]
    before = (key + ((floats.place - 1) % around) * MAX_YARNS)[beginning]
    _, i, j = np.intersect1d(after, before, assume_unique=True, return_indices=True)
    i, j = ending[i], beginning[j]
    rounds, at = floats.round[j], (end % around)[i]
    stitch = live.column[live.first[rounds] + at]
    return np.column_stack([rounds, stitch, floats.yarn[j], floats.length[i], floats.length[j]])


# snag-risk: long loose strands inside mittens, socks and children's things.
#
# Common practice: catch every 3 to 4 stitches there, so that fingers and toes do not snag; strands
# inside baby things can also wind round a toe or finger and cut off the blood. The chart says what
# it is for in its file: `"piece": "mitten"`, or `"for_child": true`; and `"safe_limit"` where its limit is
# another than 4.

SNAG_RISK = "snag-risk"
SAFE = 4
WORDS = frozenset(
    {"mitten", "mittens", "glove", "gloves", "sock", "socks", "stocking", "slipper", "bootee"}
)
"""What a chart's file may say as its `piece` for which no `snags` need be said: the trade's words for
what fingers or toes go into, whoever wrote the chart."""


def snags(chart: Chart) -> bool:
    """Whether the chart is for a piece that fingers or toes go into."""
    what = chart.construction
    return what.snags or (what.piece is not None and what.piece.lower() in WORDS)


def safe_limit(chart: Chart) -> int:
    """The longest loose strand, in stitches, that fingers and toes should meet in this chart."""
    return chart.construction.safe_limit or SAFE


def for_child(chart: Chart) -> bool:
    """Whether the chart says it is for a child."""
    return chart.construction.for_child


def snag_risk(chart: Chart, measures: Measures) -> list[Finding]:
    """At most one warning: how many uncaught stretches pass the safe limit, and where the longest is."""
    safe = safe_limit(chart)
    loose = measures.stretches.over(safe)
    if not (snags(chart) or for_child(chart)) or not len(loose):
        return []
    r, start, _, length, y = loose.rows()[int(loose.length.argmax())]
    name = chart.yarns[y].name
    who = message("a-childs-fingers") if for_child(chart) else message("fingers")
    what = message(
        "snag-risk",
        place=place(chart, r, start),
        yarn=name,
        length=length,
        count=len(loose),
        safe=safe,
        who=who,
    )
    cure = message("snag-risk-mend", safe=safe, options=("float_limit",))
    return [Finding(SNAG_RISK, "warning", what, cure, r + 1, start + 1, length, name)]
