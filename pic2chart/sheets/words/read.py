"""From words back to the chart: the lines that `write` writes, text or Markdown.

A line for each round tells what it works; where the chart has squares without a stitch, lines at the
end tell on which squares its stitches stand. Earlier versions named squares in the rounds themselves.
Lines that are none of these are passed over, so a knitter's own remarks do no harm. What names the
words do not carry (a yarn's label, the picture a chart came from) is not there afterwards.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence, Sized
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE
from pic2chart.model.chart import NO_STITCH, Catch, Chart, Rules
from pic2chart.model.construction import WORKED_IN, Construction, Opening, Shaping
from pic2chart.model.gauge import Gauge
from pic2chart.model.keys import KEYS, clean_title
from pic2chart.model.plain_json import shown
from pic2chart.model.rows import Row, usual_row
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.words.ladders import LadderSpots, ladders_of, read_ladder_words
from pic2chart.sheets.words.needle import Act, placed
from pic2chart.sheets.words.read_round import SKIP, RoundReader, skipped
from pic2chart.sheets.words.spoken import called

MAX_LETTERS = 20_000_000
_MOST_LINES = 20 * MAX_SIDE
_LINE_ENDS = "\n\r\v\f\x1c\x1d\x1e\x85\u2028\u2029"
_SPARE = 100

_NUMBER = r"(\d{1,7}(?:\.\d{1,20})?)"
_FACT = re.compile(r"(Size|Worked|Hand|Gauge|Tension|Repeat|Rules): (.*)")
_YARN = re.compile(r"([A-L]): (.*), (#[0-9a-f]{6})")
_ROUND = re.compile(
    r"(?:Rounds?|Row) (?P<first>\d{1,4})(?:–(?P<last>\d{1,4}))?"
    r"(?: \((?P<work>knit|purl)(?:, stitches (?P<start>\d{1,4}) to (?P<end>\d{1,4}))?\))?"
    r": (?P<said>.*)\."
)
_COUNTED = re.compile(r"(\d{1,4}) sts?")
_SQUARES = re.compile(
    r"Squares of (?:round|row)s? (?P<first>\d{1,4})(?:–(?P<last>\d{1,4}))?: (?P<said>.*?)"
    r"(?:, a row from (?P<start>\d{1,4}) to (?P<end>\d{1,4}))?"
)
_MOVE = re.compile(r"join .|cut .|carry .* up over \d{1,4} rounds?")
"""What is done with the yarns; it follows from the stitches."""
_SPAN = re.compile(r"(\d{1,4})(?:–(\d{1,4}))?")
_CATCH = re.compile(r"catch (.+) behind stitch(?:es)? ([\d, and]+)")
_SHAPED = re.compile(r"([a-z0-9-]{3,14}) at stitch(?:es)? ([\d, and]+)")
_OPENING = re.compile(r"waste yarn at stitches (\d{1,4}) to (\d{1,4})")
_SIZE = re.compile(r"(\d{1,4}) (?:stitches|squares) × (\d{1,4}) (?:rounds|rows)")
_SIZED = re.compile(r"(?:- \*\*)?Size:(?:\*\*)? \d")
_GAUGE = re.compile(rf"{_NUMBER} stitches × {_NUMBER} (?:rounds|rows) in {_NUMBER} cm")
_RULES = re.compile(
    r"at most (\d) yarns in one(?: round| row)?; floats over (\d{1,4}) stitches: (catch|break); "
    rf"single stitches: (tidy|keep); lightness apart by {_NUMBER} L\*"
)


def read_words(content: str) -> Chart:
    """The chart that the words tell; of a garment's words the first of its charts.

    Raises InputError naming the line that cannot be understood.
    """
    return read_all_words(content)[0]


def read_all_words(content: str) -> list[Chart]:
    """Every chart that the words of a garment tell, in order, the written pattern passed over.

    Raises InputError naming the line that cannot be understood.
    """
    if len(content) > MAX_LETTERS:
        raise InputError(message("words-too-long", most=MAX_LETTERS))
    if sum(map(content.count, _LINE_ENDS)) > _MOST_LINES:
        raise InputError(message("words-too-many-lines", most=_MOST_LINES))
    lines = [line.strip() for line in content.splitlines()] or [""]
    return [_read(_unmarked(part)) for part in _charts(lines)]


def _charts(lines: list[str]) -> list[list[str]]:
    """The lines of each chart, from its title on: those of a written pattern tell no size in squares."""
    text = len(lines) > 1 and lines[1].startswith("===")
    starts = [
        i
        for i, (line, after) in enumerate(pairwise([*lines, ""]))
        if (after.startswith("===") if text else line.startswith("# "))
    ]
    if len(starts) < 2:
        return [lines]
    parts = [lines[a:b] for a, b in pairwise([*starts, len(lines)])]
    return [part for part in parts if any(map(_SIZED.match, part))] or [lines]


def _read(content: list[str]) -> Chart:
    title, *lines = content
    facts = {match[1]: match[2] for line in lines if (match := _FACT.fullmatch(line))}
    facts["Gauge"] = facts.get("Gauge", facts.get("Tension", ""))
    yarns = _yarns(lines)
    across, up = map(int, _must(_SIZE, facts, "Size"))
    if not (1 <= across <= MAX_SIDE and 1 <= up <= MAX_SIDE):
        raise InputError(message("words-bad-size", across=across, up=up, most=MAX_SIDE))
    flat = facts.get("Worked") == "flat"
    chart = _chart(title, facts, yarns, np.full((up, across), NO_STITCH, np.uint8))
    return _with_rounds(chart, lines, flat)


def _unmarked(lines: list[str]) -> list[str]:
    """The lines without their Markdown; plain text underlines its title."""
    if len(lines) > 1 and lines[1].startswith("==="):
        return lines
    return [_plain(line) for line in lines]


def _plain(line: str) -> str:
    if line.startswith(("- ", "# ")):
        line = re.sub(r"(?<!\\)\*\*", "", line[2:])
        line = re.sub(r"\\(.)", r"\1", line)
    return line


def _yarns(lines: list[str]) -> tuple[Yarn, ...]:
    found = [match for line in lines if (match := _YARN.fullmatch(line))]
    if not found or [match[1] for match in found] != list(KEYS[: len(found)]):
        raise InputError(message("words-without-yarns"))
    try:
        return tuple(Yarn(match[2], match[3]) for match in found)
    except SettingError as error:
        raise InputError(error.message) from error


def _chart(title: str, facts: Mapping[str, str], yarns: tuple[Yarn, ...], empty: Any) -> Chart:
    """The chart but for its stitches: one stands in until the rounds are read."""
    empty[0, 0] = 0
    try:
        gauge = Gauge(*map(float, _must(_GAUGE, facts, "Gauge")))
    except SettingError as error:
        raise InputError(error.message) from error
    colours, limit, floats, single, apart = _must(_RULES, facts, "Rules")
    rules: Any = Rules(int(colours), int(limit), floats, single, float(apart))  # type: ignore[arg-type]
    repeat = tuple(map(int, _must(_SIZE, facts, "Repeat"))) if "Repeat" in facts else None
    return Chart(
        empty,
        yarns,
        gauge,
        clean_title(title),
        "flat" if facts.get("Worked") == "flat" else "round",
        "left" if facts.get("Hand") == "left" else "right",
        rules,
        repeat=repeat,  # type: ignore[arg-type]
    )


def _must(pattern: re.Pattern[str], facts: Mapping[str, str], name: str) -> tuple[str, ...]:
    match = pattern.fullmatch(facts.get(name, ""))
    if match is None:
        raise InputError(message("words-bad-line", name=name, value=shown(facts.get(name))))
    return match.groups()


@dataclass(frozen=True, slots=True)
class _Beside:
    """What is said beside the stitches."""

    catches: list[Catch] = field(default_factory=list)
    shaped: list[Shaping] = field(default_factory=list)
    openings: list[Opening] = field(default_factory=list)
    ladders: list[tuple[int, LadderSpots]] = field(default_factory=list)

    def add(self, words: str, r: int, names: Mapping[str, int], across: int) -> None:
        """Take one part of round `r` (from 0) into account."""
        if ladder := read_ladder_words(words, tuple(names)):
            self.ladders.extend((r, ladder._replace(after=(n,))) for n in sorted(set(ladder.after)))
        elif opened := _OPENING.fullmatch(words):
            self.openings.append(_opening(opened, r, across))
        elif (shape := _SHAPED.fullmatch(words)) and shape[1] in WORKED_IN:
            places = _places(shape[2], r + 1, across)
            self.shaped.extend(Shaping(r, stitch, shape[1]) for stitch in places)
        else:
            yarn, places = _caught(words, names, r + 1, across)
            self.catches.extend(Catch(r, stitch, yarn) for stitch in places)

    def refuse_more(self, most: int, r: int) -> None:
        """Raise InputError when more is said than a chart can hold: short words tell of much."""
        lists: tuple[Sized, ...] = (self.catches, self.shaped, self.openings, self.ladders)
        if sum(map(len, lists)) > most:
            raise InputError(message("words-too-many-things", round=r + 1, most=most))

    def construction(self) -> Construction:
        """The shaping and openings told."""
        return Construction(tuple(self.shaped) if self.shaped else None, tuple(self.openings))


def _with_rounds(chart: Chart, lines: list[str], flat: bool) -> Chart:
    seen = np.zeros(chart.round_count, bool)
    beside = _Beside()
    worked: list[tuple[list[Act], Row | None]] = [([], None)] * chart.round_count
    squares = _squares(chart, lines)
    names = called(chart)
    for match in filter(None, map(_ROUND.fullmatch, lines)):
        first, last = _span(match, seen)
        work, *parts = [s for s in match["said"].split("; ") if not _MOVE.match(s)] or [""]
        acts = RoundReader(names, chart.stitch_count, first).acts(work)
        short = _short_row(match, first, chart.stitch_count, squares.rows.get(first - 1))
        seen[first - 1 : last] = True
        for r in range(first - 1, last):
            worked[r] = acts, short
            for part in parts:
                if counted := _COUNTED.fullmatch(part):
                    _check_count(acts, int(counted[1]), r + 1)
                else:
                    beside.add(part, r, {n: i for i, n in enumerate(names)}, chart.stitch_count)
            beside.refuse_more(_SPARE + 2 * chart.stitches.size, r)
    if not seen.all():
        raise InputError(message("words-round-missing", round=int(np.argmin(seen)) + 1))
    return _put_together(chart, worked, squares, beside, flat)


def _check_count(acts: Sequence[Act], said: int, round_: int) -> None:
    made = sum(act.made for act in acts)
    if made != said:
        raise InputError(message("words-wrong-count", round=round_, count=said, worked=made))


@dataclass(frozen=True, slots=True)
class _Squares:
    """Where stitches stand on the chart, by the round: squares, and rows with their reach, from 0."""

    places: dict[int, list[int]]
    rows: dict[int, tuple[int, int]]


def _squares(chart: Chart, lines: Iterable[str]) -> _Squares:
    found = _Squares({}, {})
    for match in filter(None, map(_SQUARES.fullmatch, lines)):
        first, last = _span(match, np.zeros(chart.round_count, bool))
        places: list[int] = []
        for part in match["said"].split(", "):
            span = _SPAN.fullmatch(part)
            low = int(span[1]) if span else 0
            high = int((span and span[2]) or low)
            after = places[-1] + 1 if places else 0
            if part != "none" and not after < low <= high <= chart.stitch_count:
                raise InputError(
                    message(
                        "words-bad-squares",
                        round=first,
                        words=shown(match["said"]),
                        stitches=chart.stitch_count,
                    )
                )
            places += range(low - 1, high) if span else []
        for r in range(first - 1, last):
            found.places[r] = places
            if match["start"]:
                start, end = _places(f"{match['start']} {match['end']}", first, chart.stitch_count)
                found.rows[r] = start, end
    return found


def _put_together(
    chart: Chart,
    worked: Sequence[tuple[list[Act], Row | None]],
    squares: _Squares,
    beside: _Beside,
    flat: bool,
) -> Chart:
    """The chart of what the rounds work, every stitch on its square."""
    stitches = np.full(chart.stitches.shape, NO_STITCH, np.uint8)
    needle: list[int] = []
    rows: list[Row] = []
    for r, (acts, short) in enumerate(worked):
        row = short or usual_row(r, chart.stitch_count, in_round=not flat)
        reach = range(row.first, row.last + 1)
        here = _here(acts, squares.places.get(r), reach, r + 1, _skips(acts, row, chart))
        waiting = [square for square in needle if square in reach]
        rest = [square for square in needle if square not in reach]
        if row.backwards:
            here, waiting = here[::-1], waiting[::-1]
        found = placed(acts, r, here, waiting, chart.stitch_count)
        stitches[r] = found.row
        rows += [] if short is None else [short]
        beside.catches.extend(found.catches)
        beside.shaped.extend(found.shaped)
        beside.openings.extend(found.openings)
        needle = sorted([*rest, *here])
    read = chart.with_(
        stitches=stitches,
        catches=tuple(beside.catches),
        rows=tuple(rows),
        construction=beside.construction(),
    )
    ladders = ladders_of(read, beside.ladders)
    return read.with_(construction=replace(read.construction, ladders=ladders)) if ladders else read


def _skips(acts: Sequence[Act], row: Row, chart: Chart) -> list[int] | None:
    """The squares of a round that passes over others; None of one that does not."""
    if not any(act.kind == SKIP for act in acts):
        return None
    across = chart.stitch_count
    width = sum(act.count for act in acts if act.kind == SKIP or act.made)
    if width != across:
        raise _other_count(row.round + 1, width, across)
    passed = list(skipped(acts))
    return sorted(width - 1 - square for square in passed) if row.backwards else passed


def _here(
    acts: Sequence[Act],
    places: list[int] | None,
    reach: range,
    round_: int,
    passed: list[int] | None,
) -> list[int]:
    """The squares of a round's stitches, from the first of the chart on."""
    made = sum(act.made for act in acts)
    for squares in (passed, places, list(reach)):
        if squares is not None:
            if made != len(squares):
                raise _other_count(round_, made, len(squares))
            return squares
    return []


def _other_count(round_: int, squares: int, across: int) -> InputError:
    if squares > across:
        return InputError(message("words-more-squares", round=round_, across=across))
    return InputError(message("words-fewer-squares", round=round_, squares=squares, across=across))


def _short_row(
    match: re.Match[str], round_: int, across: int, reach: tuple[int, int] | None
) -> Row | None:
    """The row that a line tells beside its number; None for one worked as usual.

    `reach`: the squares it begins and ends at, where these are told apart from its stitches.
    """
    if match["start"] is None:
        return None
    if match["last"] is not None:
        raise InputError(message("words-short-rows", round=round_))
    start, end = reach or _places(f"{match['start']} {match['end']}", round_, across)
    wrong = match["work"] == "purl"
    back = wrong if start == end else start > end
    return Row(round_ - 1, min(start, end), max(start, end), back, wrong)


def _span(match: re.Match[str], seen: NDArray[np.bool_]) -> tuple[int, int]:
    """First and last of the rounds a line speaks of, from 1; none may be said already."""
    first = int(match["first"])
    last = int(match["last"] or first)
    if not 1 <= first <= last <= len(seen):
        raise InputError(message("words-no-such-rounds", first=first, last=last, rounds=len(seen)))
    earlier = seen[first - 1 : last]
    if earlier.any():
        again = first + int(np.argmax(earlier))
        raise InputError(message("words-round-twice", round=again))
    return first, last


def _caught(
    words: str, names: Mapping[str, int], round_: int, across: int
) -> tuple[int, list[int]]:
    match = _CATCH.fullmatch(words)
    if match is None or match[1] not in names:
        raise InputError(
            message("words-bad-catch", round=round_, words=shown(words), yarn=next(iter(names)))
        )
    return names[match[1]], _places(match[2], round_, across)


def _opening(match: re.Match[str], round_: int, across: int) -> Opening:
    first, last = _places(f"{match[1]} {match[2]}", round_ + 1, across)
    return Opening(round_, first, max(1, last - first + 1))


def _places(words: str, round_: int, across: int) -> list[int]:
    """The stitches named, from 0."""
    places = [int(number[:9]) for number in re.findall(r"\d+", words)]
    wrong = [place for place in places if not 1 <= place <= across]
    if wrong:
        raise InputError(
            message("words-no-such-stitch", round=round_, stitch=wrong[0], across=across)
        )
    return [place - 1 for place in places]
