"""The chart on paper: one page, or an overview with a page map and then the pages it is shared over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pic2chart.model.chart import Chart
from pic2chart.model.wording import many
from pic2chart.sheets.chart.chart_sheet import (
    describe,
    heading,
    notes,
    side_room,
)
from pic2chart.sheets.chart.counting import (
    counting_lines,
    fine_lines,
    join_marks,
    numbers,
    reading_arrows,
    repeat_box,
)
from pic2chart.sheets.chart.grid_layout import GridLayout, absent_squares, coloured_squares
from pic2chart.sheets.chart.key import key_row, sheet_entries
from pic2chart.sheets.chart.overlays import catch_marks, shaping_marks
from pic2chart.sheets.chart.panel_pages import ChartPage, panel_pages
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
"""Width of a square of the overview at the most, mm."""
_MAP = (36.0, 24.0)
"""Room for the map of the pages, mm."""


def chart_pages(
    chart: Chart, paper: str, look: SheetLook
) -> tuple[tuple[Sheet, ...], tuple[str, ...]]:
    """The pages of a chart and a short name for each."""
    ((_, pages),) = charts_on_pages((chart,), chart.title, paper, look)
    return tuple(page.sheet for page in pages), tuple(page.name for page in pages)


def charts_on_pages(
    charts: Sequence[Chart], title: str, paper: str, look: SheetLook
) -> list[tuple[tuple[Chart, ...], list[ChartPage]]]:
    """The pages of charts, those together that one page holds; repeats printed once, folded where that
    is natural.

    A chart too large for that is shared out: first an overview with the map of the pages, then the
    pages from the first round up.
    """
    return [
        (group, [p for c in group for p in _shared(c, paper, look)] if pages is None else pages)
        for group, pages in panel_pages(charts, title, paper, look)
    ]


def _shared(chart: Chart, paper: str, look: SheetLook) -> list[ChartPage]:
    """The overview and the pages that a chart is shared out over."""
    spaces = tuple(_tile_space(chart, paper, on_side, look) for on_side in (False, True))
    limits = _limits(chart, look)
    sharing = share_out(chart.stitch_count, chart.round_count, chart.gauge.aspect, spaces, limits)
    tiles = _tiles(chart, sharing, 2)
    first = _overview(chart, page_size(paper, False), look, tiles)
    size = page_size(paper, sharing.on_side)
    sheets = [first, *(tile_page(chart, size, look, sharing, tiles, tile) for tile in tiles)]
    names = ["Overview", *(span_words(chart, tile) for tile in tiles)]
    return [ChartPage(s, n, (chart.title,)) for s, n in zip(sheets, names, strict=True)]


def _limits(chart: Chart, look: SheetLook) -> SquareLimits:
    """What squares may measure: 4 mm at least and twice that at most, more in large print, or as asked."""
    if look.square_mm is not None:
        return SquareLimits(look.square_mm * min(1.0, chart.gauge.aspect), look.square_mm)
    least = LEAST_LARGE if look.scale > 1 else LEAST_SQUARE
    return SquareLimits(least, 2 * least)


def _overview(
    chart: Chart, size: tuple[float, float], look: SheetLook, tiles: tuple[Tile, ...]
) -> Sheet:
    """The whole chart small, catches and all, with the pages outlined on it; a map of their numbers
    beside the title, so that none hides the picture; and the key.
    """
    inner = size[0] - 2 * EDGE
    plan = _number_map(chart, (size[0] - EDGE, EDGE), tiles, look)
    marks, top = heading(chart, look, (EDGE, EDGE), inner - _MAP[0] * min(look.scale, 1.4) - 6)
    top = max(top, EDGE + _MAP[1] * min(look.scale, 1.4) + 2)
    words = (_map_words(tiles),) if look.words else ()
    entries = sheet_entries(chart, 0, (), look)
    shape = (1.0, chart.gauge.aspect)
    key_height = key_row(entries, shape, (0.0, 0.0), inner, look)[1]
    small_height = notes(words, (0.0, 0.0), inner, look.scale)[1]
    foot = size[1] - EDGE - _FOOT - key_height - small_height - 2
    side = side_room(chart, look)
    space = PageSpace(inner - 2 * side, foot - top - 4 - 2.4 * 2.6 * look.scale, False)
    width = square_in(chart.stitch_count, chart.round_count, chart.gauge.aspect, space, _MOST_MAP)
    left = (size[0] - chart.stitch_count * width) / 2
    layout = GridLayout(chart, left, top + 2, (width, width * chart.gauge.aspect), look)
    marks += [*plan, *_small_marks(layout, tiles)]
    marks += key_row(entries, shape, (EDGE, foot), inner, look)[0]
    marks += notes(words, (EDGE, foot + key_height), inner, look.scale)[0]
    return Sheet(*size, clean(chart.title), describe(chart, entries, look), tuple(marks))


def _number_map(
    chart: Chart, corner: tuple[float, float], tiles: tuple[Tile, ...], look: SheetLook
) -> list[Mark]:
    """The pages small, each with its number; `corner` is the top right."""
    wide, high = (side * min(look.scale, 1.4) for side in _MAP)
    aspect = chart.gauge.aspect
    unit = min(wide / chart.stitch_count, high / (chart.round_count * aspect))
    layout = GridLayout(
        chart, corner[0] - chart.stitch_count * unit, corner[1], (unit, unit * aspect)
    )
    boxes = tuple(tile_box(layout, tile) for tile in tiles)
    marks: list[Mark] = [Boxes(boxes, Style(stroke=CUT, width=0.3), "map")]
    digits = len(str(tiles[-1].page))
    for tile, (left, top, w, h) in zip(tiles, boxes, strict=True):
        size = max(1.6, min(4.5, 0.7 * h, 1.3 * w / digits))
        at = (left + w / 2, top + h / 2 + 0.36 * size)
        marks.append(Label(at, str(tile.page), size, "middle", True, CUT, "page number"))
    return marks


def _map_words(tiles: tuple[Tile, ...]) -> str:
    return (
        f"The chart goes on over {many(len(tiles), 'page')}, outlined here and numbered at the top. Each page shows two squares of its neighbours again, paler, "
        "beyond the dashed line: cut one of two pages along it and lay it on the other, or read on "
        "across."
    )


def _small_marks(layout: GridLayout, tiles: tuple[Tile, ...]) -> list[Mark]:
    """The chart with its catches, and the pages on it; plain symbols stay plain."""
    small = replace(layout.look, symbols="plain" if layout.look.symbols == "plain" else "colour")
    quiet = replace(layout, look=small)
    boxes = tuple(tile_box(layout, tile) for tile in tiles)
    return [
        *coloured_squares(quiet),
        *fine_lines(quiet),
        *absent_squares(quiet),
        *catch_marks(quiet),
        *shaping_marks(quiet),
        *counting_lines(quiet),
        *repeat_box(quiet),
        *join_marks(quiet),
        *numbers(quiet),
        *reading_arrows(quiet, side_room(layout.chart, layout.look) - 3.6),
        Boxes(boxes, Style(stroke="#ffffff", width=1.1), "page outline under"),
        Boxes(boxes, Style(stroke=CUT, width=0.6), "page outline"),
    ]


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
