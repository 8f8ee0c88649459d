"""The chart on paper: one page, or an overview with a page map and then the pages it is shared over."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pic2chart.chart import Catch, Chart
from pic2chart.chart.shaping import opening_data, read_openings, read_shaping, shaping_data
from pic2chart.draw.chart_sheet import describe, side_room, squares_marks
from pic2chart.draw.counting import (
    counting_lines,
    fine_lines,
    join_marks,
    number_size,
    numbers,
    reading_arrows,
    repeat_box,
)
from pic2chart.draw.heading import heading, note_lines, notes, round_word
from pic2chart.draw.key import key_marks, key_row, sheet_entries
from pic2chart.draw.look import Look
from pic2chart.draw.overlays import catch_marks
from pic2chart.draw.page import Box, Boxes, Label, Lines, Mark, Sheet, Style, clean, fit
from pic2chart.draw.paper import (
    EDGE,
    LEAST_LARGE,
    LEAST_SQUARE,
    Room,
    Sharing,
    Sides,
    Span,
    page_size,
    share_out,
    square_in,
)
from pic2chart.draw.shaping import shaping_marks
from pic2chart.draw.squares import Plan, absent_squares, coloured_squares

_FOOT = 6.0
"""Room for the line at the foot of every page, mm."""
_HEAD, _KEY = 15.0, 10.0
_CUT = "#0062b8"
_WORTH_TURNING = 1.12
"""A page is laid on its side when squares come out so many times as large."""


@dataclass(frozen=True, slots=True)
class Tile:
    """One page of a chart that is shared out, and its number in the document."""

    up: Span
    across: Span
    page: int


def chart_pages(chart: Chart, paper: str, look: Look) -> tuple[tuple[Sheet, ...], tuple[str, ...]]:
    """The pages of a chart and a short name for each.

    A chart whose squares would be under 4 mm on one page (7 mm in large print) is shared out: first
    an overview with key, notes and the map of the pages, then the pages from the first round up.
    """
    sides = _sides(chart, look)
    wholes = [_page_of_all(chart, page_size(paper, s), look, sides.most, ()) for s in (False, True)]
    sheet, square = wholes[wholes[1][1] > _WORTH_TURNING * wholes[0][1]]
    if square * min(1.0, chart.gauge.aspect) >= sides.least - 1e-9:
        return (sheet,), ("Chart",)
    rooms = tuple(_tile_room(chart, paper, on_side, look) for on_side in (False, True))
    sharing = share_out(chart.stitch_count, chart.round_count, chart.gauge.aspect, rooms, sides)
    tiles = _tiles(chart, sharing)
    overview = _overview(chart, page_size(paper, False), look, tiles)
    size = page_size(paper, sharing.on_side)
    pages = [_tile_page(chart, size, look, sharing, tiles, tile) for tile in tiles]
    return (overview, *pages), ("Overview", *(_span_words(chart, tile) for tile in tiles))


def _sides(chart: Chart, look: Look) -> Sides:
    """What squares may measure: 4 mm at least and twice that at most, more in large print, or as asked."""
    if look.square_mm is not None:
        return Sides(look.square_mm * min(1.0, chart.gauge.aspect), look.square_mm)
    least = LEAST_LARGE if look.scale > 1 else LEAST_SQUARE
    return Sides(least, 2 * least)


def _overview(
    chart: Chart, size: tuple[float, float], look: Look, tiles: tuple[Tile, ...]
) -> Sheet:
    """The whole chart small, with key and notes, and the pages outlined on it."""
    return _page_of_all(chart, size, look, 2 * LEAST_SQUARE, tiles)[0]


def _page_of_all(
    chart: Chart, size: tuple[float, float], look: Look, most: float, tiles: tuple[Tile, ...]
) -> tuple[Sheet, float]:
    """The sheet, and the width of its squares. Marks are placed once the foot's height is known."""
    inner = size[0] - 2 * EDGE
    marks, top = heading(chart, look, (EDGE, EDGE), inner)
    entries = sheet_entries(chart, 0, (), look)
    told = note_lines(()) if look.words else []
    told = [*_map_words(chart, tiles, look), *told]
    shape = (1.0, chart.gauge.aspect)
    key_height = key_marks(entries, shape, (0.0, 0.0), inner, look)[1]
    small_height = notes(told, (0.0, 0.0), inner, look.scale)[1]
    side = side_room(chart, look)
    numbers_room = 4 + 2.4 * 2.6 * look.scale
    room = Room(
        inner - 2 * side,
        size[1] - top - 2 - numbers_room - key_height - 2 - small_height - EDGE - _FOOT,
        size[0] > size[1],
    )
    if room.height <= 0 or room.width <= 0:
        return Sheet(*size, "", "", ()), 0.0
    width = square_in(chart.stitch_count, chart.round_count, chart.gauge.aspect, room, most)
    left = (size[0] - chart.stitch_count * width) / 2
    plan = Plan(chart, left, top + 2, (width, width * chart.gauge.aspect), look)
    marks += _small_marks(plan, tiles) if tiles else squares_marks(plan, None, ())
    foot = plan.bottom + 4 + 2.4 * number_size(plan)
    keys, bottom = key_marks(entries, shape, (EDGE, foot), inner, look)
    small, _ = notes(told, (EDGE, bottom + 2), inner, look.scale)
    sheet = Sheet(
        *size, clean(chart.title), describe(chart, entries, look), (*marks, *keys, *small)
    )
    return sheet, width


def _map_words(chart: Chart, tiles: tuple[Tile, ...], look: Look) -> list[str]:
    if not tiles or not look.words:
        return []
    return [
        f"The chart goes on over {len(tiles)} pages, outlined above with their numbers. Each page "
        "shows two squares of its neighbours again, paler, beyond the blue line: cut one of two "
        "pages along it and lay it on the other, or read on across."
    ]


def _small_marks(plan: Plan, tiles: tuple[Tile, ...]) -> list[Mark]:
    """The chart without catches, and the pages on it."""
    quiet = replace(plan, look=replace(plan.look, symbols="colour"))
    return [
        *coloured_squares(quiet),
        *fine_lines(quiet),
        *absent_squares(quiet),
        *counting_lines(quiet),
        *repeat_box(quiet),
        *join_marks(quiet),
        *numbers(quiet),
        *reading_arrows(quiet, side_room(plan.chart, plan.look) - 3.6),
        *_map_marks(plan, tiles),
    ]


def _map_marks(plan: Plan, tiles: tuple[Tile, ...]) -> list[Mark]:
    """Each page's own squares outlined, its number in the middle on a white disc."""
    boxes = tuple(_tile_box(plan, tile) for tile in tiles)
    size = max(3.0, min(7.0 * plan.look.scale, 0.35 * min(min(box[2:]) for box in boxes)))
    marks: list[Mark] = [
        Boxes(boxes, Style(stroke="#ffffff", width=1.1), "page outline under"),
        Boxes(boxes, Style(stroke=_CUT, width=0.6), "page outline"),
    ]
    for tile, (left, top, width, height) in zip(tiles, boxes, strict=True):
        x, y = left + width / 2, top + height / 2
        half = 0.8 * size
        disc = (x - half, y - 0.75 * size, 2 * half, 1.5 * size)
        marks.append(Boxes((disc,), Style(fill="#ffffff", stroke=_CUT, width=0.3), "page disc"))
        at = (x, y + 0.36 * size)
        marks.append(Label(at, str(tile.page), size, "middle", True, _CUT, "page number"))
    return marks


def _tile_box(plan: Plan, tile: Tile) -> Box:
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


def _tiles(chart: Chart, sharing: Sharing) -> tuple[Tile, ...]:
    """The pages that hold stitches, from the first round up, each strip from stitch 1 on."""
    tiles: list[Tile] = []
    for up in sharing.up:
        for across in sharing.across:
            if chart.live[up.first : up.past, across.first : across.past].any():
                tiles.append(Tile(up, across, len(tiles) + 2))
    return tuple(tiles)


def _tile_room(chart: Chart, paper: str, on_side: bool, look: Look) -> Room:
    width, height = page_size(paper, on_side)
    beside = 2 * (EDGE + side_room(chart, look))
    above = 2 * EDGE + _FOOT + (_HEAD + _KEY) * look.scale + 5 * 2.6 * look.scale
    return Room(width - beside, height - above, on_side)


def _tile_page(
    chart: Chart,
    size: tuple[float, float],
    look: Look,
    sharing: Sharing,
    tiles: tuple[Tile, ...],
    tile: Tile,
) -> Sheet:
    part = part_of(chart, tile.up, tile.across)
    across = part.stitch_count * sharing.square[0]
    top = EDGE + _HEAD * look.scale + 2.6 * look.scale
    first = (tile.up.shown_first, tile.across.shown_first)
    plan = Plan(part, (size[0] - across) / 2, top, sharing.square, look, first, chart.stitch_count)
    words = _span_words(chart, tile)
    marks = [
        *_tile_head(chart, size, look, tiles, tile),
        *_tile_squares(plan, tile),
    ]
    entries = sheet_entries(chart, 0, (), look)
    foot = plan.bottom + 4 + 2.4 * number_size(plan)
    marks += key_row(entries, sharing.square, (EDGE, foot), size[0] - 2 * EDGE, look)
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
    style = Style(stroke=_CUT, width=0.5, dash=(1.6, 1.2))
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
        Label((EDGE, y + 5 * scale), _span_words(chart, tile, look), 3.3 * scale, name="facts"),
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
    boxes = tuple(_tile_box(plan, tile) for tile in tiles)
    return [
        Boxes((_tile_box(plan, here),), Style(fill=_CUT), "map here"),
        Boxes(boxes, Style(stroke="#444444", width=0.2), "map"),
    ]


def _span_words(chart: Chart, tile: Tile, look: Look | None = None) -> str:
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
    return chart.with_(
        stitches=stitches, catches=catches, fixed=None, extra=_moved(chart, up, across)
    )


def _moved(chart: Chart, up: Span, across: Span) -> dict[str, object]:
    """The chart's shaping and openings, counted from the part's first square."""
    return {
        name: [
            {
                **part,
                "round": part["round"] - up.shown_first,
                "stitch": part["stitch"] - across.shown_first,
            }
            for part in told
        ]
        for name, told in (
            ("shaping", shaping_data(read_shaping(chart.extra)[0])),
            ("openings", opening_data(read_openings(chart.extra))),
        )
    }
