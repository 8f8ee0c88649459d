"""A chart for the other hand: the same fabric, begun from its other side.

A left-handed knitter works the mirror image, left to right (common practice), so the first stitch
she comes to is the right-handed knitter's last. Turning the order of every round, and not the
picture, gives her the same picture.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from pic2chart.chart.chart import Catch, Chart

MIRRORED = {
    "k2tog": "ssk",
    "ssk": "k2tog",
    "increase-right": "increase-left",
    "increase-left": "increase-right",
}
"""The shaping that leans the same way on the fabric when worked with the other hand."""


def for_hand(chart: Chart, hand: Literal["right", "left"]) -> Chart:
    """The chart for that hand; itself when it is already."""
    if chart.hand == hand:
        return chart
    last = chart.stitch_count - 1
    return chart.with_(
        stitches=chart.stitches[:, ::-1],
        catches=tuple(Catch(c.round, last - c.stitch, c.yarn) for c in chart.catches),
        fixed=None if chart.fixed is None else chart.fixed[:, ::-1],
        hand=hand,
        strands={},
        extra={**chart.extra, **_told(chart, "shaping"), **_told(chart, "openings")},
    )


def _told(chart: Chart, name: str) -> dict[str, Any]:
    told = chart.extra.get(name)
    if not isinstance(told, list):
        return {}
    return {name: [_turned(part, chart.stitch_count) for part in told]}


def _turned(part: Any, stitches: int) -> Any:
    if not isinstance(part, Mapping) or not isinstance(part.get("stitch"), int):
        return part
    kind = part.get("kind")
    told = part.get("count", 1)
    count = told if isinstance(told, int) else 1
    turned = {"kind": MIRRORED.get(kind, kind)} if isinstance(kind, str) else {}
    return {**part, "stitch": stitches + 2 - count - part["stitch"], **turned}
