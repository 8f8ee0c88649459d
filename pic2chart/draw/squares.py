"""The squares of a chart on paper: where each lies, and the marks drawn in and round them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import NO_STITCH, Chart
from pic2chart.draw.order import page_column, page_row, to_page
from pic2chart.draw.page import Anchor, Box, Boxes, Label, Lines, Mark, Point, Shape, Stamps, Style
from pic2chart.draw.symbols import symbol_stamps

ABSENT = "#dedede"
_INK = "#1c1c1c"
_PAPER = "#ffffff"


@dataclass(frozen=True, slots=True)
class Plan:
    """Where the squares lie: the top left corner of the grid and the size of a square, mm."""

    chart: Chart
    left: float
    top: float
    square: tuple[float, float]

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of all squares, mm."""
        return (
            self.chart.stitch_count * self.square[0],
            self.chart.round_count * self.square[1],
        )

    @property
    def right(self) -> float:
        return self.left + self.size[0]

    @property
    def bottom(self) -> float:
        return self.top + self.size[1]

    def corner(self, row: float, column: float) -> Point:
        """Top left corner of a square given by its page row and column."""
        return self.left + column * self.square[0], self.top + row * self.square[1]

    def middle(self, round_: int, stitch: int) -> Point:
        """The middle of a stitch's square; round and stitch count from 0."""
        row, column = page_row(self.chart, round_), page_column(self.chart, stitch)
        return self.corner(row + 0.5, column + 0.5)

    def middles(self, chosen: NDArray[np.bool_]) -> tuple[Point, ...]:
        """Middles of the squares chosen in an array in page order."""
        rows, columns = np.nonzero(chosen)
        return tuple(self.corner(r + 0.5, c + 0.5) for r, c in zip(rows, columns, strict=True))


def runs(grid: NDArray[np.uint8]) -> NDArray[np.intp]:
    """Runs of equal squares along the rows of a page grid, as [row, first, past the last, value]."""
    rows, width = grid.shape
    edge = np.ones((rows, width + 1), dtype=bool)
    edge[:, 1:-1] = grid[:, 1:] != grid[:, :-1]
    row, column = np.nonzero(edge)
    first = np.flatnonzero(column < width)
    values = grid[row[first], column[first]]
    return np.column_stack([row[first], column[first], column[first + 1], values])


def coloured_squares(plan: Plan) -> list[Mark]:
    """The squares of each yarn, merged along the rows, and then the yarn's symbol in each."""
    grid = to_page(plan.chart.stitches, plan.chart.hand)
    found = runs(grid)
    squares: list[Mark] = []
    symbols: list[Mark] = []
    for index, yarn in enumerate(plan.chart.yarns):
        boxes = _run_boxes(plan, found[found[:, 3] == index])
        stamps = symbol_stamps(index, yarn.colour, plan.middles(grid == index), min(plan.square))
        if boxes:
            squares.append(Boxes(boxes, Style(fill=yarn.colour), f"squares yarn-{index + 1}"))
        if stamps:
            symbols.append(stamps)
    return squares + symbols


def absent_squares(plan: Plan) -> list[Mark]:
    """Plain grey over the squares that hold no stitch; it also hides the fine lines there."""
    found = runs(to_page(plan.chart.stitches, plan.chart.hand))
    boxes = _run_boxes(plan, found[found[:, 3] == NO_STITCH])
    return [Boxes(boxes, Style(fill=ABSENT), "no-stitch")] if boxes else []


def _run_boxes(plan: Plan, found: NDArray[np.intp]) -> tuple[Box, ...]:
    width, height = plan.square
    return tuple(
        (*plan.corner(row, first), (past - first) * width, height) for row, first, past, _ in found
    )


def fine_lines(plan: Plan) -> list[Mark]:
    """A fine grey line between all squares, seen on light and dark yarns alike."""
    lines = _lines_at(plan, lambda _: True)
    return [Lines(lines, Style(stroke="#8c8c8c", width=0.09), "lines fine")]


def counting_lines(plan: Plan) -> list[Mark]:
    """A line every 5 and a heavier one every 10, counted from stitch 1 and round 1, and the frame.

    Each has a white line under it, so that it stands out on dark squares too.
    """
    fives = _lines_at(plan, lambda count: count % 10 == 5)
    tens = _lines_at(plan, lambda count: count % 10 == 0 and count > 0)
    marks: list[Mark] = []
    for lines, width, name in ((fives, 0.16, "fives"), (tens, 0.32, "tens")):
        if lines:
            marks.append(Lines(lines, Style(stroke=_PAPER, width=width + 0.2), "lines under"))
            marks.append(Lines(lines, Style(stroke=_INK, width=width), f"lines {name}"))
    frame = (plan.left, plan.top, *plan.size)
    return [*marks, Boxes((frame,), Style(stroke=_INK, width=0.32), "frame")]


def _lines_at(plan: Plan, wanted: Callable[[int], bool]) -> tuple[tuple[Point, Point], ...]:
    chart, (width, height) = plan.chart, plan.square
    lines = []
    for count in filter(wanted, range(chart.stitch_count)):
        x = plan.right - count * width if chart.hand == "right" else plan.left + count * width
        lines.append(((x, plan.top), (x, plan.bottom)))
    for count in filter(wanted, range(chart.round_count)):
        y = plan.bottom - count * height
        lines.append(((plan.left, y), (plan.right, y)))
    return tuple(lines)


def numbers(plan: Plan) -> list[Mark]:
    """Every round's number where that round starts, and stitch numbers 1, 5, 10, … along the foot."""
    size = min(2.6, 0.62 * min(plan.square))
    drop = 0.36 * size
    marks: list[Mark] = []
    for round_ in range(plan.chart.round_count):
        right = starts_right(plan.chart, round_)
        x = plan.right + 1.0 if right else plan.left - 1.0
        y = plan.middle(round_, 0)[1] + drop
        heavy = (round_ + 1) % 10 == 0
        anchor: Anchor = "start" if right else "end"
        marks.append(Label((x, y), str(round_ + 1), size, anchor, heavy, name="round-number"))
    for stitch in range(plan.chart.stitch_count):
        if stitch == 0 or (stitch + 1) % 5 == 0:
            at = (plan.middle(0, stitch)[0], plan.bottom + 1.0 + 0.75 * size)
            heavy = (stitch + 1) % 10 == 0
            marks.append(Label(at, str(stitch + 1), size, "middle", heavy, name="stitch-number"))
    return marks


def starts_right(chart: Chart, round_: int) -> bool:
    """Whether a round is read from the right-hand side of the page.

    In the round every round starts at stitch 1; flat, wrong-side rows come back (common practice).
    """
    wrong_side = not chart.in_round and round_ % 2 == 1
    return (chart.hand == "right") != wrong_side


def reading_arrows(plan: Plan, gap: float) -> list[Mark]:
    """An arrow beyond the number of round 1 (and of row 2 when flat), pointing the way to read."""
    rounds = [0] if plan.chart.in_round else [0, 1]
    marks: list[Mark] = []
    for round_ in (r for r in rounds if r < plan.chart.round_count):
        right = starts_right(plan.chart, round_)
        x = plan.right + gap if right else plan.left - gap
        away = 1.0 if right else -1.0
        shape = Shape((((3.2 * away, 0), (0, 0)), ((0.9 * away, -0.7), (0, 0), (0.9 * away, 0.7))))
        at = (x, plan.middle(round_, 0)[1])
        marks.append(Stamps(shape, (at,), Style(stroke=_INK, width=0.28), "arrow"))
    return marks


def repeat_box(plan: Plan) -> list[Mark]:
    """A heavy box round the repeat, which starts at stitch 1 of round 1."""
    if plan.chart.repeat is None:
        return []
    across = min(plan.chart.repeat[0], plan.chart.stitch_count)
    up = min(plan.chart.repeat[1], plan.chart.round_count)
    width, height = across * plan.square[0], up * plan.square[1]
    left = plan.right - width if plan.chart.hand == "right" else plan.left
    box: Box = (left, plan.bottom - height, width, height)
    under, over = Style(stroke=_PAPER, width=1.3), Style(stroke="#b00020", width=0.8)
    return [Boxes((box,), under, "repeat under"), Boxes((box,), over, "repeat")]
