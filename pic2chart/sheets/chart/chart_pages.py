"""The chart on paper: one page, or an overview with a page map and then the pages it is shared over."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pic2chart.model.chart import Chart
from pic2chart.sheets.chart.chart_sheet import (
    describe,
    heading,
    note_lines,
    notes,
    side_room,
    squares_marks,
)
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
from pic2chart.sheets.chart.key import Entry, key_marks, key_row, sheet_entries
from pic2chart.sheets.chart.tiles import CUT, HEAD, Tile, span_words, tile_box, tile_page
from pic2chart.sheets.marks.page import Boxes, Label, Mark, Sheet, Style, clean
from pic2chart.sheets.marks.paper import (
    EDGE,
    LEAST_LARGE,
    LEAST_SQUARE,
    PageSpace,
    Sharing,
    SquareLimits,
    page_size,
    share_out,
    square_in,
)
from pic2chart.sheets.sheet_settings import SheetLook

_FOOT = 6.0
"""Room for the line at the foot of every page, mm."""
_MOST_MAP = 2 * LEAST_SQUARE
_LEAST_MAP = 70.0
"""Width of a square of the overview at the most, and its least height without a page for the key, mm."""
_LEAST_KEY = 0.5
_WORTH_IT = 1.12
"""A page is laid on its side, or the key parted from the map, for squares so many times as large."""


def chart_pages(
    chart: Chart, paper: str, look: SheetLook
) -> tuple[tuple[Sheet, ...], tuple[str, ...]]:
    """The pages of a chart and a short name for each.

    A chart whose squares would be under 4 mm on one page (7 mm in large print) is shared out: first
    an overview with key, notes and the map of the pages, then the pages from the first round up.
    """
    limits = _limits(chart, look)
    whole = _foot_of(chart, look)
    wholes = [
        _page_of_all(chart, page_size(paper, s), look, limits.most, whole) for s in (False, True)
    ]
    sheet, square = wholes[wholes[1][1] > _WORTH_IT * wholes[0][1]]
    if square * min(1.0, chart.gauge.aspect) >= limits.least - 1e-9:
        return (sheet,), ("Chart",)
    spaces = tuple(_tile_space(chart, paper, on_side, look) for on_side in (False, True))
    sharing = share_out(chart.stitch_count, chart.round_count, chart.gauge.aspect, spaces, limits)
    first, tiles = _overview(chart, page_size(paper, False), look, sharing)
    size = page_size(paper, sharing.on_side)
    pages = [tile_page(chart, size, look, sharing, tiles, tile) for tile in tiles]
    names = ("Overview", "Key")[: len(first)]
    return (*first, *pages), (*names, *(span_words(chart, tile) for tile in tiles))


def _limits(chart: Chart, look: SheetLook) -> SquareLimits:
    """What squares may measure: 4 mm at least and twice that at most, more in large print, or as asked."""
    if look.square_mm is not None:
        return SquareLimits(look.square_mm * min(1.0, chart.gauge.aspect), look.square_mm)
    least = LEAST_LARGE if look.scale > 1 else LEAST_SQUARE
    return SquareLimits(least, 2 * least)


@dataclass(frozen=True, slots=True)
class _Foot:
    """What stands below the squares: the key and the notes."""

    entries: tuple[Entry, ...]
    lines: tuple[str, ...]


def _foot_of(chart: Chart, look: SheetLook, *before: str) -> _Foot:
    lines = (*before, *note_lines(chart)) if look.words else ()
    return _Foot(sheet_entries(chart, 0, (), look), lines)


def _overview(
    chart: Chart, size: tuple[float, float], look: SheetLook, sharing: Sharing
) -> tuple[tuple[Sheet, ...], tuple[Tile, ...]]:
    """The whole chart small with the pages outlined on it, key and notes, and those pages.

    The key has a page of its own where it would leave little room for the chart. Such squares are too
    small for symbols, so that they are coloured whatever the other pages are.
    """
    look = replace(look, symbols="both") if look.symbols == "plain" else look
    tall = chart.round_count * chart.gauge.aspect
    tiles = _tiles(chart, sharing, 2)
    words = _map_words(tiles)
    foot = _foot_of(chart, look, words)
    sheet, width = _page_of_all(chart, size, look, _MOST_MAP, foot, tiles)
    if width * tall >= _LEAST_MAP:
        return (sheet,), tiles
    later = _tiles(chart, sharing, 3)
    bare = _Foot((), (words,) if look.words else ())
    alone, wider = _page_of_all(chart, size, look, _MOST_MAP, bare, later)
    if wider < _WORTH_IT * width:
        return (sheet,), tiles
    return (alone, _key_page(chart, size, look)), later


def _key_page(chart: Chart, size: tuple[float, float], look: SheetLook) -> Sheet:
    """Key and notes alone, in smaller type where they need it."""
    inner, space = size[0] - 2 * EDGE, size[1] - 2 * EDGE - _FOOT
    shape, foot = (1.0, chart.gauge.aspect), _foot_of(chart, look)
    while True:
        keys, bottom = key_marks(foot.entries, shape, (EDGE, EDGE + 2), inner, look)
        small, bottom = notes(foot.lines, (EDGE, bottom + 2), inner, look.scale)
        if bottom <= EDGE + space or look.scale < _LEAST_KEY:
            words = describe(chart, foot.entries, look)
            return Sheet(*size, clean(chart.title), words, (*keys, *small))
        look = replace(look, scale=0.9 * look.scale)


def _page_of_all(
    chart: Chart,
    size: tuple[float, float],
    look: SheetLook,
    most: float,
    foot: _Foot,
    tiles: tuple[Tile, ...] = (),
) -> tuple[Sheet, float]:
    """The sheet, and the width of its squares. Marks are placed once the foot's height is known."""
    inner = size[0] - 2 * EDGE
    marks, top = heading(chart, look, (EDGE, EDGE), inner)
    shape = (1.0, chart.gauge.aspect)
    key_height = key_marks(foot.entries, shape, (0.0, 0.0), inner, look)[1]
    small_height = notes(foot.lines, (0.0, 0.0), inner, look.scale)[1]
    side = side_room(chart, look)
    numbers_room = 4 + 2.4 * 2.6 * look.scale
    space = PageSpace(
        inner - 2 * side,
        size[1] - top - 2 - numbers_room - key_height - 2 - small_height - EDGE - _FOOT,
        size[0] > size[1],
    )
    if space.height <= 0 or space.width <= 0:
        return Sheet(*size, "", "", ()), 0.0
    width = square_in(chart.stitch_count, chart.round_count, chart.gauge.aspect, space, most)
    left = (size[0] - chart.stitch_count * width) / 2
    layout = GridLayout(chart, left, top + 2, (width, width * chart.gauge.aspect), look)
    marks += _small_marks(layout, tiles) if tiles else squares_marks(layout, None, ())
    below = layout.bottom + 4 + 2.4 * number_size(layout)
    keys, bottom = key_marks(foot.entries, shape, (EDGE, below), inner, look)
    small, _ = notes(foot.lines, (EDGE, bottom + 2), inner, look.scale)
    words = describe(chart, foot.entries, look)
    return Sheet(*size, clean(chart.title), words, (*marks, *keys, *small)), width


def _map_words(tiles: tuple[Tile, ...]) -> str:
    return (
        f"The chart goes on over {len(tiles)} pages, outlined above with their numbers; catches and "
        "shaping are marked there. Each page shows two squares of its neighbours again, paler, "
        "beyond the dashed line: cut one of two pages along it and lay it on the other, or read on "
        "across."
    )


def _small_marks(layout: GridLayout, tiles: tuple[Tile, ...]) -> list[Mark]:
    """The chart without catches, and the pages on it."""
    quiet = replace(layout, look=replace(layout.look, symbols="colour"))
    return [
        *coloured_squares(quiet),
        *fine_lines(quiet),
        *absent_squares(quiet),
        *counting_lines(quiet),
        *repeat_box(quiet),
        *join_marks(quiet),
        *numbers(quiet),
        *reading_arrows(quiet, side_room(layout.chart, layout.look) - 3.6),
        *_map_marks(layout, tiles),
    ]


def _map_marks(layout: GridLayout, tiles: tuple[Tile, ...]) -> list[Mark]:
    """Each page's own squares outlined, its number in the middle on a white disc."""
    boxes = tuple(tile_box(layout, tile) for tile in tiles)
    narrow, low = (min(box[side] for box in boxes) for side in (2, 3))
    digits = len(str(tiles[-1].page))
    size = min(7.0 * layout.look.scale, max(3.0, 0.35 * min(narrow, low)), 1.2 * narrow / digits)
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


def _tiles(chart: Chart, sharing: Sharing, first: int) -> tuple[Tile, ...]:
    """The pages that hold stitches, from the first round up, each strip from stitch 1 on.

    `first`: the number of the first of them in the document.
    """
    tiles: list[Tile] = []
    for up in sharing.up:
        for across in sharing.across:
            if chart.live[up.first : up.past, across.first : across.past].any():
                tiles.append(Tile(up, across, len(tiles) + first))
    return tuple(tiles)


def _tile_space(chart: Chart, paper: str, on_side: bool, look: SheetLook) -> PageSpace:
    width, height = page_size(paper, on_side)
    entries = sheet_entries(chart, 0, (), look)
    key = key_row(entries, (1.0, chart.gauge.aspect), (0.0, 0.0), width - 2 * EDGE, look)[1]
    beside = 2 * (EDGE + side_room(chart, look))
    above = 2 * EDGE + _FOOT + HEAD * look.scale + key + 6 * 2.6 * look.scale
    return PageSpace(width - beside, height - above, on_side)
