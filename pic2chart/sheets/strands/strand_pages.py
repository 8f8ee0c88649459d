"""The pages of a strand sheet: the table of its steps, and all parts set from the top down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pic2chart.checks.cautions import cautions
from pic2chart.model.chart import Chart
from pic2chart.model.wording import round_word
from pic2chart.sheets.fabric.back import Strand
from pic2chart.sheets.marks.page import (
    Boxes,
    Label,
    Mark,
    Sheet,
    Style,
    clean,
    fit,
    text_width,
    wrap,
)
from pic2chart.sheets.marks.paper import EDGE
from pic2chart.sheets.sheet_settings import SheetLook
from pic2chart.sheets.strands.catch_pictures import catch_pictures, picture_height
from pic2chart.sheets.strands.hands import GAP
from pic2chart.sheets.strands.strip import RIGHT, Strip, lane_names, strip_marks
from pic2chart.stranding.steps import Step, spreading
from pic2chart.stranding.ways import Way, caught_alike

# The steps of a strand sheet set as a table: number, colour, stitches and words, in columns.


@dataclass(frozen=True, slots=True)
class Block:
    """A step on the page: number, stitches, lines of words, and the colour of its yarn.

    `room`: width of the column of stitches, mm.
    """

    number: str
    stitches: str
    lines: tuple[str, ...]
    colour: str
    size: float
    room: float

    @property
    def height(self) -> float:
        return 1.4 * self.size * len(self.lines) + 0.8

    def at(self, left: float, top: float) -> list[Mark]:
        """The marks with the block's corner at that place."""
        size, base = self.size, top + 1.4 * self.size
        swatch = (left + 1.9 * size, top + 0.5 * size, 3.0, size)
        words = left + _indent(size) + self.room
        return [
            Label((left + 1.5 * size, base), self.number, size, "end", colour="#5a5a5a"),
            Boxes((swatch,), Style(fill=self.colour, stroke="#444444", width=0.15), "step"),
            Label((left + _indent(size), base), self.stitches, size, bold=True, name="step-at"),
            *(
                Label((words, base + 1.4 * size * row), line, size, name="step")
                for row, line in enumerate(self.lines)
            ),
        ]


def _indent(size: float) -> float:
    """Room for a step's number and the swatch of its yarn, mm."""
    return 1.9 * size + 4.2


def block_of(
    chart: Chart, number: int, step: Step, size: float, room: float, width: float
) -> Block:
    """A step in type of that size, in a column of that width with `room` for the stitches, mm."""
    lines = wrap(clean(step.words), size, width - room - _indent(size))
    colour = chart.yarns[step.yarn].colour
    return Block(f"{number}", step.stitches, tuple(lines), colour, size, room)


def columns(blocks: Sequence[Block], count: int) -> list[list[Block]]:
    """The blocks one below the other in columns of about the same number."""
    each = -(-len(blocks) // count)
    return [list(blocks[i * each : (i + 1) * each]) for i in range(count)]


def tallest(shared: Sequence[Sequence[Block]]) -> float:
    """The height of the tallest column, mm."""
    return max(sum(block.height for block in column) for column in shared)


# The pages of a strand sheet, filled from the top down: heading, strips, steps, how to catch.

_FOOT = 6.0
_TYPE_MM, _CATCH_TYPE_MM = 3.0, 2.6
_COLUMNS, _BETWEEN = (2, 3), 5.0


class Pages:
    """Fills pages from the top down and starts a new one when the next part has no room."""

    def __init__(self, chart: Chart, r: int, size: tuple[float, float], look: SheetLook) -> None:
        self.chart, self.r, self.size, self.look = chart, r, size, look
        self.sheets: list[Sheet] = []
        self.marks: list[Mark] = []
        self.y, self.left = EDGE, 0.0
        self.word = round_word(chart, 1).capitalize()

    @property
    def room(self) -> float:
        return self.size[1] - EDGE - _FOOT - self.y

    def done(self) -> list[Sheet]:
        """The pages, the last one closed; `left` is then what is left of it, mm."""
        self.left = self.room
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
            title = f"{self.word} {self.r + 1}, continued" if self.look.words else f"{self.r + 1} …"
            self.y += 5 * self.look.scale
            self.marks.append(Label((EDGE, self.y), title, 4 * self.look.scale, bold=True))
            self.y += 3

    def head(self, order: tuple[int, ...], part: str) -> None:
        """Title and how the round is worked; `part` says that not all of it is shown."""
        scale, width = self.look.scale, self.size[0] - 2 * EDGE
        which = f"{self.word} {self.r + 1}" if self.look.words else f"{self.r + 1}"
        title = fit(f"{which} · {clean(self.chart.title)}", 6 * scale, width, bold=True)
        self.y += 5 * scale
        self.marks.append(Label((EDGE, self.y), title, 6 * scale, bold=True, name="title"))
        self.y += 2
        if self.look.words:
            for line in filter(None, (*self._description(order), part)):
                self.text(line, _TYPE_MM * scale)
        self.y += 3

    def _description(self, order: tuple[int, ...]) -> list[str]:
        chart = self.chart
        if len(order) < 2:
            return ["One yarn: nothing runs behind the stitches."]
        names = [chart.yarns[y].name for y in order]
        row = chart.row(self.r)
        start, _, end = row.direction(chart.hand).split("-")
        way = (
            f"Wrong-side row, purled from {start} to {end} on the chart; the strands lie on the side "
            "that faces you. The views show the right side towards you."
            if row.wrong_side
            else f"Worked from {start} to {end}."
        )
        laddered = any(rung.round == self.r for rung in chart.rungs)
        ladder = " A loop behind the needle is a ladder stitch." if laddered else ""
        middle = f" Between: {names[1]}." if len(names) == 3 else ""
        return [
            f"{way} Under: {names[0]}. Over: {names[-1]}.{middle}",
            "Front: the side you look at. Above: you look down on the needle, and the stitches sit on "
            "it; behind them each yarn has its lane and comes down to the needle where it is worked. "
            f"A ring is a catch: the working yarn goes round the floating one.{ladder} Back: as if the fabric "
            "were glass; turned over, left and right change places.",
        ]

    def text(self, words: str, size: float, colour: str = "#1c1c1c") -> None:
        """Sentences, wrapped."""
        for line in wrap(clean(words), size, self.size[0] - 2 * EDGE):
            self.y += 1.4 * size
            self.marks.append(Label((EDGE, self.y), line, size, colour=colour, name="note"))

    def strip(self, strip: Strip, strands: Sequence[Strand]) -> None:
        """The three views of a strip."""
        self.need(strip.bottom - strip.top + 3)
        placed = replace(strip, top=self.y)
        self.marks += strip_marks(placed, strands, self.look.words)
        if self.look.words and len(strip.order) > 1:
            names = [self.chart.yarns[y].name for y in strip.order]
            lanes = ["under", *["between"] * (len(names) - 2), "over"]
            size, room = 2.6 * strip.scale, RIGHT * strip.scale - 3
            whole = [f"{name}: {lane}" for name, lane in zip(names, lanes, strict=True)]
            named = all(text_width(line, size) <= room for line in whole)
            self.marks += lane_names(placed, whole if named else lanes)
        self.y = placed.bottom + 3

    def steps(self, steps: Sequence[Step]) -> None:
        """The numbered steps in two or three columns, on one page if they fit one."""
        if not steps:
            return
        size = _TYPE_MM * self.look.scale
        ways = [self._blocks(steps, count, size) for count in _COLUMNS]
        blocks, count = min(ways, key=lambda way: tallest(columns(*way)))
        self.need(min(tallest(columns(blocks, count)) + 5 * size, 0.8 * self.size[1]))
        self.heading("Step by step")
        self.text(
            "In bold the stitches; then how many of which yarn, and where it is picked up.", size
        )
        self.y += 0.4 * size
        while blocks:
            blocks = self._fill(blocks, count)

    def _blocks(self, steps: Sequence[Step], count: int, size: float) -> tuple[list[Block], int]:
        """The steps as blocks for so many columns."""
        width = self._column(count)
        room = max(text_width(step.stitches, size, bold=True) for step in steps) + 1.5
        return [
            block_of(self.chart, n, step, size, room, width) for n, step in enumerate(steps, 1)
        ], count

    def _column(self, count: int) -> float:
        return (self.size[0] - 2 * EDGE - (count - 1) * _BETWEEN) / count

    def catching(self, ways: Sequence[Way], yarns: tuple[tuple[int, ...], tuple[int, ...]]) -> None:
        """How either yarn is caught in each way of holding: pictures, and below them the words.

        `yarns`: those held as the under and as the over yarn.
        """
        scale, words = self.look.scale, self.look.words
        size, shown = _CATCH_TYPE_MM * scale, caught_alike(ways)
        width = (self.size[0] - 2 * EDGE - (len(shown) - 1) * GAP) / len(shown)
        if words:
            self.y += size
            self.need(8 * size + picture_height(width) + 4 * 1.4 * size)
            self.heading("Catching either yarn, whichever way you hold them")
            self.y += 1.6 * size
            for place, (title, _) in enumerate(shown):
                text = fit(title, size, width, bold=True)
                at = (EDGE + place * (width + GAP), self.y)
                self.marks.append(Label(at, text, size, bold=True, name="catch title"))
            self.y += 1.2
        for under in (True, False):
            caught, knitted = yarns if under else yarns[::-1]
            colours = (self.chart.yarns[caught[0]].colour, self.chart.yarns[knitted[0]].colour)
            self._catches([way for _, way in shown], under, colours, width, size)

    def _catches(
        self,
        ways: Sequence[Way],
        under: bool,
        colours: tuple[str, str],
        width: float,
        size: float,
    ) -> None:
        """A line of pictures and words, one way beside the other."""
        texts = [way.catch_under if under else way.catch_over for way in ways]
        lines = [wrap(clean(text), size, width) if self.look.words else [] for text in texts]
        tall = picture_height(width)
        height = tall + 1.4 * size * max(map(len, lines)) + 3.0
        self.need(height)
        for place, way in enumerate(ways):
            left = EDGE + place * (width + GAP)
            self.marks += catch_pictures(
                way.holding,
                under=under,
                colours=colours,
                at=(left, self.y),
                wide=width,
                hand=self.chart.hand,
            )
            for row, line in enumerate(lines[place], 1):
                foot = self.y + tall + 1.4 * size * row
                self.marks.append(Label((left, foot), line, size, name="catch words"))
        self.y += height

    def ends(self, order: tuple[int, ...], *, care: bool = True) -> None:
        """How to keep strands long enough, and with `care` the cautions."""
        size = _TYPE_MM * self.look.scale
        lines = [spreading(self.chart.hand)] if len(order) > 1 else []
        cautious = " ".join(cautions(self.chart)) if care else ""
        height = sum(self._height(words, size) + 0.25 * size for words in lines)
        self.need(height + 2 * size + self._height(cautious, 0.9 * size))
        self.y += 0.8 * size
        for words in lines:
            self.text(words, size)
            self.y += 0.25 * size
        self.text(cautious, 0.9 * size, colour="#444444")

    def _height(self, words: str, size: float) -> float:
        return 1.4 * size * len(wrap(clean(words), size, self.size[0] - 2 * EDGE))

    def heading(self, words: str) -> None:
        """A heading over what follows."""
        size = _TYPE_MM * self.look.scale
        self.y += 1.5 * size
        self.marks.append(Label((EDGE, self.y), words, 1.15 * size, bold=True, name="heading"))
        self.y += 0.4 * size

    def _fill(self, blocks: list[Block], count: int) -> list[Block]:
        """Put as many steps as fit the page into columns; the others come back for the next."""
        width = self._column(count)
        kept = next(
            n
            for n in range(len(blocks), 0, -1)
            if n == 1 or tallest(columns(blocks[:n], count)) <= self.room
        )
        shared = columns(blocks[:kept], count)
        top = self.y
        for place, column in enumerate(shared):
            y = top
            for step in column:
                self.marks += step.at(EDGE + place * (width + _BETWEEN), y)
                y += step.height
            self.y = max(self.y, y)
        rest = blocks[kept:]
        if rest:
            self.need(self.size[1])
        return rest
