"""One page of a chart that is shared out: what it holds, and where it lies on a plan of the whole."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pic2chart.chart import Catch, Chart
from pic2chart.chart.shaping import opening_data, read_openings, read_shaping, shaping_data
from pic2chart.draw.look import Look
from pic2chart.draw.page import Box
from pic2chart.draw.paper import Span
from pic2chart.draw.squares import Plan
from pic2chart.rules.wording import round_word

CUT = "#0062b8"
"""Colour of the lines along which pages meet."""


@dataclass(frozen=True, slots=True)
class Tile:
    """One page of a chart that is shared out, and its number in the document."""

    up: Span
    across: Span
    page: int


def tile_box(plan: Plan, tile: Tile) -> Box:
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


def span_words(chart: Chart, tile: Tile, look: Look | None = None) -> str:
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
    return chart.with_(
        stitches=stitches, catches=catches, fixed=None, extra=_moved(chart, up, across)
    )


def _moved(chart: Chart, up: Span, across: Span) -> dict[str, object]:
    """The chart's shaping and openings, counted from the part's first square; of stitches opened or
    set aside, those of them that the part shows.
    """
    told = {
        "shaping": shaping_data(read_shaping(chart.extra)[0]),
        "openings": opening_data(read_openings(chart.extra)),
    }
    return {
        name: [moved for part in parts if (moved := _clipped(part, up, across))]
        for name, parts in told.items()
    }


def _clipped(part: dict[str, Any], up: Span, across: Span) -> dict[str, Any] | None:
    """One mark counted from the part's first square; None where none of it lies there."""
    start, count = part["stitch"] - across.shown_first, part.get("count", 1)
    first = max(start, 1)
    last = min(start + count - 1, across.shown_past - across.shown_first)
    if last < first:
        return None
    kept = {"count": last - first + 1} if "count" in part else {}
    return {**part, "round": part["round"] - up.shown_first, "stitch": first, **kept}
