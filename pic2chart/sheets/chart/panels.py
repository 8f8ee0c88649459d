"""Which squares of a chart are printed, and where it is folded: repeats once, else its named places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from pic2chart.model.chart import Chart
from pic2chart.model.folds import Unit, folds_of
from pic2chart.model.wording import round_word
from pic2chart.sheets.chart.tiles import part_of
from pic2chart.sheets.marks.paper import Span

MOST_STRIPS, MOST_UP = 4, 3
"""Parts that a stretch of rounds is cut into side by side, and one above another, at the most."""
_MOST_SAID = 2
"""Rounds between repeats that are put in words and not drawn, at the most."""


@dataclass(frozen=True, slots=True)
class Panel:
    """Squares of a chart that are printed as one grid: rounds and stitches from first to before last.

    `unit`: they are a unit, worked again and again. `name`: of the place that they are. `note`: lines
    on the rounds before them, which are not drawn.
    """

    chart: Chart
    rounds: tuple[int, int]
    stitches: tuple[int, int]
    unit: Unit | None = None
    name: str = ""
    note: tuple[str, ...] = ()

    @property
    def size(self) -> tuple[int, int]:
        """Squares across and up."""
        return self.stitches[1] - self.stitches[0], self.rounds[1] - self.rounds[0]

    @property
    def part(self) -> Chart:
        """The panel's own squares as a chart; a unit's is boxed as the repeat that it is."""
        spans = [Span(first, past, first, past) for first, past in (self.rounds, self.stitches)]
        part = part_of(self.chart, *spans)
        if self.unit is None:
            return part
        return part.with_(repeat=(self.unit.count, self.unit.round + self.unit.rounds))

    @property
    def first(self) -> tuple[int, int]:
        """The round and the stitch that its numbers begin with, from 0; a unit's stitches are its own."""
        return self.rounds[0], 0 if self.unit is not None else self.stitches[0]

    @property
    def whole(self) -> bool:
        """Whether it is all of its chart, printed once."""
        chart = self.chart
        return self.unit is None and self.size == (chart.stitch_count, chart.round_count)

    def caption(self) -> str:
        """'Rounds 26–51: work this repeat 6 times'; 'BACK: stitches 1–27'; nothing of a whole chart."""
        if self.whole or not self.size[1]:
            return ""
        (low, high), (first, past) = self.rounds, self.stitches
        word = round_word(self.chart, high - low).capitalize()
        which = f"{word} {low + 1}–{high}" if high > low + 1 else f"{word} {high}"
        if self.unit is None:
            if past - first == self.chart.stitch_count:
                return which
            where = f"stitches {first + 1}–{past}"
            return f"{self.name.upper()}: {where}" if self.name else f"{which}, {where}"
        count, times = self.unit.count, self.unit.times
        these = f"these {count} stitches" if self.part.live.all() else "this repeat"
        again = f"{which}: work {these} {times} times" if times > 1 else which
        return again if self.unit.up == 1 else f"{again}; work the rounds {self.unit.up} times"

    def figures(self) -> str:
        """The same in numbers and signs: rounds, then stitches or how often."""
        (low, high), (first, past) = self.rounds, self.stitches
        if self.whole or not self.size[1]:
            return ""
        rounds = f"{low + 1}–{high}"
        if self.unit is None:
            return f"{rounds}   ·   {first + 1}–{past}"
        up = f" × {self.unit.up}" if self.unit.up > 1 else ""
        return f"{rounds}{up}   ·   {self.unit.count} × {self.unit.times}"

    def before(self, *, words: bool) -> tuple[str, ...]:
        """What is said of the rounds before: the pattern's lines, or their stitches before and after."""
        if words or not self.note:
            return self.note
        counts = self.chart.live.sum(axis=1)
        past = self.rounds[0]
        first = past - len(self.note)
        return tuple(f"{r + 1}: {counts[max(0, r - 1)]} > {counts[r]}" for r in range(first, past))


def foldings(chart: Chart) -> list[tuple[Panel, ...]]:
    """The ways in which a chart may be printed, the least folded first.

    Every way prints a unit once. What is no unit is printed whole, cut at its named places, or cut into
    even parts, which are cut across too where that does not do.
    """
    bands = _bands(chart)
    ways = [tuple(bands)]
    if all(band.unit is not None for band in bands):
        return ways
    if places := _places(chart):
        ways.append(_cut(bands, places, 1))
    for up in range(1, MOST_UP + 1):
        for pieces in range(1 + (up == 1), MOST_STRIPS + 1):
            cuts = _evenly(0, chart.stitch_count, pieces)
            ways.append(_cut(bands, [(a, b, "") for a, b in cuts], up))
    return ways


def _evenly(first: int, past: int, pieces: int) -> list[tuple[int, int]]:
    """Even parts of a stretch, cut at tens where it is long."""
    step = 10 if past - first >= 30 * pieces else 1
    stops = [step * round((first + (past - first) * i / pieces) / step) for i in range(pieces)]
    return list(pairwise([first, *stops[1:], past]))


def _places(chart: Chart) -> list[tuple[int, int, str]]:
    """The named places and what lies between them, when they part the round into no more than strips."""
    stops = [0, chart.stitch_count]
    names: dict[tuple[int, int], str] = {}
    for place in chart.construction.places:
        first, past = max(0, place.stitch), min(place.past, chart.stitch_count)
        if first < past:
            stops += [first, past]
            names[first, past] = place.name
    parts = [(a, b, names.get((a, b), "")) for a, b in pairwise(sorted(set(stops)))]
    return parts if 1 < len(parts) <= MOST_STRIPS else []


def _cut(
    bands: Sequence[Panel], parts: Sequence[tuple[int, int, str]], up: int
) -> tuple[Panel, ...]:
    """The bands that are no unit cut into parts, and `up` parts of their rounds; those without a stitch
    are left out.
    """
    found: list[Panel] = []
    for band in bands:
        if band.unit is not None or not band.size[1]:
            found.append(band)
            continue
        note, live = band.note, band.chart.live
        for rounds in _evenly(*band.rounds, up if band.size[1] >= 10 * up else 1):
            for a, b, name in parts:
                if not live[rounds[0] : rounds[1], a:b].any():
                    continue
                found.append(replace(band, rounds=rounds, stitches=(a, b), name=name, note=note))
                note = ()
    return tuple(found)


def _bands(chart: Chart) -> list[Panel]:
    """The units and the rounds between them, from the first round up."""
    bands: list[Panel] = []
    note: tuple[str, ...] = ()
    done, across = 0, (0, chart.stitch_count)
    for unit in folds_of(chart):
        if done < unit.round:
            note = _said(chart, done, unit.round)
            bands += [] if note else [Panel(chart, (done, unit.round), across)]
        rounds = (unit.round, unit.round + unit.rounds)
        stitches = (unit.stitch, unit.stitch + unit.count)
        bands.append(Panel(chart, rounds, stitches, unit, note=note))
        note, done = (), unit.past
    if done < chart.round_count:
        last = _said(chart, done, chart.round_count)
        if last and bands:
            end = chart.round_count
            bands.append(Panel(chart, (end, end), across, note=last))
        else:
            bands.append(Panel(chart, (done, chart.round_count), across))
    return bands


def _said(chart: Chart, first: int, past: int) -> tuple[str, ...]:
    """The pattern's own lines on a few rounds; none unless each has one."""
    if past - first > _MOST_SAID:
        return ()
    found = [_line(chart, r + 1) for r in range(first, past)]
    return tuple(filter(None, found)) if all(found) else ()


def _line(chart: Chart, number: int) -> str:
    """The pattern's line on a round, counted from 1."""
    begins = (f"Round {number}:", f"Round {number} ")
    lines = (line for section in chart.construction.steps for line in section.lines)
    return next((line for line in lines if line.startswith(begins)), "")
