"""Views of pieces laid flat: part of a chart's stitches, each round as wide as its stitches are."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import NO_STITCH, Chart
from pic2chart.draw.order import to_page
from pic2chart.draw.page import Point
from pic2chart.garment.outline import Cell, Layer, Polygon, View

Widths = Callable[[int, int], float]
"""Width in cm of a round, from its number and its visible stitches."""


def fabric(
    chart: Chart,
    columns: Sequence[int],
    at: Point = (0.0, 0.0),
    *,
    first: int = 0,
    widths: Widths | None = None,
) -> Layer:
    """The stitches of some chart columns from round `first` on, every round centred over `at`.

    `columns` are chart columns (stitches from 0) in knitting order. `widths`: how wide a round lies,
    when not as wide as its stitches.
    """
    w, h = chart.gauge.stitch_width, chart.gauge.round_height
    page = to_page(chart.stitches[:, list(columns)], chart.hand)[::-1]
    cells: list[Cell] = []
    sides: list[tuple[float, float, float]] = []
    for up, row in enumerate(page[first:]):
        yarns = row[row != NO_STITCH]
        if not yarns.size:
            continue
        span = [w * yarns.size] * 2 if widths is None else [
            widths(first + up, yarns.size), widths(first + up + 1, yarns.size)
        ]  # fmt: skip
        low, high = at[1] + up * h, at[1] + (up + 1) * h
        cells += _row_cells(chart, yarns, at[0], span, (low, high))
        sides += [(span[0] / 2, low, at[0]), (span[1] / 2, high, at[0])]
    return Layer(tuple(cells), _around(sides))


def _row_cells(
    chart: Chart,
    yarns: NDArray[np.uint8],
    middle: float,
    span: Sequence[float],
    heights: tuple[float, float],
) -> list[Cell]:
    """The cells of one round, `span` wide at its foot and its head."""
    edges = [[middle + s * (i / yarns.size - 0.5) for i in range(yarns.size + 1)] for s in span]
    low, high = heights
    return [
        Cell(
            (
                (edges[0][i], low),
                (edges[0][i + 1], low),
                (edges[1][i + 1], high),
                (edges[1][i], high),
            ),
            chart.yarns[int(yarn)].colour,
        )
        for i, yarn in enumerate(yarns)
    ]


def _around(sides: Sequence[tuple[float, float, float]]) -> Polygon:
    right = [(x + half, y) for half, y, x in sides]
    left = [(x - half, y) for half, y, x in reversed(sides)]
    return tuple(right + left)


def front_columns(chart: Chart) -> list[int]:
    """The half of a tube that lies opposite the join."""
    count = chart.stitch_count
    return list(range(count // 4, count // 4 + count // 2))


def rib_layer(width: float, low: float, high: float, colour: str, middle: float = 0.0) -> Layer:
    """A block of ribbing, a little drawn in."""
    half = width / 2
    box = ((-half, low), (half, low), (half, high), (-half, high))
    return Layer(ribs=((tuple((x + middle, y) for x, y in box), colour),))


def tube_view(
    chart: Chart,
    caption: str,
    colour: str,
    below: float,
    above: float = 0.0,
    more: tuple[str, ...] = (),
) -> View:
    """A tube laid flat, seen from the side opposite the join, with ribbing below and above.

    `more`: further facts to tell under it.
    """
    layer = fabric(chart, front_columns(chart))
    width = chart.stitch_count / 2 * chart.gauge.stitch_width
    high = chart.round_count * chart.gauge.round_height
    layers = [rib_layer(width * 0.96, -below, 0.0, colour), layer]
    if above:
        layers.append(rib_layer(width * 0.96, high, high + above, colour))
    facts = (f"{2 * width:.1f} cm round", f"{high + below + above:.1f} cm high with ribbing")
    return View(caption, tuple(layers), (*facts, *more))


def disc_view(chart: Chart, first: int, wedges: int, caption: str, colour: str) -> View:
    """A crown from above: rounds from `first` on as rings, wedge beside wedge, its middle drawn up.

    `colour`: the ground's, seen between the stitches.
    """
    w, h = chart.gauge.stitch_width, chart.gauge.round_height
    total = chart.round_count - first
    inner = chart.live[-1].sum() * w / (2 * np.pi)
    page = to_page(chart.stitches, chart.hand)[::-1][first:]
    sector = chart.stitch_count // wedges
    cells: list[Cell] = []
    for up, row in enumerate(page):
        rings = (inner + (total - up) * h, inner + (total - up - 1) * h)
        for wedge in range(wedges):
            yarns = row[wedge * sector : (wedge + 1) * sector]
            yarns = yarns[yarns != NO_STITCH]
            turns = (wedge + np.arange(yarns.size + 1) / yarns.size) / wedges * 2 * np.pi
            cells += _ring_cells(chart, yarns, turns, rings)
    outer = inner + total * h
    circle = np.linspace(0, 2 * np.pi, 97)[:-1]
    edge = tuple((float(outer * np.cos(a)), float(outer * np.sin(a))) for a in circle)
    layer = Layer(tuple(cells), edge, plain=((edge, colour),))
    return View(caption, (layer,), (f"{2 * outer:.1f} cm across",), narrowed=True)


def _ring_cells(
    chart: Chart,
    yarns: NDArray[np.uint8],
    turns: NDArray[np.float64],
    rings: tuple[float, float],
) -> list[Cell]:
    """Stitches of one wedge in one ring; their feet are outside."""

    def place(radius: float, turn: float) -> Point:
        return float(-radius * np.cos(turn)), float(radius * np.sin(turn))

    return [
        Cell(
            (
                place(rings[0], turns[i]),
                place(rings[0], turns[i + 1]),
                place(rings[1], turns[i + 1]),
                place(rings[1], turns[i]),
            ),
            chart.yarns[int(yarn)].colour,
        )
        for i, yarn in enumerate(yarns)
    ]
