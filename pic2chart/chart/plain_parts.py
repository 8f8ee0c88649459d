"""Plain parts: what a garment has in one yarn outside its chart (ribbing, a body, sleeves).

A garment's chart carries, among its further keys, `"plain_parts"`: a list of objects
`{"part", "yarn", "stitches", "edge", "ends"}`. `stitches` are all stitches of the part, `edge` those
that are cast on or bound off, `ends` the yarn ends it leaves beyond the chart's own. A chart that
carries the list, be it empty, is no piece of its own: its first and last round are no edges.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pic2chart.chart.keys import KEYS

NAME = "plain_parts"
MOST_PARTS, MOST_STITCHES = 60, 10_000_000


@dataclass(frozen=True, slots=True)
class PlainPart:
    """`yarn` is an index into the chart's yarns; the rest counts stitches, and ends of yarn."""

    part: str
    yarn: int
    stitches: int
    edge: int = 0
    ends: int = 0


def plain_data(parts: Iterable[PlainPart]) -> list[dict[str, Any]]:
    """Plain data for `Chart.extra["plain_parts"]`, the yarn by its key."""
    return [
        {
            "part": part.part,
            "yarn": KEYS[part.yarn],
            "stitches": part.stitches,
            "edge": part.edge,
            "ends": part.ends,
        }
        for part in parts
    ]


def read_plain(extra: Mapping[str, Any], yarns: int) -> tuple[PlainPart, ...] | None:
    """The parts a chart's further keys tell, as far as they can be read; None when it tells of none.

    `yarns`: how many yarns the chart has.
    """
    told = extra.get(NAME)
    if not isinstance(told, (list, tuple)):
        return None
    read = (_part(part, yarns) for part in told[:MOST_PARTS])
    return tuple(part for part in read if part is not None)


def _part(told: Any, yarns: int) -> PlainPart | None:
    if not isinstance(told, Mapping) or not isinstance(told.get("part"), str):
        return None
    key = told.get("yarn")
    if not isinstance(key, str) or len(key) != 1 or key not in KEYS[:yarns]:
        return None
    counts = [told.get(name, 0) for name in ("stitches", "edge", "ends")]
    if not all(type(count) is int and 0 <= count <= MOST_STITCHES for count in counts):
        return None
    return PlainPart(told["part"][:200], KEYS.index(key), *counts)
