"""The strand sheet: a page for each round that shows the way of every yarn, for teaching."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.model.chart import Chart
from pic2chart.model.measure import yarns_per_round
from pic2chart.model.wording import a_round, listed, round_named
from pic2chart.sheets.fabric.back import strands_of
from pic2chart.sheets.marks.page import Sheet
from pic2chart.sheets.marks.paper import EDGE, page_size
from pic2chart.sheets.sheet_settings import SheetLook
from pic2chart.sheets.strands.hands import hand_panel, sides
from pic2chart.sheets.strands.strand_pages import Pages
from pic2chart.sheets.strands.strip import LEFT, RIGHT, Strip, closed, repeats
from pic2chart.stranding.steps import steps_of
from pic2chart.stranding.strands import Strands
from pic2chart.stranding.ways import Way, ways_of

MOST_ROUNDS = 40
_STITCH, _CLOSE = 5.6, 4.6
"""Least width of a stitch, mm, and where narrower ones save a page."""
_WIDEST = 7.2
_CAPS = (120, 96, 84, 72, 60, 48, 36, 24, 18, 12)
"""Stitches of a long round that are shown at the most, so that it keeps to its pages."""


def strand_sheets(
    chart: Chart, plan: Strands, rounds: Sequence[int], paper: str, look: SheetLook
) -> tuple[Sheet, ...]:
    """One page (more for a long round) for each of `rounds`, which count from 0.

    Raises SettingError on a round that is not there, or more than 40 rounds.
    """
    if len(rounds) > MOST_ROUNDS:
        raise SettingError(message("too-many-rounds-asked", rounds=len(rounds), most=MOST_ROUNDS))
    sheets: list[Sheet] = []
    for r in rounds:
        if not 0 <= r < chart.round_count:
            raise SettingError(
                message(
                    "strand-round-outside",
                    where=round_named(chart, r),
                    word=a_round(chart),
                    rounds=chart.round_count,
                )
            )
        sheets += _round_sheets(chart, plan, r, page_size(paper, on_side=False), look)
    return tuple(sheets)


def rounds_to_teach(chart: Chart) -> tuple[int, ...]:
    """Two telling rounds: the first of two yarns with a catch, and the one of most changes."""
    several = np.flatnonzero(yarns_per_round(chart.stitches, len(chart.yarns)).sum(axis=1) > 1)
    if not len(several):
        return (0,)
    caught = {c.round for c in chart.catches}
    first = next((int(r) for r in several if int(r) in caught), int(several[0]))
    changes = (chart.stitches[:, 1:] != chart.stitches[:, :-1]).sum(axis=1)
    most = int(several[int(changes[several].argmax())])
    return tuple(sorted({first, most}))


def taught_sheets(
    chart: Chart, plan: Strands, paper: str, look: SheetLook, spare: float = 0.0
) -> tuple[Sheet, ...]:
    """The most telling round on as few pages as the document has for it: one, two in large print.

    That is the round of most changes among those with a catch. Of a round too long for that its first
    stitches are shown, so many that `spare` mm are left at the foot where few enough leave them; the
    cautions stand at the end of the document.
    """
    most = 2 if look.scale > 1 else 1
    first, *others = _most_telling(chart)
    size = page_size(paper, on_side=False)
    found: list[Sheet] = []
    fits = cap = chart.stitch_count
    for cap in (chart.stitch_count, *(c for c in _CAPS if c < chart.stitch_count)):
        sheets, room = _laid(chart, plan, first, size, look, _CLOSE, cap)
        if not found or len(found) > most >= len(sheets):
            found, fits = sheets, cap
        if len(sheets) <= most and room >= spare:
            found, fits = sheets, cap
            break
    for other in others[:1]:
        both, room = _laid(chart, plan, first, size, look, _CLOSE, fits, other)
        if len(both) <= len(found) and (room >= spare or fits != cap):
            found = both
    return tuple(found)


def _most_telling(chart: Chart) -> list[int]:
    """The rounds, from 0, of most changes of yarn among those with a ladder or else a catch, or of all
    where none has; rounds alike to an earlier one are left out.
    """
    changes = (chart.stitches[:, 1:] != chart.stitches[:, :-1]).sum(axis=1)
    caught, laddered = ({c.round for c in held} for held in (chart.catches, chart.rungs))
    telling = caught & laddered or laddered or caught
    rounds = sorted(telling or range(chart.round_count), key=lambda r: (-int(changes[r]), r))
    alike = {chart.stitches[r].tobytes(): r for r in reversed(rounds)}
    return sorted(alike.values(), key=rounds.index)


def _round_sheets(
    chart: Chart,
    plan: Strands,
    r: int,
    size: tuple[float, float],
    look: SheetLook,
) -> list[Sheet]:
    """The round's pages, with narrower stitches where that saves a page."""
    wide, _ = _laid(chart, plan, r, size, look, _STITCH)
    if len(wide) == 1:
        return wide
    close, _ = _laid(chart, plan, r, size, look, _CLOSE)
    return close if len(close) < len(wide) else wide


def _laid(
    chart: Chart,
    plan: Strands,
    r: int,
    size: tuple[float, float],
    look: SheetLook,
    least: float,
    cap: int | None = None,
    also: int | None = None,
) -> tuple[list[Sheet], float]:
    """The pages, and what is left of the last, mm. `cap`: the most stitches that are shown; `also`:
    another round below it, without what is the same.
    """
    order = plan.rounds[r].order
    page = Pages(chart, r, size, look)
    shown, numbers = closed(chart, r)
    unit, most = repeats(shown, r)
    part = _repeat_words(page.word.lower(), unit, most, shown.stitch_count)
    if cap is not None and cap < most:
        most = cap
        part = f"The first {most} of {shown.stitch_count} stitches are shown."
    page.head(order, part)
    low, high = sides(plan, order)
    ways = _ways(chart, r, low, high) if low and high else ()
    if ways:
        at, width = (EDGE, page.y), size[0] - 2 * EDGE
        panel, page.y = hand_panel(chart, low, high, ways, at, width, look)
        page.marks += panel
        page.y += 4
    found = strands_of(shown, plan, r)
    for strip in _strips(shown, r, order, size[0], look, least, most):
        page.strip(replace(strip, numbers=numbers), found)
    if look.words:
        page.steps(steps_of(chart, r, order, most))
    if ways:
        page.catching(ways, (low, high))
    if look.words:
        page.ends(order, care=cap is None)
    if also is not None:
        _below(page, chart, plan, also, (size[0], least), cap)
    return page.done(), page.left


def _ways(chart: Chart, r: int, low: tuple[int, ...], high: tuple[int, ...]) -> tuple[Way, ...]:
    """The ways of holding for the yarns of a round."""
    under, over = (listed([chart.yarns[y].name for y in part]) for part in (low, high))
    return ways_of(under, over, chart.hand, purled=chart.row(r).wrong_side)


def _below(
    page: Pages,
    chart: Chart,
    plan: Strands,
    r: int,
    room: tuple[float, float],
    cap: int | None,
) -> None:
    """Another round under the first; `room`: the page's width and the least width of a stitch, mm."""
    order, look = plan.rounds[r].order, page.look
    shown, numbers = closed(chart, r)
    most = min(repeats(shown, r)[1], cap or shown.stitch_count)
    page.r = r
    page.heading(f"{page.word} {r + 1}" if look.words else f"{r + 1}")
    page.y += 2
    found = strands_of(shown, plan, r)
    for strip in _strips(shown, r, order, room[0], look, room[1], most):
        page.strip(replace(strip, numbers=numbers), found)
    if look.words:
        page.steps(steps_of(chart, r, order, most))


def _repeat_words(word: str, unit: int, most: int, count: int) -> str:
    """That a round is shown in part, or nothing."""
    if most == count:
        return ""
    every = "all in one yarn" if unit == 1 else f"the same again every {unit} stitches"
    return (
        f"The {word} is {every}: the first {most} of {count} are shown; work the others like them."
    )


def _strips(
    chart: Chart,
    r: int,
    order: tuple[int, ...],
    wide: float,
    look: SheetLook,
    least: float,
    most: int,
) -> list[Strip]:
    """The first `most` stitches of the round as even strips, in the order they are worked.

    `wide`: the page, mm.
    """
    large = min(look.scale, 1.4)
    room = wide - 2 * EDGE - (LEFT + RIGHT) * look.scale
    backwards = chart.row(r).backwards
    start = chart.stitch_count - most if backwards else 0
    pieces = -(-most // int(room // (least * large)))
    cuts = [start + round(most * i / pieces) for i in range(pieces + 1)]
    width = min(room / max(past - first for first, past in pairwise(cuts)), _WIDEST * large)
    stitch = (width, width * chart.gauge.aspect)
    left = EDGE + LEFT * look.scale
    strips = [
        Strip(chart, r, first, past, left, 0.0, stitch, order, look.scale)
        for first, past in pairwise(cuts)
    ]
    return strips[::-1] if backwards else strips
