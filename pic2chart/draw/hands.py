"""Which hand holds which yarn, as small pictures: two hands or one, right- or left-handed."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.chart import Chart
from pic2chart.draw.knit_lines import shade
from pic2chart.draw.look import Look
from pic2chart.draw.page import Boxes, Label, Mark, Paths, Point, Style, clean, fit, wrap
from pic2chart.rules.wording import listed
from pic2chart.strands import Strands

_PALM: tuple[Point, ...] = (
    *((-3.4, 6.5), (-3.6, 1.0), (-3.2, -3.4), (-2.2, -5.4), (-1.1, -5.9), (-0.2, -5.4)),
    *((0.9, -5.9), (2.0, -5.2), (2.9, -3.2), (3.3, 0.2)),
    *((4.6, -1.6), (5.7, -2.4), (6.5, -1.7), (6.1, -0.3), (4.6, 2.6), (3.2, 4.4), (3.0, 6.5)),
)
"""A left hand from behind, thumb on the right; mm round its middle."""
HEIGHT, PICTURE = 32.0, 19.0
"""Height of a box and of the picture in it, mm."""
_FRAME = Style(stroke="#b9bec5", width=0.25)
_WAYS = ("two-handed", "one-handed")


def hand_panel(
    chart: Chart,
    plan: Strands,
    order: tuple[int, ...],
    at: Point,
    width: float,
    look: Look,
) -> tuple[list[Mark], float]:
    """Four boxes, the chart's own hand first; returns the marks and the height they end at.

    In large print the boxes stand in two lines.
    """
    lines = 2 if look.scale > 1 else 1
    gap, in_line = 3.0, 4 // lines
    size = (width - (in_line - 1) * gap) / in_line
    tall = PICTURE + (HEIGHT - PICTURE) * look.scale if look.words else PICTURE
    low, high = sides(plan, order)
    marks: list[Mark] = []
    ways = [(hand, how) for hand in (chart.hand, _other(chart.hand)) for how in _WAYS]
    for place, (hand, how) in enumerate(ways):
        left = at[0] + place % in_line * (size + gap)
        top = at[1] + place // in_line * (tall + gap)
        marks.append(Boxes(((left, top, size, tall),), _FRAME, "hand box"))
        held = (low[0], high[-1]) if hand == "right" else (high[-1], low[0])
        marks += _hands(chart, (left + size / 2, top + 10.5), held, how, hand, order)
        if look.words:
            told = (_title(hand, how), _told(chart, low, high, hand, how))
            marks += _text(told, (left + 2, top + PICTURE + 2 * look.scale), size - 4, look.scale)
    return marks, at[1] + lines * tall + (lines - 1) * gap


def sides(plan: Strands, order: tuple[int, ...]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The round's yarns that are held as the under yarn, and those held as the over yarn."""
    low = tuple(y for y in order if y in plan.under)
    if not low or len(low) == len(order):
        low = order[:1]
    return low, tuple(y for y in order if y not in low)


def _other(hand: str) -> str:
    return "left" if hand == "right" else "right"


def _title(hand: str, how: str) -> str:
    return f"{hand.capitalize()}-handed, {'two hands' if how == 'two-handed' else 'one hand'}"


def _told(chart: Chart, low: tuple[int, ...], high: tuple[int, ...], hand: str, how: str) -> str:
    under, over = (listed([chart.yarns[y].name for y in part]) for part in (low, high))
    if how == "two-handed":
        left, right = (under, over) if hand == "right" else (over, under)
        return f"Left hand {left}, right hand {right}."
    return f"{under} always from beneath, {over} always over the top."


def _text(lines: Sequence[str], at: Point, width: float, scale: float) -> list[Mark]:
    size = 2.7 * scale
    marks: list[Mark] = []
    y = at[1]
    for number, line in enumerate(lines):
        parts = [fit(clean(line), size, width)] if number == 0 else wrap(clean(line), size, width)
        for part in _at_most(parts, 2, size, width):
            marks.append(Label((at[0], y), part, size, bold=number == 0, name="hand words"))
            y += 1.35 * size
    return marks


def _at_most(lines: list[str], most: int, size: float, width: float) -> list[str]:
    """The first lines, the last of them marked when more would follow."""
    if len(lines) <= most:
        return lines
    return [*lines[: most - 1], fit(" ".join(lines[most - 1 :]), size, width)]


def _hands(
    chart: Chart,
    middle: Point,
    held: tuple[int, int],
    how: str,
    hand: str,
    order: tuple[int, ...],
) -> list[Mark]:
    """Both hands with a yarn each, or one hand with both."""
    x, y = middle
    if how == "two-handed":
        left = _hand((x - 9.5, y), mirrored=False)
        right = _hand((x + 9.5, y), mirrored=True)
        return [
            *left,
            *_held(chart, (x - 9.5, y), held[0], 0.0, 1),
            *right,
            *_held(chart, (x + 9.5, y), held[1], 0.0, -1),
        ]
    side = -1 if hand == "right" else 1
    return [
        *_hand((x, y), mirrored=hand == "right"),
        *_held(chart, (x, y), order[0], 1.7, side),
        *_held(chart, (x, y), order[-1], -1.7, side),
    ]


def _hand(middle: Point, *, mirrored: bool) -> list[Mark]:
    turn = -1 if mirrored else 1
    shape = tuple((middle[0] + turn * x, middle[1] + y) for x, y in _PALM)
    return [
        Paths((shape,), Style(fill="#f3e3d3", stroke="#6b5646", width=0.3), "hand", closed=True)
    ]


def _held(chart: Chart, middle: Point, yarn: int, drop: float, side: int) -> list[Mark]:
    """A yarn lying over the fingers, its end towards the needles."""
    x, y = middle
    steps = ((-7.4, 5.0), (-4.6, 0.6), (-2.0, -2.6), (1.4, -4.0), (7.4, -6.6))
    course = tuple((x + side * dx, y + dy + drop) for dx, dy in steps)
    colour = chart.yarns[yarn].colour
    return [
        Paths((course,), Style(stroke=shade(colour, 0.5), width=1.35), "held edge"),
        Paths((course,), Style(stroke=colour, width=1.0), f"held yarn-{yarn + 1}"),
    ]
