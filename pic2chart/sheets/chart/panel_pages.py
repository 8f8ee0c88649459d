"""Charts on pages: the fewest pages on which squares stay large enough, then the largest squares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from pic2chart.model.chart import Chart
from pic2chart.sheets.chart.chart_sheet import side_room
from pic2chart.sheets.chart.counting import (
    BOX,
    counting_lines,
    fine_lines,
    join_marks,
    numbers,
    reading_arrows,
    repeat_box,
)
from pic2chart.sheets.chart.grid_layout import GridLayout, absent_squares, coloured_squares
from pic2chart.sheets.chart.key import Entry, key_row, sheet_entries
from pic2chart.sheets.chart.overlays import catch_marks, shaping_marks
from pic2chart.sheets.chart.panels import Panel, foldings
from pic2chart.sheets.chart.places import place_marks, places_room
from pic2chart.sheets.chart.setting import BoxPlace, set_boxes
from pic2chart.sheets.marks.page import Label, Mark, Rect, Sheet, clean, fit, text_width, wrap
from pic2chart.sheets.marks.paper import EDGE, FOOT, page_size
from pic2chart.sheets.sheet_settings import SheetLook

LEAST, LEAST_LARGE = 2.95, 4.75
"""Least width of a square where that keeps a piece together, mm; in large print."""
_WIDEST = 8.0
_ROOMY = 4.0
"""Squares so wide are wide enough on a page that stands, mm."""
_MOST_PAGES = 4
"""Pages from which on a chart is shared out over a map of pages; twice that in large print."""
_ON_SIDE = 1.12
"""A page is laid on its side for squares so many times as large."""
_TITLE, _WAY, _TYPE, _CAPTION = 5.0, 3.3, 3.1, 3.2
_TEXT = 40.0
"""Width of the lines over and under a narrow panel, mm before the type's scale."""
_GAP, _BARE = 1.0, 2.0
"""Under a panel, and beside it where no numbers stand, mm."""
_STEPS = 12
_KEPT = 0.9
"""Share of their width that squares keep, up to those that are wide enough, where charts share a page."""


@dataclass(frozen=True, slots=True)
class ChartPage:
    """A page of charts: its sheet, a short name, and the titles of the charts that it shows."""

    sheet: Sheet
    name: str
    titles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Setting:
    """Panels set with squares of one width; `room`: left, top, right and bottom of what pages have for
    them, mm.
    """

    panels: tuple[Panel, ...]
    size: tuple[float, float]
    room: Rect
    square: float
    spots: tuple[BoxPlace, ...]

    @property
    def pages(self) -> int:
        return 1 + max(spot.page for spot in self.spots)


def panel_pages(
    charts: Sequence[Chart], title: str, paper: str, look: SheetLook
) -> list[tuple[tuple[Chart, ...], list[ChartPage] | None]]:
    """Charts in groups that one page holds, and the pages of each group; None where a chart needs more
    than four.

    Those that follow each other stand together, then those that are left alone on a page (the thumbs of
    a pair). Fewest pages first, then the least folding, then the largest squares. `title`: on pages of
    several charts.
    """
    most = _MOST_PAGES * (2 if look.scale > 1 else 1)
    return [
        (group, None if best is None or best.pages > most else _drawn(best, title, look))
        for group, best in _groups(charts, paper, look)
    ]


ItemGroup = tuple[tuple[Chart, ...], "_Setting | None"]


def _groups(charts: Sequence[Chart], paper: str, look: SheetLook) -> list[ItemGroup]:
    groups: list[ItemGroup] = []
    for chart in charts:
        joined = _on_one_page(groups[-1], chart, paper, look) if groups else None
        if joined is not None:
            groups[-1] = joined
        else:
            groups.append(((chart,), _best((chart,), paper, look)))
    alone = [g for g in groups if len(g[0]) == 1 and g[1] is not None and g[1].pages == 1]
    for first, second in zip(alone[::2], alone[1::2], strict=False):
        joined = _on_one_page(first, second[0][0], paper, look)
        if joined is not None:
            groups[groups.index(first)] = joined
            groups.remove(second)
    return groups


def _on_one_page(group: ItemGroup, chart: Chart, paper: str, look: SheetLook) -> ItemGroup | None:
    """A group with one chart more on its page; None where that would not hold them all, or only in
    squares much smaller than the group's own.
    """
    charts, alone = (*group[0], chart), group[1]
    if alone is None or any(c.gauge != chart.gauge or c.yarns != chart.yarns for c in charts):
        return None
    setting = _best(charts, paper, look, most=1)
    if setting is None or setting.pages > 1:
        return None
    large = LEAST_LARGE / LEAST if look.scale > 1 else 1.0
    wanted = _KEPT * min(alone.square, _ROOMY * large)
    return (charts, setting) if setting.square >= wanted else None


def _best(
    charts: Sequence[Chart], paper: str, look: SheetLook, most: int | None = None
) -> _Setting | None:
    """The best setting of all ways to fold the charts; `most`: pages, from which on none is looked for."""
    best: _Setting | None = None
    ways = [foldings(chart) for chart in charts]
    for n in range(max(map(len, ways)) if most is None else 1):
        panels = tuple(panel for way in ways for panel in way[min(n, len(way) - 1)])
        found = _on_paper(panels, paper, look)
        if found is not None and (best is None or found.pages < best.pages):
            best = found
        if best is not None and best.pages == 1:
            break
    return best


def _on_paper(panels: tuple[Panel, ...], paper: str, look: SheetLook) -> _Setting | None:
    """On pages that stand, or that lie where this saves a page or makes small squares larger."""
    upright, lying = (_largest(panels, page_size(paper, side), look) for side in (False, True))
    if upright is None or lying is None:
        return upright or lying
    if lying.pages != upright.pages:
        return min(upright, lying, key=lambda setting: setting.pages)
    large = LEAST_LARGE / LEAST if look.scale > 1 else 1.0
    small = upright.square < _ROOMY * large
    return lying if small and lying.square > _ON_SIDE * upright.square else upright


def _largest(
    panels: tuple[Panel, ...], size: tuple[float, float], look: SheetLook
) -> _Setting | None:
    """The largest squares that take no more pages than the least ones; None where those do not fit."""
    large = LEAST_LARGE / LEAST if look.scale > 1 else 1.0
    low = look.square_mm or LEAST * large
    high = look.square_mm or _WIDEST * large
    room = _room(panels, size, look)
    best = _set(panels, size, room, look, low)
    for _ in range(_STEPS if best is not None and high > low else 0):
        middle = (low + high) / 2
        tried = _set(panels, size, room, look, middle)
        if tried is not None and best is not None and tried.pages <= best.pages:
            best, low = tried, middle
        else:
            high = middle
    return best


def _set(
    panels: tuple[Panel, ...],
    size: tuple[float, float],
    room: Rect,
    look: SheetLook,
    square: float,
) -> _Setting | None:
    boxes = [_Box.of(panel, panels, look, square).size for panel in panels]
    left, top, right, bottom = room
    parts = all(panel.unit is None for panel in panels)
    first_right = parts and panels[0].chart.hand == "right"
    spots = set_boxes(boxes, (right - left, bottom - top), first_right)
    return None if spots is None else _Setting(panels, size, room, square, spots)


@dataclass(frozen=True, slots=True)
class _Box:
    """What belongs to a panel besides its squares, mm: lines over it and under it, their heights, and
    the width and height of it all.
    """

    caption: tuple[str, ...]
    notes: tuple[str, ...]
    above: float
    below: float
    size: tuple[float, float]

    @classmethod
    def of(cls, panel: Panel, panels: Sequence[Panel], look: SheetLook, square: float) -> _Box:
        """The box of one of several panels, with squares so wide."""
        (across, up), scale = panel.size, look.scale
        tall = square * panel.chart.gauge.aspect
        wide = across * square + sum(_sides(panel, look)) if up else 60.0
        text = max(wide, _TEXT * scale) - 2
        caption = wrap(_caption(panel, panels, look), _CAPTION * scale, text, bold=True)
        lines = panel.before(words=look.words)
        notes = [row for line in lines for row in wrap(clean(line), _TYPE * scale, text)]
        number = min(2.6 * scale, max(1.9, 0.62 * min(square, tall)))
        numbers_room = (1.5 + BOX + number) if up else 0.0
        above = 1.35 * _CAPTION * scale * len(caption) + places_room(panel, look) + 1.0
        below = numbers_room + 1.4 * _TYPE * scale * len(notes) + _GAP
        return cls(
            tuple(caption), tuple(notes), above, below, (text + 2, above + up * tall + below)
        )


def _sides(panel: Panel, look: SheetLook) -> tuple[float, float]:
    """Room on the left and on the right of the squares: for the rounds' numbers where a round starts."""
    chart = panel.chart
    room = side_room(chart, look) + BOX * (panel.unit is not None)
    if not chart.in_round or chart.rows:
        return room, room
    return (_BARE, room) if chart.hand == "right" else (room, _BARE)


def _caption(panel: Panel, panels: Sequence[Panel], look: SheetLook) -> str:
    """What a panel is; with its chart's own title where several charts stand together."""
    said = panel.caption() if look.words else panel.figures()
    several = any(other.chart is not panel.chart for other in panels)
    first = next(other for other in panels if other.chart is panel.chart) is panel
    if not (several and first and panel.size[1]):
        return said
    title = clean(panel.chart.title)
    return f"{title} · {said}" if said else title


def _room(panels: Sequence[Panel], size: tuple[float, float], look: SheetLook) -> Rect:
    """Left, top, right and bottom of what the head and the key leave of a page."""
    shape = (1.0, panels[0].chart.gauge.aspect)
    key = key_row(_entries(panels, look), shape, (0.0, 0.0), size[0] - 2 * EDGE, look)[1]
    head = _TITLE * min(look.scale, 1.4) + 2.0
    return EDGE, EDGE + head, size[0] - EDGE, size[1] - EDGE - FOOT - key


def _entries(panels: Sequence[Panel], look: SheetLook) -> tuple[Entry, ...]:
    """The key of what is printed, each sign once; a unit's box is explained by its caption."""
    found: dict[tuple[str, str], Entry] = {}
    for panel in panels:
        for entry in _own_entries(panel, look) if panel.size[1] else ():
            if entry.kind != "repeat" or panel.unit is None:
                found.setdefault((entry.kind, entry.name), entry)
    return tuple(found.values())


@lru_cache(maxsize=64)
def _own_entries(panel: Panel, look: SheetLook) -> tuple[Entry, ...]:
    """The key of one panel, which is asked for in every setting that has it."""
    return tuple(sheet_entries(panel.part, 0, (), look))


def _drawn(setting: _Setting, title: str, look: SheetLook) -> list[ChartPage]:
    """The pages of a setting."""
    panels, size = setting.panels, setting.size
    left, top, right, bottom = setting.room
    entries, shape = _entries(panels, look), (1.0, panels[0].chart.gauge.aspect)
    pages: list[ChartPage] = []
    for page in range(setting.pages):
        here = [spot for spot in setting.spots if spot.page == page]
        shown = [panels[spot.box] for spot in here]
        charts = list(dict.fromkeys(panel.chart for panel in shown))
        head = clean(charts[0].title if len(charts) == 1 else title)
        marks = _head(charts[0], head, look, size, (page, setting.pages))
        for spot in here:
            box = _Box.of(panels[spot.box], panels, look, setting.square)
            at = replace(spot, left=left + spot.left, top=top + spot.top)
            marks += _panel_marks(panels[spot.box], box, at, look, setting.square)
        marks += key_row(entries, shape, (EDGE, bottom + 1), right - left, look)[0]
        words = "; ".join(filter(None, (panel.caption() for panel in shown)))
        sheet = Sheet(*size, head, f"Knitting chart. {words}", tuple(marks))
        pages.append(
            ChartPage(sheet, _name(head, shown, setting.pages), tuple(c.title for c in charts))
        )
    return pages


def _name(head: str, shown: Sequence[Panel], pages: int) -> str:
    """For the bookmarks."""
    if pages == 1:
        return f"Chart: {head}"
    named = [panel.name.capitalize() for panel in shown if panel.name]
    return f"Chart: {', '.join(named) or shown[0].caption()}"


def _head(
    chart: Chart, title: str, look: SheetLook, size: tuple[float, float], page: tuple[int, int]
) -> list[Mark]:
    """The title, and how the chart is read."""
    scale = min(look.scale, 1.4)
    room, type_mm = size[0] - 2 * EDGE, _WAY * look.scale
    way = way_of(chart) if look.words else ""
    part = f" ({page[0] + 1} of {page[1]})" if page[1] > 1 and look.words else ""
    left = room - text_width(way, type_mm) - 6
    if left < min(0.35 * room, text_width(title, _TITLE * scale, bold=True)):
        way, left = "", room
    text = fit(title + part, _TITLE * scale, left, bold=True)
    y = EDGE + 0.8 * _TITLE * scale
    marks: list[Mark] = [Label((EDGE, y), text, _TITLE * scale, bold=True, name="title")]
    if way:
        at = (size[0] - EDGE, y)
        marks.append(Label(at, way, type_mm, "end", colour="#444444", name="facts"))
    return marks


def way_of(chart: Chart) -> str:
    """How the squares are read, in one line."""
    first, back = ("right", "left") if chart.hand == "right" else ("left", "right")
    if chart.in_round:
        return f"From the bottom up, every round from {first} to {back}."
    return f"From the bottom up: odd rows from {first} to {back}, even rows from {back} to {first}."


def _panel_marks(
    panel: Panel, box: _Box, spot: BoxPlace, look: SheetLook, square: float
) -> list[Mark]:
    """A panel's squares with everything in and round them, its caption and what is notes before it."""
    marks: list[Mark] = []
    across, up = panel.size
    tall = square * panel.chart.gauge.aspect
    sides = _sides(panel, look)
    spare = box.size[0] - across * square - sum(sides)
    left = spot.left + spare / 2 + sides[0] if up else spot.left
    top = spot.top + box.above
    if up:
        layout = GridLayout(panel.part, left, top, (square, tall), look, panel.first, panel.chart)
        marks += [*_squares(layout, panel), *place_marks(panel, layout)]
    size, middle = _CAPTION * look.scale, left + across * square / 2
    half = spot.left + box.size[0] / 2
    if not up or _wider(box, size, 2 * min(middle - spot.left, spot.left + box.size[0] - middle)):
        middle = half
    y = top - places_room(panel, look) - 1.6
    for n, line in enumerate(reversed(box.caption)):
        at = (middle, y - 1.35 * size * n)
        marks.append(Label(at, line, size, "middle", True, name="caption"))
    size = _TYPE * look.scale
    foot = spot.top + box.size[1] - _GAP
    for n, line in enumerate(reversed(box.notes)):
        marks.append(Label((middle, foot - 1.4 * size * n), line, size, "middle", name="notes"))
    return marks


def _wider(box: _Box, size: float, room: float) -> bool:
    """Whether a caption is wider than some room, mm."""
    return any(text_width(line, size, bold=True) > room for line in box.caption)


def _squares(layout: GridLayout, panel: Panel) -> list[Mark]:
    last = layout.first[0] + layout.chart.round_count
    gap = side_room(layout.chart, layout.look, last) - 3.6
    return [
        *coloured_squares(layout),
        *fine_lines(layout),
        *counting_lines(layout),
        *absent_squares(layout),
        *catch_marks(layout),
        *shaping_marks(layout),
        *repeat_box(layout),
        *(join_marks(layout) if panel.unit is None else ()),
        *numbers(layout),
        *reading_arrows(layout, gap),
    ]
