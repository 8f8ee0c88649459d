"""A page of a chart that is shared out: its squares, those of its neighbours paled, and the page map."""

from __future__ import annotations

from pic2chart.chart import Chart
from pic2chart.draw.chart_sheet import side_room
from pic2chart.draw.counting import (
    counting_lines,
    fine_lines,
    join_marks,
    number_size,
    numbers,
    reading_arrows,
    repeat_box,
)
from pic2chart.draw.key import key_row
from pic2chart.draw.key_entries import sheet_entries
from pic2chart.draw.look import Look
from pic2chart.draw.overlays import catch_marks
from pic2chart.draw.page import Box, Boxes, Label, Lines, Mark, Sheet, Style, clean, fit
from pic2chart.draw.paper import EDGE, Sharing
from pic2chart.draw.shaping import shaping_marks
from pic2chart.draw.squares import Plan, absent_squares, coloured_squares
from pic2chart.draw.tile import CUT, Tile, part_of, span_words, tile_box

HEAD = 15.0
"""Room for the head of such a page, mm."""


def tile_page(
    chart: Chart,
    size: tuple[float, float],
    look: Look,
    sharing: Sharing,
    tiles: tuple[Tile, ...],
    tile: Tile,
) -> Sheet:
    """The page of one tile, with head, page map, numbers on all sides and the key again."""
    part = part_of(chart, tile.up, tile.across)
    across = part.stitch_count * sharing.square[0]
    top = EDGE + HEAD * look.scale + 2.6 * look.scale
    first = (tile.up.shown_first, tile.across.shown_first)
    plan = Plan(part, (size[0] - across) / 2, top, sharing.square, look, first, chart.stitch_count)
    words = span_words(chart, tile)
    marks = [
        *_tile_head(chart, size, look, tiles, tile),
        *_tile_squares(plan, tile),
    ]
    entries = sheet_entries(chart, 0, (), look)
    foot = plan.bottom + 4 + 2.4 * number_size(plan)
    marks += key_row(entries, sharing.square, (EDGE, foot), size[0] - 2 * EDGE, look)[0]
    return Sheet(*size, clean(chart.title), f"Part of a knitting chart: {words}.", tuple(marks))


def _tile_squares(plan: Plan, tile: Tile) -> list[Mark]:
    gap = side_room(plan.chart, plan.look, plan.first[0] + plan.chart.round_count) - 3.6
    arrows = reading_arrows(plan, gap) if tile.up.first == 0 else []
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


def _own_box(plan: Plan, tile: Tile) -> Box:
    """The page's own squares, without the overlaps."""
    width, height = plan.square
    after = tile.across.first - tile.across.shown_first
    before = tile.across.shown_past - tile.across.past
    left = plan.left + (before if plan.chart.hand == "right" else after) * width
    top = plan.top + (tile.up.shown_past - tile.up.past) * height
    across, up = tile.across.past - tile.across.first, tile.up.past - tile.up.first
    return left, top, across * width, up * height


def _veils(plan: Plan, tile: Tile) -> list[Mark]:
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


def _cut_lines(plan: Plan, tile: Tile) -> list[Mark]:
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
    chart: Chart, size: tuple[float, float], look: Look, tiles: tuple[Tile, ...], tile: Tile
) -> list[Mark]:
    """Title and span on the left, the map of the pages on the right."""
    scale = look.scale
    y = EDGE + 4.5 * scale
    room = size[0] - 2 * EDGE - 34 * scale
    marks: list[Mark] = [
        Label(
            (EDGE, y), fit(clean(chart.title), 5 * scale, room), 5 * scale, bold=True, name="title"
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
    plan = Plan(
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
