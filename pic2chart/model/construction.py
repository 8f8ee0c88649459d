"""Plain parts: what a garment has in one yarn outside its chart (ribbing, a body, sleeves).

A garment's chart carries, among its further keys, `"plain_parts"`: a list of objects
`{"part", "yarn", "stitches", "edge", "ends"}`. `stitches` are all stitches of the part, `edge` those
that are cast on or bound off, `ends` the yarn ends it leaves beyond the chart's own. A chart that
carries the list, be it empty, is no piece of its own: its first and last round are no edges.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from pic2chart.model.chart import Catch, Chart
from pic2chart.model.keys import KEYS

# A chart for the other hand: the same fabric, begun from its other side.
#
# A left-handed knitter works the mirror image, left to right (common practice), so the first stitch
# she comes to is the right-handed knitter's last. Turning the order of every round, and not the
# picture, gives her the same picture.

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


# Shaping: where stitches are joined, made, cast on or set aside, as the chart file tells it.
#
# A garment's chart carries, among its further keys, `"shaping"`: a list of objects
# `{"round", "stitch", "kind", "count"}` that count from 1. A decrease stands on the stitch it leaves,
# an increase on the stitch it makes, a cast-on on the first stitch cast on; stitches set aside are
# named by the first of them, in the round after the last in which they were knitted. Stitches of two
# neighbouring rounds meet one another in knitting order, from the join on.
#
# `"openings"` is a list of `{"round", "stitch", "count"}`: stitches knitted once with waste yarn,
# below that round, to be opened later (a thumb).

USED: Mapping[str, int] = {"k2tog": 2, "ssk": 2, "centred": 3}
"""Decreases, and how many stitches of the round before each joins."""
INCREASES = frozenset({"increase", "increase-left", "increase-right"})
CAST_ON, HOLD = "cast-on", "hold"
KINDS = frozenset({*USED, *INCREASES, CAST_ON, HOLD})
MOST = 100_000


@dataclass(frozen=True, slots=True, order=True)
class Shaping:
    """One place of shaping; round and stitch count from 0. `count`: stitches cast on or held."""

    round: int
    stitch: int
    kind: str
    count: int = 1

    @property
    def used(self) -> int:
        """Stitches of the round before that it takes up."""
        return self.count if self.kind == HOLD else USED.get(self.kind, 0)

    def moved(self, across: int, up: int = 0) -> Shaping:
        """The same, that many squares to the left and rounds up."""
        return Shaping(self.round + up, self.stitch + across, self.kind, self.count)

    def mirrored(self, width: int) -> Shaping:
        """The same in the mirror image of a chart `width` squares across."""
        last = self.stitch + self.count - 1
        kind = MIRRORED.get(self.kind, self.kind)
        return Shaping(self.round, width - 1 - last, kind, self.count)


@dataclass(frozen=True, slots=True, order=True)
class Opening:
    """`count` stitches from `stitch` on, below `round`, knitted with waste yarn; from 0."""

    round: int
    stitch: int
    count: int

    def mirrored(self, width: int) -> Opening:
        """The same in the mirror image of a chart `width` squares across."""
        return Opening(self.round, width - self.stitch - self.count, self.count)


def worked(
    live: NDArray[np.bool_], shapings: Iterable[Shaping]
) -> list[tuple[int, Shaping | None]]:
    """What one round works, in knitting order: (column, its shaping or None for a plain stitch).

    `live`: bool [squares], the round's stitches; `shapings`: those of that round.
    """
    marked: dict[int, Shaping] = {}
    held: list[tuple[int, Shaping | None]] = []
    for shaping in shapings:
        if shaping.kind == HOLD:
            held.append((shaping.stitch, shaping))
        else:
            marked |= {shaping.stitch + i: shaping for i in range(shaping.count)}
    stitches = [(int(c), marked.get(int(c))) for c in np.flatnonzero(live)]
    return sorted([*held, *stitches], key=lambda event: event[0])


def shaping_data(shapings: Iterable[Shaping]) -> list[dict[str, Any]]:
    """Plain data for `Chart.extra["shaping"]`, counting from 1."""
    return [
        {"round": s.round + 1, "stitch": s.stitch + 1, "kind": s.kind}
        | ({"count": s.count} if s.kind in (CAST_ON, HOLD) else {})
        for s in sorted(shapings)
    ]


def read_shaping(extra: Mapping[str, Any]) -> tuple[tuple[Shaping, ...], int]:
    """The shaping a chart's further keys tell, and how many parts of the list cannot be read."""
    parts = extra.get("shaping", [])
    if not isinstance(parts, (list, tuple)):
        return (), 1
    read = [_one(part) for part in parts[:MOST]]
    good = tuple(sorted(s for s in read if s is not None))
    return good, len(parts) - len(good)


def opening_data(openings: Iterable[Opening]) -> list[dict[str, int]]:
    """Plain data for `Chart.extra["openings"]`, counting from 1."""
    return [{"round": o.round + 1, "stitch": o.stitch + 1, "count": o.count} for o in openings]


def read_openings(extra: Mapping[str, Any]) -> tuple[Opening, ...]:
    """The openings a chart's further keys tell, as far as they can be read."""
    parts = extra.get("openings", [])
    read = map(_numbers, parts[:MOST]) if isinstance(parts, (list, tuple)) else ()
    return tuple(Opening(n[0] - 1, n[1] - 1, n[2]) for n in read if n is not None)


def _one(part: Any) -> Shaping | None:
    numbers = _numbers(part)
    kind = part.get("kind") if numbers is not None else None
    if numbers is None or not isinstance(kind, str) or kind not in KINDS:
        return None
    count = numbers[2] if kind in (CAST_ON, HOLD) else 1
    return Shaping(numbers[0] - 1, numbers[1] - 1, kind, count)


def _numbers(part: Any) -> tuple[int, int, int] | None:
    """Round, stitch and count of a part, each from 1."""
    if not isinstance(part, Mapping):
        return None
    numbers = (part.get("round"), part.get("stitch"), part.get("count", 1))
    if not all(type(n) is int and 1 <= n <= MOST for n in numbers):
        return None
    return numbers  # type: ignore[return-value]  # checked just above


# The written pattern a garment's chart carries among its further keys, read with care.
#
# `"steps"` is a list of `{"heading", "lines"}`. Whatever does not fit is passed over.

MOST_SECTIONS, MOST_LINES, MOST_LETTERS = 60, 400, 2000

Section = tuple[str, tuple[str, ...]]
"""A heading and its lines."""


def read_steps(extra: Mapping[str, Any]) -> tuple[Section, ...]:
    """The sections that can be read, in order; at most 60 of 400 lines of 2000 letters."""
    told = extra.get("steps")
    parts = told[:MOST_SECTIONS] if isinstance(told, list) else []
    read = (_section(part) for part in parts)
    return tuple(section for section in read if section is not None)


def _section(part: Any) -> Section | None:
    if not isinstance(part, Mapping) or not isinstance(part.get("heading"), str):
        return None
    lines = part.get("lines")
    if not isinstance(lines, list):
        return None
    kept = tuple(line[:MOST_LETTERS] for line in lines[:MOST_LINES] if isinstance(line, str))
    return part["heading"][:MOST_LETTERS], kept


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


_DRAWN = frozenset({*USED, *INCREASES})


def shapings(chart: Chart) -> tuple[Shaping, ...]:
    """The decreases and increases the chart's file speaks of, as far as they lie on the chart."""
    return tuple(
        s
        for s in read_shaping(chart.extra)[0]
        if s.kind in _DRAWN and s.round < chart.round_count and s.stitch < chart.stitch_count
    )
