"""Rules about the shape of a chart: lone stitches, repeats, the join, stitches that must add up.

Each rule is a function of a chart and its measures that returns findings; what it asks, and where
that comes from, stands above its code.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from functools import partial

import numpy as np

from pic2chart.checks.finding import Finding, Level, OfOneRule
from pic2chart.core.messages import Message, message
from pic2chart.model.chart import Chart, Stitches
from pic2chart.model.construction import HOLD, USED, Shaping, worked
from pic2chart.model.measure import Ints, Measures
from pic2chart.model.wording import a_round, counted, place, round_named, rounds_named

# isolated-stitch: a stitch none of whose eight neighbours has its yarn.
#
# Common practice: single stitches look like mistakes in a picture, and are wanted in a pattern of
# dots; so they are warnings where the chart is to be tidy and notes where they are kept.

ISOLATED_STITCH = "isolated-stitch"
MEND = message("isolated-stitch-mend")
KEPT = message("isolated-stitch-kept")


def isolated_stitch(chart: Chart, measures: Measures) -> Sequence[Finding]:
    """In a tidy chart a warning for every isolated stitch; where they are kept, a note for every round
    and yarn that has some.
    """
    alone = measures.isolated
    if chart.rules.isolated == "tidy":
        table = np.column_stack([*np.nonzero(alone), chart.stitches[alone]]).astype(np.intp)
        names = tuple(yarn.name for yarn in chart.yarns)
        return OfOneRule(ISOLATED_STITCH, "warning", names, table, partial(_untidy, chart))
    by_round: dict[tuple[int, int], list[int]] = {}
    for r, stitch in np.argwhere(alone).tolist():
        by_round.setdefault((r, int(chart.stitches[r, stitch])), []).append(stitch)
    return [_kept(chart, r, stitches) for (r, _), stitches in by_round.items()]


def _untidy(chart: Chart, r: int, stitch: int, _: int) -> Finding:
    return _alone(chart, r, stitch, "warning", MEND)


def _alone(chart: Chart, r: int, stitch: int, level: Level, cure: Message) -> Finding:
    name = chart.yarns[int(chart.stitches[r, stitch])].name
    what = message("isolated-stitch", place=place(chart, r, stitch), yarn=name)
    return Finding(ISOLATED_STITCH, level, what, cure, r + 1, stitch + 1, 1, name)


def _kept(chart: Chart, r: int, stitches: list[int]) -> Finding:
    """One note for the lone stitches of a yarn in a round, at the first of them."""
    if len(stitches) == 1:
        return _alone(chart, r, stitches[0], "note", KEPT)
    name = chart.yarns[int(chart.stitches[r, stitches[0]])].name
    first, more = place(chart, r, stitches[0]), len(stitches) - 1
    what = message("isolated-stitches", place=first, more=more, yarn=name)
    return Finding(ISOLATED_STITCH, "note", what, KEPT, r + 1, stitches[0] + 1, 1, name)


# repeat-misfit: the repeat goes into every round, and into the number of rounds.
#
# Common practice: a pattern worked in the round needs a multiple of its repeat; worked flat, stitches
# over are knitted at the edges to balance it, so there it is a note.

REPEAT_MISFIT = "repeat-misfit"


def repeat_misfit(chart: Chart, measures: Measures) -> list[Finding]:
    """One finding for every stitch count the repeat does not divide, and one for the rounds."""
    if chart.repeat is None:
        return []
    across, up = chart.repeat
    found = []
    short = np.array([row.round for row in chart.rows], np.intp)
    counts = np.delete(measures.live.count, short)
    for count in np.unique(counts).tolist():
        if count % across:
            same = np.flatnonzero(measures.live.count == count)
            rounds = np.setdiff1d(same, short).tolist()
            found.append(_across(chart, count, across, rounds))
    if chart.round_count % up:
        what = message("repeat-misfit-up", rounds=counted(chart, chart.round_count), repeat=up)
        cure = message("repeat-misfit-up-mend", repeat=counted(chart, up))
        found.append(Finding(REPEAT_MISFIT, "warning", what, cure, length=up))
    return found


def _across(chart: Chart, count: int, across: int, rounds: list[int]) -> Finding:
    """The finding for all rounds of one stitch count."""
    named = rounds_named(chart, rounds)
    level: Level = "error" if chart.in_round else "note"
    over = count % across
    left = message("one-is-over") if over == 1 else message("some-are-over", over=over)
    what = message("repeat-misfit", rounds=named, count=count, repeat=across, over=left)
    fewer, more = count - over, count - over + across
    counts = (fewer, more) if fewer else (more,)
    cure = message("repeat-misfit-mend", counts=counts)
    return Finding(REPEAT_MISFIT, level, what, cure, rounds[0] + 1, length=count)


# join-jog: a repeating pattern that steps by one round where the round joins.
#
# Knitting in the round is a spiral: the last stitch of a round meets the first stitch of the next.
# A band that runs straight across the join on paper therefore steps up by one round in wool. Common
# practice: begin the round where one yarn stands plain, or put the join where it is not seen. A
# picture, which is knitted once, has a beginning anyway; it is not looked at.

JOIN_JOG = "join-jog"


def join_jog(chart: Chart, measures: Measures) -> list[Finding]:
    """At most one note: the rounds that step at the join, and a better first stitch if there is one.

    Only for charts worked in the round, either with a repeat, when all rounds are of full length, or
    of a garment, which says where its rounds join.
    """
    repeating = chart.repeat is not None and bool(chart.live.all())
    if not chart.in_round or not (repeating or chart.construction.join is not None):
        return []
    steps = join_steps(chart.stitches)[:, 0] if repeating else _steps_of_garment(chart, measures)
    if not steps.any():
        return []
    rounds = np.flatnonzero(steps).tolist()
    what = message("join-jog", count=len(rounds), rounds=rounds_named(chart, rounds))
    better = _better_start(chart) if repeating else None
    if better:
        cure = message("join-jog-begin-at", stitch=better)
    else:  # a garment's joins are where its shape wants them
        cure = message("join-jog-mend") if repeating else message("join-jog-lift")
    first = int(measures.live.column[measures.live.first[rounds[0]]])
    return [Finding(JOIN_JOG, "note", what, cure, rounds[0] + 1, first + 1, len(rounds))]


def _better_start(chart: Chart) -> int | None:
    """The stitch, from 1, at which a round should begin so that it steps least; None when it does."""
    totals: Ints = join_steps(chart.stitches).sum(axis=0)
    best = int(totals.argmin())
    return best + 1 if totals[best] < totals[0] else None


def _steps_of_garment(chart: Chart, measures: Measures) -> Ints:
    """Int [rounds]: 1 where the first and last stitch agree and the round above begins otherwise."""
    live = measures.live
    rounds = np.flatnonzero((live.count > 0) & chart.closed)
    first = live.yarn[live.first[rounds]]
    last = live.yarn[live.first[rounds] + live.count[rounds] - 1]
    steps = np.zeros(chart.round_count, np.intp)
    steps[rounds[:-1]] = (first[:-1] == last[:-1]) & (first[1:] != first[:-1])
    return steps


def join_steps(stitches: Stitches) -> Ints:
    """Int [rounds, stitches]: 1 where a round begun at that stitch would step at its join.

    `stitches`: uint8 [rounds, stitches], all live.
    """
    last = np.roll(stitches, 1, axis=1)
    above = np.roll(stitches, -1, axis=0)
    return np.asarray((last == stitches) & (last != above), dtype=np.intp)


# ragged-round: rounds that are empty, very short, or change size faster than shaping can.
#
# An empty round cannot be knitted: an error. Fewer than 3 stitches cannot be worked in the round on
# any needles: a warning there, nothing flat, where a point may end on one stitch. Common practice:
# shaping at most halves a round (two together all round) or doubles it (one increased in every
# stitch); a larger change needs casting on or binding off, which may be meant: a note.

RAGGED_ROUND = "ragged-round"
FEWEST = 3


def ragged_round(chart: Chart, measures: Measures) -> list[Finding]:
    """One finding for every empty or short round, and for every jump in the number of stitches."""
    counts = measures.live.count
    found = [_short(chart, r, int(counts[r])) for r in _short_rounds(chart, measures)]
    before, after = counts[:-1], counts[1:]
    short = np.zeros(chart.round_count, bool)
    short[[row.round for row in chart.rows]] = True
    whole = ~short[:-1] & ~short[1:] & (before > 0) & (after > 0)
    jumps = whole & ((after > 2 * before) | (2 * after < before))
    for r in np.flatnonzero(jumps).tolist():
        what = message(
            "ragged-round",
            where=round_named(chart, r + 1),
            count=int(after[r]),
            before=int(before[r]),
            word=a_round(chart),
            round=r + 1,
        )
        cure = message("ragged-round-mend", word=a_round(chart))
        found.append(Finding(RAGGED_ROUND, "note", what, cure, r + 2, length=int(after[r])))
    return found


def _short_rounds(chart: Chart, measures: Measures) -> list[int]:
    fewest = np.where(chart.closed, FEWEST, 1)
    return [int(r) for r in np.flatnonzero(measures.live.count < fewest)]


def _short(chart: Chart, r: int, count: int) -> Finding:
    """The finding for a round with no stitch, or too few."""
    where = round_named(chart, r)
    if count == 0:
        what = message("empty-round", where=where)
        cure = message("empty-round-mend", word=a_round(chart))
        return Finding(RAGGED_ROUND, "error", what, cure, r + 1, length=0)
    what, cure = message("short-round", where=where, count=count), message("short-round-mend")
    return Finding(RAGGED_ROUND, "warning", what, cure, r + 1, length=count)


# shaping-misfit: the shaping must account for every stitch of the round before.
#
# Each decrease joins the next two stitches of the round before, each increase is made between two,
# every other stitch is knitted on one; so the stitches used up must be just those there were. Only
# charts that tell their shaping (garments) are looked at. A decrease never reaches across the join,
# since its two stitches are looked for within the round.

SHAPING_MISFIT = "shaping-misfit"


def shaping_misfit(chart: Chart, measures: Measures) -> list[Finding]:
    """An error for every round whose stitches do not add up, and for shaping that cannot be worked."""
    construction = chart.construction
    if construction.shapings is None:
        return []
    found = [_unreadable(len(construction.unread))] if construction.unread else []
    by_round: dict[int, list[Shaping]] = defaultdict(list)
    for shaping in construction.shapings:
        misplaced = _misplaced(chart, shaping)
        if misplaced is None:
            by_round[shaping.round].append(shaping)
        else:
            found.append(misplaced)
    before = _before(chart, measures)
    for r in range(1, chart.round_count):
        if by_round[r] or measures.live.count[r] != before[r]:
            found += _round(chart, r, int(before[r]), by_round[r])
    return found


def _before(chart: Chart, measures: Measures) -> Ints:
    """Int [rounds]: stitches that wait on the needle where each round works; 0 for the first."""
    counts = np.zeros(chart.round_count, np.intp)
    counts[1:] = measures.live.count[:-1]
    if chart.rows:
        needle = chart.live[0].copy()
        for r in range(1, chart.round_count):
            row = chart.row(r)
            reach = slice(row.first, row.last + 1)
            counts[r] = np.count_nonzero(needle[reach])
            needle[reach] = chart.live[r, reach]
    return counts


def _unreadable(count: int) -> Finding:
    what = message("shaping-unreadable", count=count)
    return Finding(SHAPING_MISFIT, "warning", what, message("shaping-unreadable-mend"))


def _misplaced(chart: Chart, shaping: Shaping) -> Finding | None:
    """An error when shaping stands where there is no such stitch."""
    r, stitch = shaping.round, shaping.stitch
    past = stitch + shaping.count
    inside = 0 < r < chart.round_count and stitch >= 0 and past <= chart.stitch_count
    row = r - 1 if shaping.kind == HOLD else r
    if inside and bool(chart.live[row, stitch]):
        return None
    what = message("shaping-misplaced", place=place(chart, r, stitch), kind=shaping.kind)
    cure = message("shaping-misplaced-mend")
    return Finding(SHAPING_MISFIT, "error", what, cure, r + 1, stitch + 1)


def _round(chart: Chart, r: int, before: int, shapings: Sequence[Shaping]) -> list[Finding]:
    """Walk a round in knitting order and count the stitches of the round before it uses up."""
    used, found = 0, []
    for column, shaping in worked(chart.live[r], shapings):
        need = 1 if shaping is None else shaping.used
        if shaping is not None and shaping.kind in USED and used + need > before:
            left = max(before - used, 0)
            what = message(
                "shaping-lacks-stitches",
                place=place(chart, r, column),
                kind=shaping.kind,
                left=left,
                need=need,
            )
            cure = message("shaping-lacks-stitches-mend", word=a_round(chart))
            found.append(Finding(SHAPING_MISFIT, "error", what, cure, r + 1, column + 1, left))
        used += need
    if used != before and not found:
        now = int(np.count_nonzero(chart.live[r]))
        where = round_named(chart, r)
        what = (
            message("shaping-misfit-row", where=where, count=now, used=used, before=before)
            if chart.rows
            else message(
                "shaping-misfit",
                where=where,
                count=now,
                used=used,
                word=a_round(chart),
                below=r,
                before=before,
            )
        )
        cure = message("shaping-misfit-mend")
        found.append(Finding(SHAPING_MISFIT, "error", what, cure, r + 1, length=abs(used - before)))
    return found
