"""One page of a chart that is shared out: which part of the chart it has, and how it is drawn."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeVar

from pic2chart.model.chart import Catch, Chart
from pic2chart.model.construction import Construction, Opening, Shaping
from pic2chart.model.wording import round_word
from pic2chart.sheets.chart.chart_sheet import side_room
from pic2chart.sheets.chart.counting import (
    counting_lines,
    fine_lines,
    join_marks,
    number_size,
    numbers,
    reading_arrows,
    repeat_box,
)
from pic2chart.sheets.chart.grid_layout import GridLayout, absent_squares, coloured_squares
from pic2chart.sheets.chart.key import key_row, sheet_entries
from pic2chart.sheets.chart.overlays import catch_marks, shaping_marks
from pic2chart.sheets.marks.page import Boxes, Label, Lines, Mark, Rect, Sheet, Style, clean, fit
from pic2chart.sheets.marks.paper import EDGE, Sharing, Span
from pic2chart.sheets.sheet_settings import SheetLook

_Marked = TypeVar("_Marked", Shaping, Opening)

# One page of a chart that is shared out: what it holds, and where it lies on a plan of the whole.

CUT = "#0062b8"
"""Colour of the lines along which pages meet."""


@dataclass(frozen=True, slots=True)
class Tile:
    """One page of a chart that is shared out, and its number in the document."""

    up: Span
    across: Span
    page: int


def tile_box(plan: GridLayout, tile: Tile) -> Rect:
    """The page's own squares on a plan of the whole chart."""
    width, height = plan.square
    across, up = tile.across, tile.up
    first = (
        plan.right - across.past * width
        if plan.chart.hand == "right"
        else plan.left + across.first * width
    )
    size = ((across.past - across.first) * width, (up.past - up.first) * height)
    return (first, plan.bottom - up.past * height, *size)


def span_words(chart: Chart, tile: Tile, look: SheetLook | None = None) -> str:
    """'Rounds 1–30, stitches 31–60', or the numbers alone where the look has no words."""
    up, across = tile.up, tile.across
    if look is not None and not look.words:
        return f"{across.first + 1}–{across.past} × {up.first + 1}–{up.past}"
    word = round_word(chart, up.past - up.first).capitalize()
    return f"{word} {up.first + 1}–{up.past}, stitches {across.first + 1}–{across.past}"


def part_of(chart: Chart, up: Span, across: Span) -> Chart:
    """The part of a chart that a page shows, its catches moved with it."""
    stitches = chart.stitches[
        up.shown_first : up.shown_past, across.shown_first : across.shown_past
    ]
    catches = tuple(
        Catch(c.round - up.shown_first, c.stitch - across.shown_first, c.yarn)
        for c in chart.catches
        if up.shown_first <= c.round < up.shown_past
        and across.shown_first <= c.stitch < across.shown_past
    )
    construction = _moved(chart.construction, up, across)
    return chart.with_(
        stitches=stitches, catches=catches, fixed=None, rows=(), construction=construction
    )


def _moved(told: Construction, up: Span, across: Span) -> Construction:
    """Shaping and openings, counted from the part's first square; of stitches opened or set aside,
    those of them that the part shows.
    """
    shapings = [_clipped(s, up, across) for s in told.marks]
    openings = [_clipped(o, up, across) for o in told.openings]
    return Construction(tuple(filter(None, shapings)), tuple(filter(None, openings)))


def _clipped(part: _Marked, up: Span, across: Span) -> _Marked | None:
    """One mark counted from the part's first square; None where none of it lies there."""
    first = max(part.stitch, across.shown_first)
    past = min(part.stitch + part.count, across.shown_past)
    if past <= first or part.round < up.shown_first:
        return None
    return replace(
        part,
        round=part.round - up.shown_first,
        stitch=first - across.shown_first,
        count=past - first,
    )


# A page of a chart that is shared out: its squares, those of its neighbours paled, and the page
# map.

HEAD = 15.0
"""Room for the head of such a page, mm."""


def tile_page(
    chart: Chart,
    size: tuple[float, float],
    look: SheetLook,
    sharing: Sharing,
    tiles: tuple[Tile, ...],
    tile: Tile,
) -> Sheet:
    """The page of one tile, with head, page map, numbers on all sides and the key again."""
    part = part_of(chart, tile.up, tile.across)
    across = part.stitch_count * sharing.square[0]
    top = EDGE + HEAD * look.scale + 2.6 * look.scale
    first = (tile.up.shown_first, tile.across.shown_first)
    plan = GridLayout(part, (size[0] - across) / 2, top, sharing.square, look, first, chart)
    words = span_words(chart, tile)
    marks = [
        *_tile_head(chart, size, look, tiles, tile),
        *_tile_squares(plan, tile),
    ]
    entries = sheet_entries(chart, 0, (), look)
    foot = plan.bottom + 4 + 2.4 * number_size(plan)
    marks += key_row(entries, sharing.square, (EDGE, foot), size[0] - 2 * EDGE, look)[0]
    return Sheet(*size, clean(chart.title), f"Part of a knitting chart: {words}.", tuple(marks))


def _tile_squares(plan: GridLayout, tile: Tile) -> list[Mark]:
    gap = side_room(plan.chart, plan.look, plan.first[0] + plan.chart.round_count) - 3.6
    arrows = reading_arrows(plan, gap) if tile.up.first == 0 or plan.whole.rows else []
    return [
        *coloured_squares(plan),
        *fine_lines(plan),
        *absent_squares(plan),
        *catch_marks(plan),
        *shaping_marks(plan),
        *_veils(plan, tile),
        *counting_lines(plan),
        *repeat_box(plan),
        *join_marks(plan),
        *_cut_lines(plan, tile),
        *numbers(plan, both_sides=True),
        *arrows,
    ]


def _own_box(plan: GridLayout, tile: Tile) -> Rect:
    """The page's own squares, without the overlaps."""
    width, height = plan.square
    after = tile.across.first - tile.across.shown_first
    before = tile.across.shown_past - tile.across.past
    left = plan.left + (before if plan.chart.hand == "right" else after) * width
    top = plan.top + (tile.up.shown_past - tile.up.past) * height
    across, up = tile.across.past - tile.across.first, tile.up.past - tile.up.first
    return left, top, across * width, up * height


def _veils(plan: GridLayout, tile: Tile) -> list[Mark]:
    """The overlaps, paled."""
    left, top, width, height = _own_box(plan, tile)
    right, bottom = left + width, top + height
    boxes = (
        (plan.left, plan.top, plan.size[0], top - plan.top),
        (plan.left, bottom, plan.size[0], plan.bottom - bottom),
        (plan.left, top, left - plan.left, height),
        (right, top, plan.right - right, height),
    )
    wide = tuple(box for box in boxes if box[2] > 1e-6 and box[3] > 1e-6)
    return [Boxes(wide, Style(fill="#ffffff", opacity=0.55), "overlap")] if wide else []


def _cut_lines(plan: GridLayout, tile: Tile) -> list[Mark]:
    """The line along which neighbouring pages meet."""
    left, top, width, height = _own_box(plan, tile)
    right, bottom = left + width, top + height
    lines = [
        *([((plan.left, top), (plan.right, top))] if top > plan.top + 1e-6 else []),
        *([((plan.left, bottom), (plan.right, bottom))] if bottom < plan.bottom - 1e-6 else []),
        *([((left, plan.top), (left, plan.bottom))] if left > plan.left + 1e-6 else []),
        *([((right, plan.top), (right, plan.bottom))] if right < plan.right - 1e-6 else []),
    ]
    style = Style(stroke=CUT, width=0.5, dash=(1.6, 1.2))
    return [Lines(tuple(lines), style, "cut")] if lines else []


def _tile_head(
    chart: Chart, size: tuple[float, float], look: SheetLook, tiles: tuple[Tile, ...], tile: Tile
) -> list[Mark]:
    """Title and span on the left, the map of the pages on the right."""
    scale = look.scale
    y = EDGE + 4.5 * scale
    room = size[0] - 2 * EDGE - 34 * scale
    marks: list[Mark] = [
        Label(
            (EDGE, y),
            fit(clean(chart.title), 5 * scale, room, bold=True),
            5 * scale,
            bold=True,
            name="title",
        ),
        Label((EDGE, y + 5 * scale), span_words(chart, tile, look), 3.3 * scale, name="facts"),
    ]
    return marks + _mini_map(chart, (size[0] - EDGE, EDGE), 11 * scale, tiles, tile)


def _mini_map(
    chart: Chart, corner: tuple[float, float], height: float, tiles: tuple[Tile, ...], here: Tile
) -> list[Mark]:
    """All pages small, this one filled; `corner` is the top right."""
    tall = chart.round_count * chart.gauge.aspect
    unit = min(height / tall, 3 * height / chart.stitch_count)
    plan = GridLayout(
        chart,
        corner[0] - chart.stitch_count * unit,
        corner[1],
        (unit, unit * chart.gauge.aspect),
    )
    boxes = tuple(tile_box(plan, tile) for tile in tiles)
    return [
        Boxes((tile_box(plan, here),), Style(fill=CUT), "map here"),
        Boxes(boxes, Style(stroke="#444444", width=0.2), "map"),
    ]
