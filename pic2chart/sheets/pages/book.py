"""The document put together, page after page, in the order in which a knitter wants it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace

from pic2chart.model.chart import Chart
from pic2chart.model.construction import StepSection
from pic2chart.sheets.chart.chart_pages import charts_on_pages
from pic2chart.sheets.chart.chart_sheet import figures
from pic2chart.sheets.chart.panel_pages import ChartPage
from pic2chart.sheets.marks.page import Boxes, Label, Lines, Mark, Paths, Raster, Sheet, Stamps
from pic2chart.sheets.marks.paper import EDGE, FOOT, page_size
from pic2chart.sheets.pages.cover import cover
from pic2chart.sheets.pages.flow import (
    FlowBlock,
    Flowed,
    Setter,
    column_width,
    flow,
    page_title,
    sheet_of,
)
from pic2chart.sheets.pages.matter import CARE, Matter, key_block, notes_marks
from pic2chart.sheets.pages.schematic import Schematic
from pic2chart.sheets.sheet_settings import SheetLook, SheetSettings
from pic2chart.sheets.thing import Item, Thing

_SCHEMATIC = 88.0
"""Height of the schematic at the most, mm before the type's scale."""
_RULED = 24.0
"""Room for notes under the cautions at the least, mm."""
_GAP = 6.0
_CODES = "The square codes help pic2chart to read the charts back from photos of these pages."
_CLOSE = (1.0, 0.95, 0.9)
"""Shares of its size in which the text is set where that saves a page; the schematic gets lower too."""


@dataclass(frozen=True, slots=True)
class BookPage:
    """A page of the document and its bookmark; no bookmark where `name` is empty. `text`: its foot may
    take cautions and notes. `charts`: the titles of those that it shows.
    """

    sheet: Sheet
    name: str = ""
    text: bool = False
    charts: tuple[str, ...] = ()


def pattern_pages(
    thing: Thing, settings: SheetSettings, *, closest: bool = False
) -> list[BookPage]:
    """Cover, schematic, how to read, the pattern with its charts where they are needed.

    Laid out twice: a section names the page of its chart. `closest`: in the smallest type.
    """
    layout = _Layout(thing, settings.look, settings.paper, coded=not settings.bare)
    close = _CLOSE[-1:] if closest else _CLOSE if settings.look.scale == 1 else (1.0,)
    ways = [layout.at(share) for share in close]
    counted = [(way, way.pages({}, drawn=False)) for way in ways]
    layout, pages = min(counted, key=lambda one: len(one[1]))
    return [page for page, _ in layout.pages(_numbers(pages))]


def _numbers(pages: Sequence[tuple[BookPage, tuple[str, ...]]]) -> dict[str, int]:
    """The page, from 1, on which each chart begins, by the chart's title."""
    found: dict[str, int] = {}
    for number, (_, titles) in enumerate(pages, 1):
        for title in titles:
            found.setdefault(title, number)
    return found


class _Layout:
    """The pages of one thing on one paper."""

    def __init__(self, thing: Thing, look: SheetLook, paper: str, *, coded: bool) -> None:
        self.thing, self.look, self.paper, self.coded = thing, look, paper, coded
        self.size = page_size(paper, on_side=False)
        self.high = _SCHEMATIC * look.scale
        self.setter = Setter(look, column_width(self.size, look))
        self.matter = Matter.of(thing, look)
        self.groups = charts_on_pages(thing.charts, thing.title, paper, look)
        self.needed = _needed(thing.items, self.matter.work)

    def at(self, close: float) -> _Layout:
        """The same in type of that share of its size."""
        other = copy(self)
        other.setter = replace(self.setter, close=close)
        other.high = self.high * (4 * close - 3)
        return other

    def pages(
        self, numbers: Mapping[str, int], *, drawn: bool = True
    ) -> list[tuple[BookPage, tuple[str, ...]]]:
        """Every page, with the titles of the charts on it; the picture is left out unless `drawn`."""
        before, work = self._blocks(numbers)
        first, rest = cover(self.thing, before, self.size, self.look, drawn=drawn)
        pages: list[tuple[BookPage, tuple[str, ...]]] = [(BookPage(first, "Cover"), ())]
        flowed = self._flowed([*rest, *work])
        waiting = list(self.groups)
        for number, marks in enumerate(flowed.pages):
            pages.append((self._text_page(marks, number), ()))
            while waiting and self._place(waiting[0][0], flowed) <= number:
                pages += self._chart_pages(waiting.pop(0)[1])
        for _, charts in waiting:
            pages += self._chart_pages(charts)
        return pages

    def _chart_pages(self, charts: Sequence[ChartPage]) -> list[tuple[BookPage, tuple[str, ...]]]:
        return [
            (BookPage(chart.sheet, chart.name, charts=chart.titles), chart.titles)
            for chart in charts
        ]

    def _place(self, group: Sequence[Chart], flowed: Flowed) -> int:
        """The page of text, from 0, after which a group of charts stands; the last when none needs it."""
        names = [item.name for item in self.thing.items if item.chart in group]
        places = [flowed.last[name] for name in names if name in flowed.last]
        return min(places, default=len(flowed.pages) - 1)

    def _blocks(self, numbers: Mapping[str, int]) -> tuple[list[FlowBlock], list[FlowBlock]]:
        """What one needs and how to read, and the work."""
        setter, matter = self.setter, self.matter
        if not self.look.words:
            return self._wordless(), []
        need = [block for s in matter.need for block in setter.section(s.heading, s.lines)]
        read = [block for s in matter.read for block in setter.section(s.heading, s.lines)]
        key = [setter.heading("How to read the charts"), key_block(self.thing.charts, setter)]
        key += [setter.line(_CODES, quiet=True)] if self.coded else []
        work: list[FlowBlock] = []
        for section in matter.work:
            about = [item for item in self.thing.items if self.needed.get(item.name) is section]
            name = about[0].name if about else ""
            where = _where([numbers.get(item.chart.title, 0) for item in about])
            blocks = setter.section(section.heading, section.lines)
            if blocks and where:
                blocks.insert(1, setter.line(where, bold=True, with_next=True))
            if blocks and name:
                for item in about:
                    blocks.append(FlowBlock(0.0, _nothing, about=item.name))
            work += blocks
        return need, [*read, *key, *work]

    def _wordless(self) -> list[FlowBlock]:
        """Figures, schematic and key for the cover."""
        setter = self.setter
        blocks = [setter.line(figures(self.thing.main, self.look))]
        if self.thing.views:
            drawn = self._schematic(setter.width)
            blocks.append(FlowBlock(drawn.height + _GAP, drawn.marks))
        return [*blocks, key_block(self.thing.charts, setter)]

    def _flowed(self, blocks: Sequence[FlowBlock]) -> Flowed:
        title = page_title(self.thing.title, self.size, self.look)[1]
        drawn = self._has_schematic
        first = title + (self._schematic(self.size[0] - 2 * EDGE).height + _GAP if drawn else 0.0)
        if not blocks and not drawn:
            return Flowed((), EDGE, {})
        some = blocks or [FlowBlock(0.0, _nothing)]
        return flow(some, self.size, self.look, lambda page: title if page else first)

    @property
    def _has_schematic(self) -> bool:
        """Whether the first page of text has the schematic; without words it is on the cover."""
        return bool(self.thing.views) and self.look.words

    def _schematic(self, width: float) -> Schematic:
        chart = self.thing.main
        tube = chart.in_round and not chart.construction.steek_stitches
        return Schematic(self.thing.views, width, self.high, self.look, tube)

    def _text_page(self, marks: Sequence[Mark], number: int) -> BookPage:
        title, top = page_title(self.thing.title, self.size, self.look)
        width, marked = self.size[0] - 2 * EDGE, number == 0 and self._has_schematic
        drawn = self._schematic(width).marks((EDGE, top)) if marked else []
        sheet = sheet_of([*title, *drawn, *marks], self.size, self.thing.title, "The pattern.")
        return BookPage(sheet, "" if number else "Schematic, abbreviations, pattern", True)


def _nothing(at: object, width: float) -> list[Mark]:
    return []


def _where(numbers: Sequence[int]) -> str:
    """'Chart: page 5.'"""
    pages = sorted(set(numbers))
    if not pages:
        return ""
    word = "Chart" if len(numbers) == 1 else "Charts"
    return f"{word}: page{'s' if len(pages) > 1 else ''} {' and '.join(map(str, pages))}."


def _needed(items: Sequence[Item], work: Sequence[StepSection]) -> dict[str, StepSection]:
    """The section in which each piece's chart is first needed: that whose heading has most of the words
    of its name, the last of them above all; of a single chart the first that speaks of it.
    """
    found: dict[str, StepSection] = {}
    for item in items:
        *first, last = (item.name or "chart").split("-")
        best: tuple[int, StepSection] | None = None
        for section in work:
            heading = section.heading.lower()
            score = 2 * (last in heading) + sum(word in heading for word in first)
            if len(items) == 1:
                lines = " ".join(section.lines)
                score = 2 * ("work the chart" in lines) + ("chart" in lines)
            if score and (best is None or score > best[0]):
                best = (score, section)
        if best is not None:
            found[item.name] = best[1]
    return found


def closing(
    pages: Sequence[BookPage], thing: Thing, look: SheetLook, paper: str, *, worded: bool
) -> list[BookPage]:
    """The pages with what to take care of and room for notes: at the foot of the last of them, else of
    the last pages of text that have room unless the document is long and `worded`, else on one more.
    """
    size = page_size(paper, on_side=False)
    setter = Setter(look, size[0] - 2 * EDGE)
    blocks = _care(thing, setter)
    foot = size[1] - EDGE - FOOT
    last = len(pages) - 1
    may = [
        n
        for n in reversed(range(len(pages)))
        if (pages[n].sheet.width, pages[n].sheet.height) == size
        and (n == last or (pages[n].text and not worded))
    ]
    ends = {n: ends_at(pages[n].sheet) + _GAP for n in may}
    care = sum(block.height for block in blocks)
    both = next((n for n in may if foot - ends[n] >= care + _RULED * look.words), None)
    if both is not None:
        marks = _closing_marks(blocks, ends[both], setter, size, foot)
        return _with_marks(pages, both, marks)
    first = next((n for n in may if foot - ends[n] >= care), None)
    second = next((n for n in may if n != first and foot - ends[n] >= _RULED), None)
    if first is not None and second is not None:
        cared = _with_marks(pages, first, _care_marks(blocks, ends[first], setter))
        notes = notes_marks(ends[second], size, foot, EDGE, look)
        return _with_marks(cared, second, notes)
    title, top = page_title(thing.title, size, look)
    marks = [*title, *_closing_marks(blocks, top, setter, size, foot)]
    return [*pages, BookPage(sheet_of(marks, size, thing.title, "Cautions and notes."), "Notes")]


def _with_marks(pages: Sequence[BookPage], number: int, marks: Sequence[Mark]) -> list[BookPage]:
    """The pages with more marks on one of them."""
    page = pages[number]
    sheet = replace(page.sheet, marks=(*page.sheet.marks, *marks))
    return [*pages[:number], replace(page, sheet=sheet), *pages[number + 1 :]]


def _care(thing: Thing, setter: Setter) -> list[FlowBlock]:
    care = Matter.of(thing, setter.look).care
    return setter.section(care.heading or CARE, care.lines) if setter.look.words else []


def _closing_height(blocks: Sequence[FlowBlock], look: SheetLook) -> float:
    return sum(block.height for block in blocks) + _RULED * look.words


def closing_room(pages: Sequence[BookPage], thing: Thing, look: SheetLook, paper: str) -> float:
    """What cautions and notes need at the foot of a page to come, mm: nothing where one of the pages of
    text has room for them.
    """
    size = page_size(paper, on_side=False)
    height = _closing_height(_care(thing, Setter(look, size[0] - 2 * EDGE)), look) + _GAP
    texts = [page.sheet for page in pages if page.text]
    there = any(size[1] - EDGE - FOOT - ends_at(sheet) >= height for sheet in texts)
    return 0.0 if there else height


def _closing_marks(
    blocks: Sequence[FlowBlock],
    top: float,
    setter: Setter,
    size: tuple[float, float],
    foot: float,
) -> list[Mark]:
    """What to take care of, and notes below it down to the foot."""
    end = top + sum(block.height for block in blocks)
    notes = notes_marks(end, size, foot, EDGE, setter.look)
    return [*_care_marks(blocks, top, setter), *notes]


def _care_marks(blocks: Sequence[FlowBlock], top: float, setter: Setter) -> list[Mark]:
    marks: list[Mark] = []
    for block in blocks:
        marks += block.draw((EDGE, top), setter.width)
        top += block.height
    return marks


def ends_at(sheet: Sheet) -> float:
    """How far down a page is filled, mm."""
    return max((_foot(mark) for mark in sheet.marks), default=EDGE)


def _foot(mark: Mark) -> float:
    if isinstance(mark, Label):
        return mark.at[1] + 0.3 * mark.size
    if isinstance(mark, Raster):
        return mark.box[1] + mark.box[3]
    if isinstance(mark, Boxes):
        return max(box[1] + box[3] for box in mark.boxes)
    if isinstance(mark, Lines):
        return max(point[1] for line in mark.lines for point in line)
    if isinstance(mark, Paths):
        return max(point[1] for path in mark.paths for point in path)
    assert isinstance(mark, Stamps)
    low = max((p[1] for line in mark.shape.polylines for p in line), default=0.0)
    return max(place[1] for place in mark.places) + low
