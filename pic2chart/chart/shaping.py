"""Shaping: where stitches are joined, made, cast on or set aside, as the chart file tells it.

A garment's chart carries, among its further keys, `"shaping"`: a list of objects
`{"round", "stitch", "kind", "count"}` that count from 1. A decrease stands on the stitch it leaves,
an increase on the stitch it makes, a cast-on on the first stitch cast on; stitches set aside are
named by the first of them, in the round after the last in which they were knitted. Stitches of two
neighbouring rounds meet one another in knitting order, from the join on.

`"openings"` is a list of `{"round", "stitch", "count"}`: stitches knitted once with waste yarn,
below that round, to be opened later (a thumb).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart.hand import MIRRORED

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
