"""Rounds as they are spoken: what the needle brings, in knitting order, repeats folded."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.construction import CALLED, CAST_ON, HOLD
from pic2chart.model.folds import folds_of
from pic2chart.model.keys import KEYS
from pic2chart.model.rows import Row
from pic2chart.model.wording import listed, round_word
from pic2chart.sheets.words.folding import Group, common_unit, fold, fold_twice, period
from pic2chart.sheets.words.ladders import LadderSpots, ladder_spots, ladder_words
from pic2chart.sheets.words.needle import KNIT, WASTE, Act, acts_of, joined
from pic2chart.stranding.carrying import YarnMoves, yarn_moves

_PLAIN_NAME = re.compile(r"[^\W\d_][\w .'’-]*")
_OWN_WORDS = frozenset({"skip", "stitch", "stitches", "yarn", "catch", "round", "row"})
_INNER_WORDS = frozenset({"catching", "after"})
"""Words no name may hold anywhere, since a reader takes them for ours."""

_PURLED = {"k2tog": "p2tog", "ssk": "ssp"}
SAID = {kind: (name, _PURLED.get(kind, f"{name}p")) for kind, name in CALLED.items()}
"""What shaping is called, knitted and, so that it looks the same from the right side, purled."""


@dataclass(frozen=True, slots=True)
class Run:
    """`count` stitches of one yarn (index); 255 are squares without a stitch."""

    count: int
    yarn: int


Parts = tuple[Run | Group[Run], ...]
Acts = tuple[Act | Group[Act], ...]


@dataclass(frozen=True, slots=True)
class Spoken:
    """Rounds `first` to `last` (from 0), which are worked alike.

    `moves` are the yarns joined before the first and cut or carried up after the last of them; `acts` is
    what they work, stitches counted on the needle; `count` the stitches they leave, `counted`
    whether that is said, `unit` after how many stitches all rounds nearby repeat, None where they do
    not. `row` is how the first of them is worked, `stated` whether the chart states that, and then
    `reach` the first and last stitch on the needle (from 0) it goes over, in the order worked.

    By squares of the chart: `parts` are runs in working order, which on a row that comes back is
    backwards along the chart; `catches` are (yarn, stitches from 0 in the order they are reached);
    `shaped` the decreases and increases as (kind, stitches); `openings` stitches knitted with waste
    yarn first, as (first, past the last). `ladders`: the ladder stitches worked, by needle.
    """

    first: int
    last: int
    moves: YarnMoves
    acts: Acts
    count: int
    parts: Parts
    catches: tuple[tuple[int, tuple[int, ...]], ...]
    row: Row
    stated: bool = False
    shaped: tuple[tuple[str, tuple[int, ...]], ...] = ()
    openings: tuple[tuple[int, int], ...] = ()
    counted: bool = False
    unit: int | None = None
    reach: tuple[int, int] = (0, 0)
    ladders: tuple[LadderSpots, ...] = ()


@lru_cache(maxsize=8)
def speak(chart: Chart) -> tuple[Spoken, ...]:
    """Every round of the chart; in the round, equal rounds that follow each other are said once.

    A document asks for them ten times, and a chart never changes: those of the last few are kept.
    """
    spoken: list[Spoken] = []
    caught, shaped, openings = _catches(chart), _shaped(chart), _openings(chart)
    acts, ladders = acts_of(chart), ladder_spots(chart)
    units, moves = _units(chart, acts), yarn_moves(chart)
    stated = {row.round for row in chart.rows}
    before = 0
    for r, needle in enumerate(needles(chart)):
        row = chart.row(r)
        squares = chart.stitches[r, ::-1] if row.backwards else chart.stitches[r]
        catches = _by_yarn(caught[r], row.backwards)
        beside = (catches, shaped.get(r, ()), openings.get(r, ()))
        last = spoken[-1] if spoken else None
        here = moves.get(r, YarnMoves())
        if (
            last is not None
            and chart.in_round
            and not (here.joined or last.moves.after)
            and not (last.stated or r in stated)
            and beside == (last.catches, last.shaped, last.openings)
            and ladders[r] == last.ladders
            and acts[r] == acts[last.first]
            and np.array_equal(chart.stitches[r], chart.stitches[last.first])
        ):
            spoken[-1] = replace(last, last=r, moves=replace(here, joined=last.moves.joined))
            continue
        count = sum(act.made for act in acts[r])
        shaping = any(act.kind not in (KNIT, WASTE) for act in acts[r])
        spoken.append(
            Spoken(
                r,
                r,
                here,
                folded(acts[r], units[r]),
                count,
                fold(_runs(squares)),
                catches,
                row,
                r in stated,
                beside[1],
                beside[2],
                shaping or (r not in stated and before not in (0, count)),
                units[r],
                _reach(row, needle),
                ladders[r],
            )
        )
        before = 0 if r in stated else count
    return tuple(spoken)


def folded(acts: Sequence[Act], unit: int | None) -> Acts:
    """The acts of a round as runs. Where it repeats every `unit` stitches, what goes into the unit is
    told once, so that no marker stands inside a run.
    """
    runs, own = joined(acts), period(acts)
    if unit is None or unit % own or len(runs) == 1:
        return fold_twice(runs)
    return (Group(fold(joined(acts[:own])), len(acts) // own),)


def needles(chart: Chart) -> Iterator[NDArray[np.bool_]]:
    """Bool [squares] for each round: where stitches wait on the needle when it begins.

    A row that turns early leaves those beyond it as they were.
    """
    needle = chart.live[0].copy()
    for r in range(chart.round_count):
        yield needle.copy()
        row = chart.row(r)
        reach = slice(row.first, row.last + 1)
        needle[reach] = chart.live[r, reach]


def _reach(row: Row, needle: NDArray[np.bool_]) -> tuple[int, int]:
    first = int(needle[: row.first].sum())
    last = max(first, int(needle[: row.last + 1].sum()) - 1)
    return (last, first) if row.backwards else (first, last)


def _units(chart: Chart, acts: Sequence[Sequence[Act]]) -> list[int | None]:
    """For each round, after how many stitches it and the rounds next to it repeat.

    A unit that the chart tells of goes first. Elsewhere plain rounds of one stitch count go together,
    and a shaped round is taken by itself.
    """
    units: list[int | None] = [None] * len(acts)
    together: list[int] = []
    for r in range(len(acts) + 1):
        alone = r == len(acts) or any(act.kind != KNIT for act in acts[r])
        if together and (alone or len(acts[r]) != len(acts[together[0]])):
            count = len(acts[together[0]])
            unit = common_unit(count, (period(acts[i]) for i in together)) if count else None
            for i in together:
                units[i] = unit
            together = []
        if r < len(acts) and alone and acts[r]:
            units[r] = common_unit(len(acts[r]), [period(acts[r])])
        elif r < len(acts) and acts[r]:
            together.append(r)
    for known in folds_of(chart):
        for r in range(known.round, known.past):
            if known.times > 1 and acts[r] and len(acts[r]) % (known.times * period(acts[r])) == 0:
                units[r] = len(acts[r]) // known.times
    return units


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
    return (
        _PLAIN_NAME.fullmatch(name) is not None
        and words[0] not in _OWN_WORDS
        and _INNER_WORDS.isdisjoint(words)
    )


def act_words(acts: Acts, names: Sequence[str], *, purled: bool = False) -> str:
    """'1 ink, ssk in oat, (4 oat, 1 ink) × 3, 7 oat, catching ink after 4'."""
    return ", ".join(
        f"({act_words(act.runs, names, purled=purled)}) × {act.times}"
        if isinstance(act, Group)
        else _act(act, names, purled)
        for act in acts
    )


def _act(act: Act, names: Sequence[str], purled: bool) -> str:
    if act.kind == HOLD:
        return f"put {act.count} on waste yarn"
    if act.kind == WASTE:
        work = "purl" if purled else "knit"
        return f"{work} the next {act.count} with waste yarn and slip them back"
    name = names[act.yarn]
    if act.kind == KNIT:
        words = f"{act.count} {name}"
    elif act.kind == CAST_ON:
        words = f"cast on {act.count} in {name}"
    else:
        words = f"{SAID[act.kind][purled]} in {name}"
    return f"{words}, catching {_caught(act, names)}" if act.catches else words


def _caught(act: Act, names: Sequence[str]) -> str:
    """'ink after 4 and 9 and moss at the first'; of one stitch only the yarns."""
    yarns = list(dict.fromkeys(yarn for _, yarn in act.catches))
    if act.count == 1:
        return " and ".join(names[yarn] for yarn in yarns)
    return " and ".join(
        f"{names[yarn]} {_spots([place for place, y in act.catches if y == yarn])}"
        for yarn in yarns
    )


def _spots(places: Sequence[int]) -> str:
    """Where in a run: 'after 4 and 9', 'at the first and after 5'."""
    later = [str(place) for place in places if place]
    words = ["at the first"] if 0 in places else []
    return " and ".join([*words, f"after {listed(later)}"] if later else words)


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
    described = [f"{CALLED[kind]} at {_numbered(stitches)}" for kind, stitches in spoken.shaped]
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
        start, end = spoken.reach
        return f"{word} {spoken.first + 1} ({work}, stitches {start + 1} to {end + 1})"
    if not chart.in_round:
        return f"{word} {spoken.first + 1} ({work})"
    if spoken.first == spoken.last:
        return f"Round {spoken.first + 1}"
    return f"Rounds {spoken.first + 1}–{spoken.last + 1}"


def clauses(spoken: Spoken, names: Sequence[str]) -> tuple[str, ...]:
    """What is said of a round, one thing after another: yarns joined, the stitches and how many there
    are, yarns cut and carried up.
    """
    work = act_words(spoken.acts, names, purled=spoken.row.wrong_side)
    count = f"{spoken.count} st{'' if spoken.count == 1 else 's'}" if spoken.counted else ""
    joining = f"join {_named(spoken.moves.joined, names)}" if spoken.moves.joined else ""
    after = move_words(spoken.moves, names)
    ladders = (ladder_words(spots, names) for spots in spoken.ladders)
    return tuple(filter(None, (joining, work or "no stitch", count, *ladders, *after)))


def move_words(moves: YarnMoves, names: Sequence[str]) -> list[str]:
    """What is done with the yarns after a round: 'cut ink', 'carry oat up over 3 rounds'."""
    words = [f"cut {_named(moves.cut, names)}"] if moves.cut else []
    if moves.astray:
        words.append(f"cut {_named(moves.astray, names)}, which would lie at the wrong edge")
    for rests in sorted({rests for _, rests in moves.carried}):
        yarns = [yarn for yarn, rounds in moves.carried if rounds == rests]
        words.append(
            f"carry {_named(yarns, names)} up over {rests} round{'' if rests == 1 else 's'}"
        )
    return words


def _named(yarns: Sequence[int], names: Sequence[str]) -> str:
    return listed([names[yarn] for yarn in yarns])


def sentence(spoken: Spoken, names: Sequence[str]) -> str:
    """The round without its label: '3 oat, k2tog in ink, 7 oat, catching ink after 4; 11 sts.'."""
    return "; ".join(clauses(spoken, names)) + "."
