"""The one flip from knitting order to page order.

Right-handed: the page's top row is the last round, its right-hand column is stitch 1. A left-handed
knitter works the mirror image, left to right (common practice), so stitch 1 is on the left.
"""

from __future__ import annotations

from typing import Any

from numpy.typing import NDArray

from pic2chart.model.chart import Chart


def to_page(knitted: NDArray[Any], hand: str) -> NDArray[Any]:
    """Turn an array [round, stitch, …] into [page row, page column, …] for that hand."""
    return knitted[::-1, ::-1] if hand == "right" else knitted[::-1]


def page_row(chart: Chart, round_: int) -> int:
    """The page row (0 at the top) of a round (0 knitted first)."""
    return chart.round_count - 1 - round_


def page_column(chart: Chart, stitch: int) -> int:
    """The page column (0 on the left) of a stitch (0 where a right-side row starts)."""
    return chart.stitch_count - 1 - stitch if chart.hand == "right" else stitch
