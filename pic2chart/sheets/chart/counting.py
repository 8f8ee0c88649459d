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


def fine_lines(plan: GridLayout) -> list[Mark]:
    """A fine grey line between all squares, seen on light and dark yarns alike."""
    if min(plan.square) < _FINE_FROM:
        return []
    lines = _lines_at(plan, lambda _: True)
    return [Lines(lines, Style(stroke="#8c8c8c", width=0.09), "lines fine")]


def counting_lines(plan: GridLayout) -> list[Mark]:
    """A line every 5 and a heavier one every 10, counted from stitch 1 and round 1, and the frame.

    Where the heavier line is asked for every 5 there is no other. Each has a white line under it,
    so that it stands out on dark squares too.
    """
    heavy = plan.look.heavy
    fives = _lines_at(plan, lambda count: heavy == 10 and count % 10 == 5)
    tens = _lines_at(plan, lambda count: count % heavy == 0 and count > 0)
    thin = min(1.0, min(plan.square) / 2.5)
    marks: list[Mark] = []
    for lines, width, name in ((fives, 0.16 * thin, "fives"), (tens, 0.32 * thin, "tens")):
        if lines:
            under = Style(stroke=PAPER, width=width + 0.2 * thin)
            marks.append(Lines(lines, under, "lines under"))
            marks.append(Lines(lines, Style(stroke=_INK, width=width), f"lines {name}"))
    frame = (plan.left, plan.top, *plan.size)
    return [*marks, Boxes((frame,), Style(stroke=_INK, width=0.32), "frame")]


def _lines_at(plan: GridLayout, wanted: Callable[[int], bool]) -> tuple[tuple[Point, Point], ...]:
    """Lines before the squares whose count, from 0 in the whole chart, is wanted."""
    chart, (width, height) = plan.chart, plan.square
    lines = []
    for count in range(chart.stitch_count):
        if wanted(count + plan.first[1]):
            x = plan.right - count * width if chart.hand == "right" else plan.left + count * width
            lines.append(((x, plan.top), (x, plan.bottom)))
    for count in range(chart.round_count):
        if wanted(count + plan.first[0]):
            y = plan.bottom - count * height
            lines.append(((plan.left, y), (plan.right, y)))
    return tuple(lines)


def numbers(plan: GridLayout, *, both_sides: bool = False) -> list[Mark]:
    """Every round's number where that round starts, and stitch numbers 1, 5, 10, … along the foot.

    Squares too small for that are numbered every 5, 10 or more. `both_sides` repeats the numbers in
    grey on the other side and along the top.
    """
    size = number_size(plan)
    return [
        *_round_numbers(plan, size, both_sides),
        *_stitch_numbers(plan, size, both_sides),
    ]


def number_size(plan: GridLayout) -> float:
    """Height of the type of the numbers, mm."""
    return min(_NUMBER * plan.look.scale, max(_LEAST, 0.62 * min(plan.square)))


def _round_numbers(plan: GridLayout, size: float, both_sides: bool) -> list[Mark]:
    marks: list[Mark] = []
    every = _step(1, size, plan.square[1])
    for place in range(plan.chart.round_count):
        number = place + plan.first[0] + 1
        if number % every and number != 1:
            continue
        y = plan.middle(place, 0)[1] + 0.36 * size
        right = starts_right(plan.whole, number - 1)
        for side in (right, not right) if both_sides else (right,):
            away = 1.4 + beside(plan.chart)
            x = plan.right + away if side else plan.left - away
            anchor: Anchor = "start" if side else "end"
            marks.append(_number((x, y), number, size, anchor, plan, "round", side == right))
    return marks


def _stitch_numbers(plan: GridLayout, size: float, both_sides: bool) -> list[Mark]:
    """The first of the chart, and every fifth (or more) that has room beside its neighbours."""
    digits = len(str(plan.chart.stitch_count + plan.first[1]))
    every = _step(5, 0.62 * size * (digits + 0.8), plan.square[0])
    marks: list[Mark] = []
    for place in range(plan.chart.stitch_count):
        number = place + plan.first[1] + 1
        if number == 1 or number % every == 0:
            x = plan.middle(0, place)[0]
            low = (x, plan.bottom + 1.0 + beside(plan.chart) + 0.75 * size)
            marks.append(_number(low, number, size, "middle", plan, "stitch", True))
            if both_sides:
                high = (x, plan.top - 1.0 - beside(plan.chart))
                marks.append(_number(high, number, size, "middle", plan, "stitch", False))
    return marks


def _number(
    at: Point, number: int, size: float, anchor: Anchor, plan: GridLayout, what: str, main: bool
) -> Label:
    colour = _INK if main else "#6b6b6b"
    bold = number % plan.look.heavy == 0 and main
    name = f"{what}-number" if main else f"{what}-number again"
    return Label(at, str(number), size, anchor, bold, colour, name)


def _step(least: int, needed: float, square: float) -> int:
    """The smallest of 1, 5, 10, 20, 50, 100 from `least` on that leaves `needed` mm each."""
    steps = [step for step in (1, 5, 10, 20, 50) if step >= least]
    return next((step for step in steps if step * square >= needed), 100)


def starts_right(chart: Chart, round_: int) -> bool:
    """Whether a round (from 0) is read from the right-hand side of the page."""
    return chart.row(round_).direction(chart.hand) == "right-to-left"


def reading_arrows(plan: GridLayout, gap: float) -> list[Mark]:
    """An arrow beyond the number of round 1 (and of row 2 when flat), pointing the way to read, and of
    every row that is told otherwise.
    """
    chart, up = plan.chart, plan.first[0]
    rounds = {0} if up == 0 else set()
    rounds |= {1} if up == 0 and not chart.in_round else set()
    rounds |= {row.round - up for row in plan.whole.rows}
    marks: list[Mark] = []
    for place in (r for r in sorted(rounds) if 0 <= r < chart.round_count):
        right = starts_right(plan.whole, place + up)
        x = plan.right + gap if right else plan.left - gap
        away = 1.0 if right else -1.0
        shape = Glyph((((3.2 * away, 0), (0, 0)), ((0.9 * away, -0.7), (0, 0), (0.9 * away, 0.7))))
        at = (x, plan.middle(place, 0)[1])
        marks.append(Stamps(shape, (at,), Style(stroke=_INK, width=0.28), "arrow"))
    return marks


def join_marks(plan: GridLayout) -> list[Mark]:
    """A dotted line beside both edges at which a round closes, where the plan reaches them."""
    if not plan.chart.in_round:
        return []
    begins = plan.first[1] == 0
    ends = plan.first[1] + plan.chart.stitch_count == plan.whole.stitch_count
    right, left = (begins, ends) if plan.chart.hand == "right" else (ends, begins)
    away = 0.55 + beside(plan.chart)
    edges = [plan.right + away] * right + [plan.left - away] * left
    lines = tuple(((x, plan.top), (x, plan.bottom)) for x in edges)
    return [Lines(lines, JOIN, "join")] if lines else []


def beside(chart: Chart) -> float:
    """Room that the repeat's box takes beside the squares, mm."""
    return 0.0 if chart.repeat is None else BOX


def repeat_box(plan: GridLayout) -> list[Mark]:
    """A heavy box round the repeat, which starts at stitch 1 of round 1; on a part, what shows of it."""
    if plan.chart.repeat is None:
        return []
    across = min(plan.chart.repeat[0] - plan.first[1], plan.chart.stitch_count)
    up = min(plan.chart.repeat[1] - plan.first[0], plan.chart.round_count)
    if across <= 0 or up <= 0:
        return []
    width, height = across * plan.square[0], up * plan.square[1]
    left = plan.right - width if plan.chart.hand == "right" else plan.left
    half = BOX / 2
    box: Rect = (left - half, plan.bottom - height - half, width + BOX, height + BOX)
    under, over = Style(stroke=PAPER, width=BOX + 0.5), Style(stroke=REPEAT, width=BOX)
    return [Boxes((box,), under, "repeat under"), Boxes((box,), over, "repeat")]
