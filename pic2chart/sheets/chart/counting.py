"""What helps the eye count and keep its place: lines, numbers, arrows, the repeat's box."""

from __future__ import annotations

from collections.abc import Callable

from pic2chart.model.chart import Chart
from pic2chart.sheets.chart.grid_layout import PAPER, GridLayout
from pic2chart.sheets.marks.page import (
    Anchor,
    Boxes,
    Glyph,
    Label,
    Lines,
    Mark,
    Point,
    Rect,
    Stamps,
    Style,
)

_INK = "#1c1c1c"
_NUMBER = 2.6
_LEAST = 1.9
_FINE_FROM = 1.2
REPEAT = "#b00020"
BOX = 0.8
"""Width of the line of the repeat's box, mm; it lies outside the squares."""
JOIN = Style(stroke=_INK, width=0.7, dash=(0.01, 1.5))
"""A dotted line: the dots are the round ends of the dashes."""


def fine_lines(layout: GridLayout) -> list[Mark]:
    """A fine grey line between all squares, seen on light and dark yarns alike."""
    if min(layout.square) < _FINE_FROM:
        return []
    lines = _lines_at(layout, lambda _: True)
    return [Lines(lines, Style(stroke="#8c8c8c", width=0.09), "lines fine")]


def counting_lines(layout: GridLayout) -> list[Mark]:
    """A line every 5 and a heavier one every 10, counted from stitch 1 and round 1, and the frame.

    Where the heavier line is asked for every 5 there is no other. Each has a white line under it,
    so that it stands out on dark squares too.
    """
    heavy = layout.look.heavy
    fives = _lines_at(layout, lambda count: heavy == 10 and count % 10 == 5)
    tens = _lines_at(layout, lambda count: count % heavy == 0 and count > 0)
    thin = min(1.0, min(layout.square) / 2.5)
    marks: list[Mark] = []
    for lines, width, name in ((fives, 0.16 * thin, "fives"), (tens, 0.32 * thin, "tens")):
        if lines:
            under = Style(stroke=PAPER, width=width + 0.2 * thin)
            marks.append(Lines(lines, under, "lines under"))
            marks.append(Lines(lines, Style(stroke=_INK, width=width), f"lines {name}"))
    frame = (layout.left, layout.top, *layout.size)
    return [*marks, Boxes((frame,), Style(stroke=_INK, width=0.32), "frame")]


def _lines_at(layout: GridLayout, wanted: Callable[[int], bool]) -> tuple[tuple[Point, Point], ...]:
    """Lines before the squares whose count, from 0 in the whole chart, is wanted."""
    chart, (width, height) = layout.chart, layout.square
    lines = []
    for count in range(chart.stitch_count):
        if wanted(count + layout.first[1]):
            x = (
                layout.right - count * width
                if chart.hand == "right"
                else layout.left + count * width
            )
            lines.append(((x, layout.top), (x, layout.bottom)))
    for count in range(chart.round_count):
        if wanted(count + layout.first[0]):
            y = layout.bottom - count * height
            lines.append(((layout.left, y), (layout.right, y)))
    return tuple(lines)


def numbers(layout: GridLayout, *, both_sides: bool = False) -> list[Mark]:
    """Every round's number where that round starts, and stitch numbers 1, 5, 10, … along the foot.

    Squares too small for that are numbered every 5, 10 or more. `both_sides` repeats the numbers in
    grey on the other side and along the top.
    """
    size = number_size(layout)
    return [
        *_round_numbers(layout, size, both_sides),
        *_stitch_numbers(layout, size, both_sides),
    ]


def number_size(layout: GridLayout) -> float:
    """Height of the type of the numbers, mm."""
    return min(_NUMBER * layout.look.scale, max(_LEAST, 0.62 * min(layout.square)))


def _round_numbers(layout: GridLayout, size: float, both_sides: bool) -> list[Mark]:
    marks: list[Mark] = []
    every = _step(1, size, layout.square[1])
    for place in range(layout.chart.round_count):
        number = place + layout.first[0] + 1
        if number % every and number != 1:
            continue
        y = layout.middle(place, 0)[1] + 0.36 * size
        right = starts_right(layout.whole, number - 1)
        for side in (right, not right) if both_sides else (right,):
            away = 1.4 + beside(layout.chart)
            x = layout.right + away if side else layout.left - away
            anchor: Anchor = "start" if side else "end"
            marks.append(_number((x, y), number, size, anchor, layout, "round", side == right))
    return marks


def _stitch_numbers(layout: GridLayout, size: float, both_sides: bool) -> list[Mark]:
    """The first of the chart, and every fifth (or more) that has room beside its neighbours."""
    digits = len(str(layout.chart.stitch_count + layout.first[1]))
    every = _step(5, 0.62 * size * (digits + 0.8), layout.square[0])
    marks: list[Mark] = []
    for place in range(layout.chart.stitch_count):
        number = place + layout.first[1] + 1
        if number == 1 or number % every == 0:
            x = layout.middle(0, place)[0]
            low = (x, layout.bottom + 1.0 + beside(layout.chart) + 0.75 * size)
            marks.append(_number(low, number, size, "middle", layout, "stitch", True))
            if both_sides:
                high = (x, layout.top - 1.0 - beside(layout.chart))
                marks.append(_number(high, number, size, "middle", layout, "stitch", False))
    return marks


def _number(
    at: Point, number: int, size: float, anchor: Anchor, layout: GridLayout, what: str, main: bool
) -> Label:
    colour = _INK if main else "#6b6b6b"
    bold = number % layout.look.heavy == 0 and main
    name = f"{what}-number" if main else f"{what}-number again"
    return Label(at, str(number), size, anchor, bold, colour, name)


def _step(least: int, needed: float, square: float) -> int:
    """The smallest of 1, 5, 10, 20, 50, 100 from `least` on that leaves `needed` mm each."""
    steps = [step for step in (1, 5, 10, 20, 50) if step >= least]
    return next((step for step in steps if step * square >= needed), 100)


def starts_right(chart: Chart, round_: int) -> bool:
    """Whether a round (from 0) is read from the right-hand side of the page."""
    return chart.row(round_).direction(chart.hand) == "right-to-left"


def reading_arrows(layout: GridLayout, gap: float) -> list[Mark]:
    """An arrow beyond the number of round 1 (and of row 2 when flat), pointing the way to read, and of
    every row that is told otherwise.
    """
    chart, up = layout.chart, layout.first[0]
    rounds = {0} if up == 0 else set()
    rounds |= {1} if up == 0 and not chart.in_round else set()
    rounds |= {row.round - up for row in layout.whole.rows}
    marks: list[Mark] = []
    for place in (r for r in sorted(rounds) if 0 <= r < chart.round_count):
        right = starts_right(layout.whole, place + up)
        x = layout.right + gap if right else layout.left - gap
        away = 1.0 if right else -1.0
        shape = Glyph((((3.2 * away, 0), (0, 0)), ((0.9 * away, -0.7), (0, 0), (0.9 * away, 0.7))))
        at = (x, layout.middle(place, 0)[1])
        marks.append(Stamps(shape, (at,), Style(stroke=_INK, width=0.28), "arrow"))
    return marks


def join_marks(layout: GridLayout) -> list[Mark]:
    """A dotted line beside both edges at which a round closes, where the plan reaches them."""
    if not layout.chart.in_round:
        return []
    begins = layout.first[1] == 0
    ends = layout.first[1] + layout.chart.stitch_count == layout.whole.stitch_count
    right, left = (begins, ends) if layout.chart.hand == "right" else (ends, begins)
    away = 0.55 + beside(layout.chart)
    edges = [layout.right + away] * right + [layout.left - away] * left
    lines = tuple(((x, layout.top), (x, layout.bottom)) for x in edges)
    return [Lines(lines, JOIN, "join")] if lines else []


def beside(chart: Chart) -> float:
    """Room that the repeat's box takes beside the squares, mm."""
    return 0.0 if chart.repeat is None else BOX


def repeat_box(layout: GridLayout) -> list[Mark]:
    """A heavy box round the repeat, which starts at stitch 1 of round 1; on a part, what shows of it."""
    if layout.chart.repeat is None:
        return []
    across = min(layout.chart.repeat[0] - layout.first[1], layout.chart.stitch_count)
    up = min(layout.chart.repeat[1] - layout.first[0], layout.chart.round_count)
    if across <= 0 or up <= 0:
        return []
    width, height = across * layout.square[0], up * layout.square[1]
    left = layout.right - width if layout.chart.hand == "right" else layout.left
    half = BOX / 2
    box: Rect = (left - half, layout.bottom - height - half, width + BOX, height + BOX)
    under, over = Style(stroke=PAPER, width=BOX + 0.5), Style(stroke=REPEAT, width=BOX)
    return [Boxes((box,), under, "repeat under"), Boxes((box,), over, "repeat")]
