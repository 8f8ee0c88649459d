"""The words on paper: a chart's rounds, and the written pattern of a garment."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from pic2chart.model.chart import Chart
from pic2chart.sheets.marks.page import (
    Boxes,
    Label,
    Lines,
    Mark,
    Rect,
    Sheet,
    Style,
    clean,
    fit,
    text_width,
    wrap,
)
from pic2chart.sheets.marks.paper import EDGE, page_size
from pic2chart.sheets.sheet_settings import SheetLook
from pic2chart.sheets.words.spoken import Spoken, called, label, sentence, speak
from pic2chart.sheets.words.write import how_to_read

# The words on paper: a line or more for each round, its number in bold.
#
# A small box for every round stands at the end of its line, to be ticked off.

_TYPE_MM = 3.1
_FOOT = 6.0
_TIGHT = 0.9
"""Scale of the type where that saves a page."""
_TICKS, _MOST_TICKS = 6, 60
"""Boxes in a line, and for rounds said together; of more rounds than that there is one."""
_BLACK, _GREY = "#1c1c1c", "#5a5a5a"
_BOX = Style(stroke="#5a5a5a", width=0.2)


@dataclass(frozen=True, slots=True)
class _Entry:
    """One round, or several alike: label, lines with their colour, and boxes to tick."""

    label: str
    lines: tuple[tuple[str, str], ...]
    ticks: int

    def height(self, size: float) -> float:
        """The room it takes, in type of that size."""
        return 1.4 * size * max(len(self.lines), -(-self.ticks // _TICKS)) + 0.35 * size


def words_pages(
    chart: Chart,
    paper: str,
    look: SheetLook,
    notes: Iterable[str] = (),
    changes: Mapping[int, Sequence[str]] = MappingProxyType({}),
    increases: str = "loop",
) -> tuple[Sheet, ...]:
    """As many pages as the words need.

    `notes` are further sentences for the first page, `changes` what is to be known in a round (from
    0).
    """
    sentences = [*how_to_read(chart, increases), *notes]
    spoken = [(s, _beside(s, changes)) for s in speak(chart)]
    sheets = _laid(chart, paper, look, sentences, spoken)
    if len(sheets) > 1:
        tight = replace(look, scale=_TIGHT * look.scale)
        sheets = min(sheets, _laid(chart, paper, tight, sentences, spoken), key=len)
    return sheets


def _beside(spoken: Spoken, changes: Mapping[int, Sequence[str]]) -> str:
    """What is to be known in the rounds that are said together."""
    rounds = range(spoken.first, spoken.last + 1)
    return " ".join(words for r in rounds for words in changes.get(r, ()))


def _laid(
    chart: Chart,
    paper: str,
    look: SheetLook,
    sentences: Sequence[str],
    spoken: Sequence[tuple[Spoken, str]],
) -> tuple[Sheet, ...]:
    """The pages in type of the look's scale."""
    size = page_size(paper, on_side=False)
    type_mm = _TYPE_MM * look.scale
    width = size[0] - 2 * EDGE
    side = max(text_width(label(s, chart), type_mm, bold=True) for s, _ in spoken) + 2.5
    sheets: list[Sheet] = []
    marks, y = _head(chart, look, width)
    for line, gap in _sentences(sentences, 2.9 * look.scale, width):
        if y + 1.4 * 2.9 * look.scale > size[1] - EDGE - _FOOT:
            sheets.append(_sheet(chart, size, marks))
            marks, y = _again(chart, look, width)
        y += 1.4 * 2.9 * look.scale
        marks.append(Label((EDGE, y), line, 2.9 * look.scale, colour="#444444", name="note"))
        y += gap
    y += 3
    for s, beside in spoken:
        entry = _entry(chart, s, beside, type_mm, width - side)
        tall = entry.height(type_mm)
        if y + tall > size[1] - EDGE - _FOOT:
            sheets.append(_sheet(chart, size, marks))
            marks, y = _again(chart, look, width)
        marks += _entry_marks(entry, y, type_mm, side, width)
        y += tall
    return (*sheets, _sheet(chart, size, marks))


def _sheet(chart: Chart, size: tuple[float, float], marks: list[Mark]) -> Sheet:
    return Sheet(*size, clean(chart.title), "The chart in words.", tuple(marks))


def _ticks(count: int, right: float, top: float, size: float) -> tuple[Rect, ...]:
    """Boxes that end at `right`, in lines."""
    across = min(count, _TICKS)
    left = right - 1.3 * size * across + 0.4 * size
    return tuple(
        (
            left + n % _TICKS * 1.3 * size,
            top + 0.3 * size + n // _TICKS * 1.4 * size,
            0.9 * size,
            0.9 * size,
        )
        for n in range(count)
    )


def _head(chart: Chart, look: SheetLook, width: float) -> tuple[list[Mark], float]:
    """The title, and where it ends."""
    size = 6 * min(look.scale, 1.4)
    title = fit(f"{clean(chart.title)} · in words", size, width, bold=True)
    y = EDGE + 5 * look.scale
    return [Label((EDGE, y), title, size, bold=True, name="title")], y + 1.5


def _sentences(sentences: Iterable[str], size: float, width: float) -> Iterator[tuple[str, float]]:
    """The lines of each sentence, and the gap below each."""
    for words in sentences:
        lines = wrap(clean(words), size, width)
        for row, line in enumerate(lines, 1):
            yield line, 0.6 if row == len(lines) else 0.0


def _again(chart: Chart, look: SheetLook, width: float) -> tuple[list[Mark], float]:
    """The head of a further page."""
    size = 3.6 * look.scale
    text = fit(f"{clean(chart.title)} · in words, continued", size, width, bold=True)
    return [Label((EDGE, EDGE + size), text, size, bold=True, name="title")], EDGE + 2 * size


def _entry(chart: Chart, s: Spoken, beside: str, size: float, width: float) -> _Entry:
    names = called(chart)
    count = s.last - s.first + 1
    ticks = count if count <= _MOST_TICKS else 1
    width -= 1.3 * size * min(ticks, _TICKS) + size
    lines = [(line, _BLACK) for line in wrap(clean(sentence(s, names)), size, width)]
    lines += [(line, _GREY) for line in wrap(clean(beside), size, width)]
    return _Entry(label(s, chart), tuple(lines), ticks)


def _entry_marks(entry: _Entry, top: float, size: float, side: float, width: float) -> list[Mark]:
    base = top + 1.1 * size
    rule = Lines((((EDGE, top), (EDGE + width, top)),), Style(stroke="#d9d9d9", width=0.12), "rule")
    marks: list[Mark] = [rule, Label((EDGE, base), entry.label, size, bold=True, name="round")]
    marks.append(Boxes(_ticks(entry.ticks, EDGE + width, top, size), _BOX, "tick"))
    for row, (line, colour) in enumerate(entry.lines):
        at = (EDGE + side, base + 1.4 * size * row)
        marks.append(Label(at, line, size, colour=colour, name="words"))
    return marks


# The written pattern of a garment on paper: headings and their lines.

_PATTERN_TYPE_MM = 3.1
_PATTERN_FOOT = 6.0
_TOGETHER = 8
"""Rows of a line that stay on one page."""


def pattern_pages(chart: Chart, paper: str, look: SheetLook) -> tuple[Sheet, ...]:
    """As many pages as the pattern needs, none when the chart carries none.

    A heading never stands alone at the foot of a page.
    """
    sections = chart.construction.steps
    if not sections:
        return ()
    page = _Page(chart, page_size(paper, on_side=False), look)
    for heading, lines in sections:
        page.put(heading, lines)
    return page.done()


class _Page:
    """Fills pages from the top down."""

    def __init__(self, chart: Chart, size: tuple[float, float], look: SheetLook) -> None:
        self.title, self.size, self.type_mm = (
            clean(chart.title),
            size,
            _PATTERN_TYPE_MM * look.scale,
        )
        self.sheets: list[Sheet] = []
        self.marks: list[Mark] = []
        self.y = EDGE
        self._head(f"{self.title} · pattern", 6 * min(look.scale, 1.4))

    def _head(self, text: str, size: float) -> None:
        self.y += 0.85 * size
        shown = fit(text, size, self.size[0] - 2 * EDGE, bold=True)
        self.marks.append(Label((EDGE, self.y), shown, size, bold=True, name="title"))

    def put(self, heading: str, lines: Iterable[str]) -> None:
        """A heading and its lines."""
        wrapped = [self._wrapped(line) for line in lines]
        first = min(len(wrapped[0]), _TOGETHER) if wrapped else 0
        self._need(2.6 * self.type_mm + 1.4 * self.type_mm * first)
        self.y += 2.4 * self.type_mm
        text = fit(clean(heading), 1.15 * self.type_mm, self.size[0] - 2 * EDGE, bold=True)
        self.marks.append(
            Label((EDGE, self.y), text, 1.15 * self.type_mm, bold=True, name="heading")
        )
        self.y += 0.3 * self.type_mm
        for rows in wrapped:
            self._line(rows)

    def _wrapped(self, line: str) -> list[str]:
        return wrap(clean(line), self.type_mm, self.size[0] - 2 * EDGE - 4) or [""]

    def _line(self, rows: list[str]) -> None:
        """One line of the pattern, with a dot before it; a long one may go on overleaf."""
        self._need(1.4 * self.type_mm * min(len(rows), _TOGETHER))
        for number, row in enumerate(rows):
            self._need(1.4 * self.type_mm)
            self.y += 1.4 * self.type_mm
            if number == 0:
                self.marks.append(Label((EDGE + 0.6, self.y), "•", self.type_mm, name="dot"))
            self.marks.append(Label((EDGE + 4, self.y), row, self.type_mm, name="pattern"))
        self.y += 0.25 * self.type_mm

    def _need(self, height: float) -> None:
        if self.y + height > self.size[1] - EDGE - _PATTERN_FOOT and self.marks:
            self._close()
            self._head(f"{self.title} · pattern, continued", 1.2 * self.type_mm)

    def _close(self) -> None:
        words = "The pattern in words."
        self.sheets.append(Sheet(*self.size, self.title, words, tuple(self.marks)))
        self.marks, self.y = [], EDGE

    def done(self) -> tuple[Sheet, ...]:
        """All pages."""
        self._close()
        return tuple(self.sheets)
