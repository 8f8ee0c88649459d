"""The strand sheet: a page for each round that shows the way of every yarn, for teaching."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from pic2chart.chart import Chart
from pic2chart.draw.fabric_back import Strand, strands_of
from pic2chart.draw.hands import hand_panel
from pic2chart.draw.look import Look
from pic2chart.draw.page import Boxes, Label, Mark, Point, Sheet, Style, clean, fit, wrap
from pic2chart.draw.paper import EDGE, page_size
from pic2chart.draw.strand_steps import CATCHING, Step, spreading, steps_of
from pic2chart.draw.strand_views import Strip, lane_names, strip_marks
from pic2chart.errors import SettingError
from pic2chart.rules.measure import yarns_per_round
from pic2chart.rules.wording import round_word
from pic2chart.strands import Strands

MOST_ROUNDS = 40
_STITCH = 5.6
_WIDEST = 7.2
_FOOT = 6.0
_LEFT, _RIGHT = 15.0, 20.0
_KIND = 3.0
_COLUMNS, _BETWEEN = 3, 5.0


def strand_sheets(
    chart: Chart, plan: Strands, rounds: Sequence[int], paper: str, look: Look
) -> tuple[Sheet, ...]:
    """One page (more for a long round) for each of `rounds`, which count from 0.

    Raises SettingError on a round that is not there, or more than 40 rounds.
    """
    if len(rounds) > MOST_ROUNDS:
        raise SettingError(
            f"{len(rounds)} rounds are asked for; a strand sheet shows {MOST_ROUNDS} at the most."
        )
    strands = strands_of(chart, plan)
    sheets: list[Sheet] = []
    for r in rounds:
        if not 0 <= r < chart.round_count:
            raise SettingError(
                f"Round {r + 1} is asked for, but the chart has rounds 1 to {chart.round_count}."
            )
        sheets += _round_sheets(chart, plan, r, strands, paper, look)
    return tuple(sheets)


def rounds_to_teach(chart: Chart) -> tuple[int, ...]:
    """Two telling rounds: the first of two yarns with a catch, and the one of most changes."""
    several = np.flatnonzero(yarns_per_round(chart.stitches, len(chart.yarns)).sum(axis=1) > 1)
    if not len(several):
        return (0,)
    caught = {c.round for c in chart.catches}
    first = next((int(r) for r in several if int(r) in caught), int(several[0]))
    changes = (chart.stitches[:, 1:] != chart.stitches[:, :-1]).sum(axis=1)
    most = int(several[int(changes[several].argmax())])
    return tuple(sorted({first, most}))


def _round_sheets(
    chart: Chart, plan: Strands, r: int, strands: Sequence[Strand], paper: str, look: Look
) -> list[Sheet]:
    size = page_size(paper, on_side=False)
    order = plan.rounds[r].order
    page = _Pages(chart, r, size, look)
    page.head(order)
    if len(order) > 1:
        panel, page.y = hand_panel(chart, plan, order, (EDGE, page.y), size[0] - 2 * EDGE, look)
        page.marks += panel
        page.y += 4
    for strip in _strips(chart, r, order, size, look):
        page.strip(strip, strands)
    if look.words:
        page.steps(steps_of(chart, r, order), order)
    return page.done()


def _strips(
    chart: Chart, r: int, order: tuple[int, ...], size: tuple[float, float], look: Look
) -> list[Strip]:
    """The round cut into even strips, in the order they are worked."""
    large = min(look.scale, 1.4)
    room = size[0] - 2 * EDGE - (_LEFT + _RIGHT) * look.scale
    count = chart.stitch_count
    pieces = -(-count // int(room // (_STITCH * large)))
    cuts = [round(count * i / pieces) for i in range(pieces + 1)]
    width = min(room / max(past - first for first, past in pairwise(cuts)), _WIDEST * large)
    stitch = (width, width * chart.gauge.aspect)
    left = EDGE + _LEFT * look.scale
    strips = [
        Strip(chart, r, first, past, left, 0.0, stitch, order, look.scale)
        for first, past in pairwise(cuts)
    ]
    backwards = not chart.in_round and r % 2 == 1
    return strips[::-1] if backwards else strips


class _Pages:
    """Fills pages from the top down and starts a new one when the next part has no room."""

    def __init__(self, chart: Chart, r: int, size: tuple[float, float], look: Look) -> None:
        self.chart, self.r, self.size, self.look = chart, r, size, look
        self.sheets: list[Sheet] = []
        self.marks: list[Mark] = []
        self.y = EDGE
        self.word = round_word(chart, 1).capitalize()

    @property
    def room(self) -> float:
        return self.size[1] - EDGE - _FOOT - self.y

    def done(self) -> list[Sheet]:
        """The pages, the last one closed."""
        self._close()
        return self.sheets

    def _close(self) -> None:
        words = f"Strands of {self.word.lower()} {self.r + 1}: front, from above and back."
        self.sheets.append(Sheet(*self.size, clean(self.chart.title), words, tuple(self.marks)))
        self.marks, self.y = [], EDGE

    def need(self, height: float) -> None:
        """Start a new page unless `height` mm are left."""
        if self.room < height and self.marks:
            self._close()
            title = f"{self.word} {self.r + 1}, continued"
            self.y += 5 * self.look.scale
            self.marks.append(Label((EDGE, self.y), title, 4 * self.look.scale, bold=True))
            self.y += 3

    def head(self, order: tuple[int, ...]) -> None:
        """Title and how the round is worked."""
        scale, width = self.look.scale, self.size[0] - 2 * EDGE
        title = fit(f"{self.word} {self.r + 1} · {clean(self.chart.title)}", 6 * scale, width)
        self.y += 5 * scale
        self.marks.append(Label((EDGE, self.y), title, 6 * scale, bold=True, name="title"))
        self.y += 2
        if self.look.words:
            for line in self._told(order):
                self.text(line, _KIND * scale)
        self.y += 3

    def _told(self, order: tuple[int, ...]) -> list[str]:
        chart = self.chart
        if len(order) < 2:
            return ["One yarn: nothing runs behind the stitches."]
        names = [chart.yarns[y].name for y in order]
        start, end = ("right", "left") if chart.hand == "right" else ("left", "right")
        wrong = not chart.in_round and self.r % 2 == 1
        if wrong:
            start, end = end, start
        way = (
            f"Wrong-side row, purled from {start} to {end} on the chart; the strands lie on the side "
            "that faces you. The views show the right side towards you."
            if wrong
            else f"Worked from {start} to {end}."
        )
        middle = f" Between: {names[1]}." if len(names) == 3 else ""
        return [
            f"{way} Under: {names[0]}. Over: {names[-1]}.{middle}",
            "Front: the side you look at. Above: you look down on the needle; the stitches sit on "
            "it and the strands run behind, each yarn in its own lane; a red ring is a catch. Back: "
            "seen as if through glass; turned over, left and right change places.",
        ]

    def text(self, words: str, size: float, left: float = EDGE) -> None:
        """Sentences, wrapped."""
        for line in wrap(clean(words), size, self.size[0] - EDGE - left):
            self.y += 1.4 * size
            self.marks.append(Label((left, self.y), line, size, name="told"))

    def strip(self, strip: Strip, strands: Sequence[Strand]) -> None:
        """The three views of a strip."""
        self.need(strip.bottom - strip.top + 3)
        placed = replace(strip, top=self.y)
        self.marks += strip_marks(placed, strands, self.look.words)
        if self.look.words and len(strip.order) > 1:
            names = [self.chart.yarns[y].name for y in strip.order]
            lanes = ["under", *["between"] * (len(names) - 2), "over"]
            told = [
                fit(
                    f"{name}: {lane}" if len(name) < 9 else lane,
                    2.6 * strip.scale,
                    _RIGHT * strip.scale - 3,
                )
                for name, lane in zip(names, lanes, strict=True)
            ]
            self.marks += lane_names(placed, told)
        self.y = placed.bottom + 3

    def steps(self, steps: Sequence[Step], order: tuple[int, ...]) -> None:
        """The numbered steps in columns, on one page if they fit one, then how to catch."""
        size = _KIND * self.look.scale
        width = (self.size[0] - 2 * EDGE - (_COLUMNS - 1) * _BETWEEN) / _COLUMNS
        blocks = [self._step(number, step, size, width) for number, step in enumerate(steps, 1)]
        last = [spreading(self.chart.hand)] if len(order) > 1 else []
        if any(c.round == self.r for c in self.chart.catches):
            last.insert(0, CATCHING)
        tall = max(sum(b.height for b in column) for column in _columns(blocks, _COLUMNS))
        lines = sum(len(wrap(clean(words), size, self.size[0] - 2 * EDGE)) for words in last)
        self.need(min(tall + (2.2 + 1.4 * lines) * size, 0.8 * self.size[1]))
        self.y += 1.2 * size
        self.marks.append(Label((EDGE, self.y), "Step by step", 1.15 * size, bold=True))
        self.y += 0.6 * size
        while blocks:
            blocks = self._fill(blocks, width)
        for words in last:
            self.need(4 * size)
            self.text(words, size)

    def _fill(self, blocks: list[_Block], width: float) -> list[_Block]:
        """Put as many steps as fit the page into columns; the others come back for the next."""
        columns = _columns(blocks, _COLUMNS)
        while (
            max(sum(b.height for b in column) for column in columns) > self.room and len(blocks) > 1
        ):
            kept = sum(map(len, columns)) - 1
            columns = _columns(blocks[:kept], _COLUMNS)
            if kept == 1:
                break
        top = self.y
        for place, column in enumerate(columns):
            y = top
            for block in column:
                self.marks += block.at(EDGE + place * (width + _BETWEEN), y)
                y += block.height
            self.y = max(self.y, y)
        rest = blocks[sum(map(len, columns)) :]
        if rest:
            self.need(self.size[1])
        return rest

    def _step(self, number: int, step: Step, size: float, width: float) -> _Block:
        text = clean(f"{number}.  {step.stitches}: {step.words}")
        colour = self.chart.yarns[step.yarn].colour
        return _Block(tuple(wrap(text, size, width - 4.6)), colour, size)


@dataclass(frozen=True, slots=True)
class _Block:
    """A step on the page: its lines and the colour of its yarn."""

    lines: tuple[str, ...]
    colour: str
    size: float

    @property
    def height(self) -> float:
        return 1.4 * self.size * len(self.lines) + 0.8

    def at(self, left: float, top: float) -> list[Mark]:
        """The marks with the block's corner at that place."""
        swatch = (left, top + 0.5 * self.size, 3.0, self.size)
        style = Style(fill=self.colour, stroke="#444444", width=0.15)
        marks: list[Mark] = [Boxes((swatch,), style, "step")]
        for row, line in enumerate(self.lines):
            at: Point = (left + 4.6, top + 1.4 * self.size * (row + 1))
            marks.append(Label(at, line, self.size, name="step"))
        return marks


def _columns(blocks: Sequence[_Block], count: int) -> list[list[_Block]]:
    """The blocks one below the other in columns of about the same number."""
    each = -(-len(blocks) // count)
    return [list(blocks[i * each : (i + 1) * each]) for i in range(count)]
