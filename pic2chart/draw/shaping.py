"""Shaping marks: decreases and increases drawn on the squares they are worked in.

A chart file says where they are under `shaping`: `[{"round": 30, "stitch": 1, "kind": "k2tog"}]`,
counted from 1. The slants are those of the Craft Yarn Council's knit chart symbols (from memory):
`/` two together leaning right, `\\` leaning left. The others are plain figures of the project's own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pic2chart.chart import Chart
from pic2chart.chart.hand import MIRRORED
from pic2chart.chart.shaping import HOLD, Shaping, read_openings, read_shaping
from pic2chart.draw.page import Lines, Mark, Point, Shape, Stamps, Style
from pic2chart.draw.squares import PAPER, Plan

_INK = "#b00020"
_UP = ((0.0, -0.6), (0.0, 0.6))


@dataclass(frozen=True, slots=True)
class Sign:
    """How a kind of shaping is drawn, inside the square from -1 to 1, and named in the key."""

    words: str
    lines: tuple[tuple[Point, ...], ...]


SHAPES: Mapping[str, Sign] = {
    "k2tog": Sign("two together, leaning right", (((-0.7, 0.75), (0.7, -0.75)),)),
    "ssk": Sign("two together, leaning left", (((-0.7, -0.75), (0.7, 0.75)),)),
    "centred": Sign(
        "three together, the middle one on top",
        (((-0.7, 0.75), (0.0, -0.75), (0.7, 0.75)), ((0, -0.75), (0, 0.75))),
    ),
    "increase-right": Sign(
        "one made, leaning right", (_UP, ((-0.6, 0.0), (0.6, 0.0)), ((0.0, -0.6), (0.6, -0.6)))
    ),
    "increase-left": Sign(
        "one made, leaning left", (_UP, ((-0.6, 0.0), (0.6, 0.0)), ((0.0, -0.6), (-0.6, -0.6)))
    ),
    "increase": Sign("one made", (_UP, ((-0.6, 0.0), (0.6, 0.0)))),
}
"""Every kind of shaping, in the order of the key."""


def sign(kind: str, hand: str) -> Sign:
    """The sign of a kind; worked by the left hand it leans the other way."""
    return SHAPES[kind if hand == "right" else MIRRORED.get(kind, kind)]


def named(kind: str, hand: str) -> str:
    """'k2tog: two together, leaning right', as the words call it and what it does."""
    return f"{kind}: {sign(kind, hand).words}"


def shapings(chart: Chart) -> tuple[Shaping, ...]:
    """The decreases and increases the chart's file speaks of, as far as they lie on the chart."""
    return tuple(
        s
        for s in read_shaping(chart.extra)[0]
        if s.kind in SHAPES and s.round < chart.round_count and s.stitch < chart.stitch_count
    )


def shaping_marks(plan: Plan) -> list[Mark]:
    """The sign of every shaping in its square, red on a white line that lifts it."""
    found = shapings(plan.chart)
    marks: list[Mark] = []
    for kind in SHAPES:
        places = tuple(plan.middle(s.round, s.stitch) for s in found if s.kind == kind)
        if places:
            marks += shape_stamps(kind, places, plan.square, plan.chart.hand)
    return marks + opening_marks(plan)


def opening_marks(plan: Plan) -> list[Mark]:
    """A heavy line along the foot of the stitches below which waste yarn is knitted in, and along the
    head of those that are set aside on it.
    """
    chart, half = plan.chart, plan.square[1] / 2
    spans = [(o.round, o.stitch, o.count, half) for o in read_openings(chart.extra)]
    spans += [(s.round - 1, s.stitch, s.count, -half) for s in set_aside(chart)]
    lines = []
    for r, first, count, edge in spans:
        ends = [first, first + count - 1]
        if not (0 <= r < chart.round_count and ends[1] < chart.stitch_count):
            continue
        places = [plan.middle(r, stitch) for stitch in ends]
        left, right = min(x for x, _ in places), max(x for x, _ in places)
        y = places[0][1] + edge
        lines.append(((left - plan.square[0] / 2, y), (right + plan.square[0] / 2, y)))
    return opening_lines(tuple(lines), 0.3 * min(plan.square)) if lines else []


def set_aside(chart: Chart) -> tuple[Shaping, ...]:
    """The stitches that go on waste yarn after the round before."""
    return tuple(s for s in read_shaping(chart.extra)[0] if s.kind == HOLD)


def opening_lines(lines: tuple[tuple[Point, Point], ...], width: float) -> list[Mark]:
    """The lines of openings, on a white line that lifts them."""
    return [
        Lines(lines, Style(stroke=PAPER, width=1.7 * width), "opening under"),
        Lines(lines, Style(stroke=_INK, width=width), "opening"),
    ]


def shape_stamps(
    kind: str, places: tuple[Point, ...], square: tuple[float, float], hand: str = "right"
) -> list[Mark]:
    """The sign of one kind at the middles of its squares."""
    x, y = 0.42 * square[0], 0.42 * square[1]
    lines = tuple(tuple((px * x, py * y) for px, py in line) for line in sign(kind, hand).lines)
    thin = 0.11 * min(square)
    under, over = Style(stroke=PAPER, width=2.2 * thin), Style(stroke=_INK, width=thin)
    return [
        Stamps(Shape(lines), places, under, "shaping under"),
        Stamps(Shape(lines), places, over, f"shaping {kind}"),
    ]
