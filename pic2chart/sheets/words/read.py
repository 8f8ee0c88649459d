"""From words back to the chart: the lines that `write` writes, text or Markdown.

Lines that are none of these are passed over, so a knitter's own remarks do no harm. What names the
words do not carry (a yarn's label, the picture a chart came from) is not there afterwards.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.settings import MAX_SIDE
from pic2chart.model.chart import NO_STITCH, Catch, Chart, Rules
from pic2chart.model.construction import WORKED_IN, Construction, Opening, Shaping
from pic2chart.model.gauge import Gauge
from pic2chart.model.keys import KEYS, clean_title
from pic2chart.model.plain_json import shown
from pic2chart.model.rows import Row
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.words.spoken import called

MAX_LETTERS = 20_000_000
_MOST_LINES = 20 * MAX_SIDE
_LINE_ENDS = "\n\r\v\f\x1c\x1d\x1e\x85\u2028\u2029"
_SPARE = 100

_NUMBER = r"(\d{1,7}(?:\.\d{1,20})?)"
_FACT = re.compile(r"(Size|Worked|Hand|Gauge|Repeat|Rules): (.*)")
_YARN = re.compile(r"([A-L]): (.*), (#[0-9a-f]{6})")
_ROUND = re.compile(
    r"(?:Rounds?|Row) (?P<first>\d{1,4})(?:–(?P<last>\d{1,4}))?"
    r"(?: \((?P<work>knit|purl)(?:, stitches (?P<start>\d{1,4}) to (?P<end>\d{1,4}))?\))?"
    r": (?P<said>.*)\."
)
_COUNT = re.compile(r"[1-9][0-9]{0,3}")
_PART = re.compile(r"\(([^()]*)\) × (\d{1,4})(?:, |$)|([^(),]+)(?:, |$)")
_CATCH = re.compile(r"catch (.+) behind stitch(?:es)? ([\d, and]+)")
_SHAPED = re.compile(r"([a-z0-9-]{3,14}) at stitch(?:es)? ([\d, and]+)")
_OPENING = re.compile(r"waste yarn at stitches (\d{1,4}) to (\d{1,4})")
_SIZE = re.compile(r"(\d{1,4}) stitches × (\d{1,4}) (?:rounds|rows)")
_GAUGE = re.compile(rf"{_NUMBER} stitches × {_NUMBER} (?:rounds|rows) in {_NUMBER} cm")
_RULES = re.compile(
    r"at most (\d) yarns in one(?: round| row)?; floats over (\d{1,4}) stitches: (catch|break); "
    rf"single stitches: (tidy|keep); lightness apart by {_NUMBER} L\*"
)


def read_words(content: str) -> Chart:
    """The chart that the words tell. Raises InputError naming the line that cannot be understood."""
    if len(content) > MAX_LETTERS:
        raise InputError(
            f"The words are longer than {MAX_LETTERS:,} letters; no chart needs so many."
        )
    if sum(map(content.count, _LINE_ENDS)) > _MOST_LINES:
        raise InputError(f"The words have more than {_MOST_LINES:,} lines; no chart needs so many.")
    title, *lines = _lines(content)
    facts = {match[1]: match[2] for line in lines if (match := _FACT.fullmatch(line))}
    yarns = _yarns(lines)
    across, up = map(int, _must(_SIZE, facts, "Size"))
    if not (1 <= across <= MAX_SIDE and 1 <= up <= MAX_SIDE):
        raise InputError(f"The words tell of {across} × {up} squares; a side has 1 to {MAX_SIDE}.")
    flat = facts.get("Worked") == "flat"
    chart = _chart(title, facts, yarns, np.full((up, across), NO_STITCH, np.uint8))
    return _with_rounds(chart, lines, flat)


def _lines(content: str) -> list[str]:
    """The lines without their Markdown; plain text underlines its title."""
    lines = [line.strip() for line in content.splitlines()] or [""]
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
        raise InputError(
            "The words must name every yarn on a line like 'A: oat, #ece2d0', from A on, in order."
        )
    try:
        return tuple(Yarn(match[2], match[3]) for match in found)
    except SettingError as error:
        raise InputError(str(error)) from error


def _chart(title: str, facts: Mapping[str, str], yarns: tuple[Yarn, ...], empty: Any) -> Chart:
    """The chart but for its stitches: one stands in until the rounds are read."""
    empty[0, 0] = 0
    try:
        gauge = Gauge(*map(float, _must(_GAUGE, facts, "Gauge")))
    except SettingError as error:
        raise InputError(str(error)) from error
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
        raise InputError(
            f"The line '{name}:' is {shown(facts.get(name))} and cannot be understood; it must read as "
            "in the words pic2chart writes."
        )
    return match.groups()


@dataclass(frozen=True, slots=True)
class _Beside:
    """What is said beside the stitches."""

    catches: list[Catch] = field(default_factory=list)
    shaped: list[Shaping] = field(default_factory=list)
    openings: list[Opening] = field(default_factory=list)

    def add(self, words: str, r: int, names: Mapping[str, int], across: int) -> None:
        """Take one part of round `r` (from 0) into account."""
        if opened := _OPENING.fullmatch(words):
            self.openings.append(_opening(opened, r, across))
        elif (shape := _SHAPED.fullmatch(words)) and shape[1] in WORKED_IN:
            places = _places(shape[2], r + 1, across)
            self.shaped.extend(Shaping(r, stitch, shape[1]) for stitch in places)
        else:
            yarn, places = _caught(words, names, r + 1, across)
            self.catches.extend(Catch(r, stitch, yarn) for stitch in places)

    def refuse_more(self, most: int, r: int) -> None:
        """Raise InputError when more is said than a chart can hold: short words tell of much."""
        if len(self.catches) + len(self.shaped) + len(self.openings) > most:
            raise InputError(
                f"By round {r + 1} the words tell of more than {most:,} catches, decreases and "
                "openings; the chart has not so many stitches."
            )

    def construction(self) -> Construction:
        """The shaping and openings told."""
        return Construction(tuple(self.shaped) if self.shaped else None, tuple(self.openings))


def _with_rounds(chart: Chart, lines: list[str], flat: bool) -> Chart:
    names = {name: index for index, name in enumerate(called(chart))}
    stitches = np.full(chart.stitches.shape, NO_STITCH, np.uint8)
    seen = np.zeros(chart.round_count, bool)
    beside, rows = _Beside(), list[Row]()
    for match in filter(None, map(_ROUND.fullmatch, lines)):
        first, last = _span(match, seen)
        runs, *parts = match["said"].split("; ")
        row = _row(runs, names, chart.stitch_count, first)
        short = _short_row(match, first, chart.stitch_count)
        rows += [] if short is None else [short]
        back = flat and first % 2 == 0 if short is None else short.backwards
        stitches[first - 1 : last] = row[::-1] if back else row
        seen[first - 1 : last] = True
        for r in range(first - 1, last):
            for part in parts:
                beside.add(part, r, names, chart.stitch_count)
            beside.refuse_more(_SPARE + 2 * stitches.size, r)
    if not seen.all():
        raise InputError(f"Round {int(np.argmin(seen)) + 1} is not told; tell every round.")
    return chart.with_(
        stitches=stitches,
        catches=tuple(beside.catches),
        rows=tuple(rows),
        construction=beside.construction(),
    )


def _short_row(match: re.Match[str], round_: int, across: int) -> Row | None:
    """The row that a line tells beside its number; None for one worked as usual."""
    if match["start"] is None:
        return None
    if match["last"] is not None:
        raise InputError(f"Round {round_}: tell a row that ends early on a line of its own.")
    start, end = _places(f"{match['start']} {match['end']}", round_, across)
    wrong = match["work"] == "purl"
    back = wrong if start == end else start > end
    return Row(round_ - 1, min(start, end), max(start, end), back, wrong)


def _span(match: re.Match[str], seen: NDArray[np.bool_]) -> tuple[int, int]:
    """First and last of the rounds a line speaks of, from 1; none may be said already."""
    first = int(match["first"])
    last = int(match["last"] or first)
    if not 1 <= first <= last <= len(seen):
        raise InputError(f"Round {first} to {last} is told, but there are {len(seen)}.")
    earlier = seen[first - 1 : last]
    if earlier.any():
        raise InputError(
            f"Round {first + int(np.argmax(earlier))} is told twice; tell every round once."
        )
    return first, last


def _row(words: str, names: Mapping[str, int], across: int, round_: int) -> Any:
    """The stitches of a round in the order they are said."""
    runs: list[tuple[int, int]] = []
    total = at = 0
    while at < len(words):
        match = _PART.match(words, at)
        if match is None:
            raise InputError(f"Round {round_}: {shown(words[at:])} cannot be understood.")
        at = match.end()
        unit = [_run(run, names, round_) for run in (match[3] or match[1]).split(", ")]
        times = int(match[2] or 1)
        if not times:
            raise InputError(f"Round {round_}: {shown(match[0])} is no run; work it once or more.")
        total += times * sum(count for count, _ in unit)
        if total > across:
            break
        runs += unit * times
    if total != across:
        raise InputError(
            f"Round {round_} tells of {'more than ' if total > across else ''}{min(total, across)} "
            f"squares; the chart has {across}."
        )
    return np.repeat([yarn for _, yarn in runs], [count for count, _ in runs]).astype(np.uint8)


def _run(words: str, names: Mapping[str, int], round_: int) -> tuple[int, int]:
    first, _, rest = words.partition(" ")
    if first == "skip" and _COUNT.fullmatch(rest):
        return int(rest), NO_STITCH
    if not (_COUNT.fullmatch(first) and rest in names):
        raise InputError(
            f"Round {round_}: {shown(words)} is no run; write a count and a yarn, like '3 "
            f"{next(iter(names))}'."
        )
    return int(first), names[rest]


def _caught(
    words: str, names: Mapping[str, int], round_: int, across: int
) -> tuple[int, list[int]]:
    match = _CATCH.fullmatch(words)
    if match is None or match[1] not in names:
        raise InputError(
            f"Round {round_}: {shown(words)} is no catch; write 'catch "
            f"{next(iter(names))} behind stitch 7'."
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
        raise InputError(f"Round {round_}: there is no stitch {wrong[0]} among the {across}.")
    return [place - 1 for place in places]
