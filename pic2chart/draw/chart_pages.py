"""The chart on paper: one page, or an overview with a page map and then the pages it is shared over."""

from __future__ import annotations

from dataclasses import replace

from pic2chart.chart import Chart
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
from pic2chart.draw.heading import heading, note_lines, notes
from pic2chart.draw.key import key_marks, sheet_entries
from pic2chart.draw.look import Look
from pic2chart.draw.page import Boxes, Label, Mark, Sheet, Style, clean
from pic2chart.draw.paper import (
    EDGE,
    LEAST_LARGE,
    LEAST_SQUARE,
    Room,
    Sharing,
    Sides,
    page_size,
    share_out,
    square_in,
)
from pic2chart.draw.squares import Plan, absent_squares, coloured_squares
from pic2chart.draw.tile import CUT, Tile, span_words, tile_box
from pic2chart.draw.tile_page import HEAD, KEY, tile_page

_FOOT = 6.0
"""Room for the line at the foot of every page, mm."""
_WORTH_TURNING = 1.12
"""A page is laid on its side when squares come out so many times as large."""


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
    pages = [tile_page(chart, size, look, sharing, tiles, tile) for tile in tiles]
    return (overview, *pages), ("Overview", *(span_words(chart, tile) for tile in tiles))


def _sides(chart: Chart, look: Look) -> Sides:
    """What squares may measure: 4 mm at least and twice that at most, more in large print, or as asked."""
    if look.square_mm is not None:
        return Sides(look.square_mm * min(1.0, chart.gauge.aspect), look.square_mm)
    least = LEAST_LARGE if look.scale > 1 else LEAST_SQUARE
    return Sides(least, 2 * least)


def _overview(
    chart: Chart, size: tuple[float, float], look: Look, tiles: tuple[Tile, ...]
) -> Sheet:
    """The whole chart small, with key and notes, and the pages outlined on it.

    It is too small for symbols, so that it is coloured whatever the other pages are.
    """
    look = replace(look, symbols="both") if look.symbols == "plain" else look
    return _page_of_all(chart, size, look, 2 * LEAST_SQUARE, tiles)[0]


def _page_of_all(
    chart: Chart, size: tuple[float, float], look: Look, most: float, tiles: tuple[Tile, ...]
) -> tuple[Sheet, float]:
    """The sheet, and the width of its squares. Marks are placed once the foot's height is known."""
    inner = size[0] - 2 * EDGE
    marks, top = heading(chart, look, (EDGE, EDGE), inner)
    entries = sheet_entries(chart, 0, (), look)
    told = note_lines(chart) if look.words else []
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
        f"The chart goes on over {len(tiles)} pages, outlined above with their numbers; catches and "
        "shaping are marked there. Each page shows two squares of its neighbours again, paler, "
        "beyond the dashed line: cut one of two pages along it and lay it on the other, or read on "
        "across."
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
    boxes = tuple(tile_box(plan, tile) for tile in tiles)
    size = max(3.0, min(7.0 * plan.look.scale, 0.35 * min(min(box[2:]) for box in boxes)))
    marks: list[Mark] = [
        Boxes(boxes, Style(stroke="#ffffff", width=1.1), "page outline under"),
        Boxes(boxes, Style(stroke=CUT, width=0.6), "page outline"),
    ]
    for tile, (left, top, width, height) in zip(tiles, boxes, strict=True):
        x, y = left + width / 2, top + height / 2
        half = 0.8 * size
        disc = (x - half, y - 0.75 * size, 2 * half, 1.5 * size)
        marks.append(Boxes((disc,), Style(fill="#ffffff", stroke=CUT, width=0.3), "page disc"))
        at = (x, y + 0.36 * size)
        marks.append(Label(at, str(tile.page), size, "middle", True, CUT, "page number"))
    return marks


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
    above = 2 * EDGE + _FOOT + (HEAD + KEY) * look.scale + 5 * 2.6 * look.scale
    return Room(width - beside, height - above, on_side)
