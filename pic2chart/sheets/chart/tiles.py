"""One page of a chart that is shared out: which part of the chart it has, and how it is drawn."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeVar

from pic2chart.model.chart import Catches, Chart
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


def tile_box(layout: GridLayout, tile: Tile) -> Rect:
    """The page's own squares on a plan of the whole chart."""
    width, height = layout.square
    across, up = tile.across, tile.up
    first = (
        layout.right - across.past * width
        if layout.chart.hand == "right"
        else layout.left + across.first * width
    )
    size = ((across.past - across.first) * width, (up.past - up.first) * height)
    return (first, layout.bottom - up.past * height, *size)


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
    whole = Catches.of(chart.catches)
    held = whole.table[whole.within(up.shown_first, up.shown_past)]
    shown = (held[:, 1] >= across.shown_first) & (held[:, 1] < across.shown_past)
    catches = Catches.of(held[shown] - [up.shown_first, across.shown_first, 0])
    construction = _moved(chart.construction, up, across)
    return chart.with_(
        stitches=stitches, catches=catches, fixed=None, rows=(), construction=construction
    )


def _moved(whole: Construction, up: Span, across: Span) -> Construction:
    """Shaping, openings and ladders, counted from the part's first square; of stitches opened or set aside,
    those of them that the part shows.
    """
    shapings = [_clipped(s, up, across) for s in whole.marks]
    openings = [_clipped(o, up, across) for o in whole.openings]
    ladders = (
        replace(
            ladder, round=ladder.round - up.shown_first, stitch=ladder.stitch - across.shown_first
        )
        for ladder in whole.ladders
        if across.shown_first <= ladder.stitch < across.shown_past
    )
    return Construction(
        tuple(filter(None, shapings)), tuple(filter(None, openings)), ladders=tuple(ladders)
    )


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
    layout = GridLayout(part, (size[0] - across) / 2, top, sharing.square, look, first, chart)
    words = span_words(chart, tile)
    marks = [
        *_tile_head(chart, size, look, tiles, tile),
        *_tile_squares(layout, tile),
    ]
    entries = sheet_entries(chart, 0, (), look)
    foot = layout.bottom + 4 + 2.4 * number_size(layout)
    marks += key_row(entries, sharing.square, (EDGE, foot), size[0] - 2 * EDGE, look)[0]
    return Sheet(*size, clean(chart.title), f"Part of a knitting chart: {words}.", tuple(marks))


def _tile_squares(layout: GridLayout, tile: Tile) -> list[Mark]:
    gap = side_room(layout.chart, layout.look, layout.first[0] + layout.chart.round_count) - 3.6
    arrows = reading_arrows(layout, gap) if tile.up.first == 0 or layout.whole.rows else []
    return [
        *coloured_squares(layout),
        *fine_lines(layout),
        *absent_squares(layout),
        *catch_marks(layout),
        *shaping_marks(layout),
        *_veils(layout, tile),
        *counting_lines(layout),
        *repeat_box(layout),
        *join_marks(layout),
        *_cut_lines(layout, tile),
        *numbers(layout, both_sides=True),
        *arrows,
    ]


def _own_box(layout: GridLayout, tile: Tile) -> Rect:
    """The page's own squares, without the overlaps."""
    width, height = layout.square
    after = tile.across.first - tile.across.shown_first
    before = tile.across.shown_past - tile.across.past
    left = layout.left + (before if layout.chart.hand == "right" else after) * width
    top = layout.top + (tile.up.shown_past - tile.up.past) * height
    across, up = tile.across.past - tile.across.first, tile.up.past - tile.up.first
    return left, top, across * width, up * height


def _veils(layout: GridLayout, tile: Tile) -> list[Mark]:
    """The overlaps, paled."""
    left, top, width, height = _own_box(layout, tile)
    right, bottom = left + width, top + height
    boxes = (
        (layout.left, layout.top, layout.size[0], top - layout.top),
        (layout.left, bottom, layout.size[0], layout.bottom - bottom),
        (layout.left, top, left - layout.left, height),
        (right, top, layout.right - right, height),
    )
    wide = tuple(box for box in boxes if box[2] > 1e-6 and box[3] > 1e-6)
    return [Boxes(wide, Style(fill="#ffffff", opacity=0.55), "overlap")] if wide else []


def _cut_lines(layout: GridLayout, tile: Tile) -> list[Mark]:
    """The line along which neighbouring pages meet."""
    left, top, width, height = _own_box(layout, tile)
    right, bottom = left + width, top + height
    lines = [
        *([((layout.left, top), (layout.right, top))] if top > layout.top + 1e-6 else []),
        *(
            [((layout.left, bottom), (layout.right, bottom))]
            if bottom < layout.bottom - 1e-6
            else []
        ),
        *([((left, layout.top), (left, layout.bottom))] if left > layout.left + 1e-6 else []),
        *([((right, layout.top), (right, layout.bottom))] if right < layout.right - 1e-6 else []),
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
    layout = GridLayout(
        chart,
        corner[0] - chart.stitch_count * unit,
        corner[1],
        (unit, unit * chart.gauge.aspect),
    )
    boxes = tuple(tile_box(layout, tile) for tile in tiles)
    return [
        Boxes((tile_box(layout, here),), Style(fill=CUT), "map here"),
        Boxes(boxes, Style(stroke="#444444", width=0.2), "map"),
    ]
