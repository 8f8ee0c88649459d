"""Shaping: where stitches are joined, made, cast on or set aside, as the chart file tells it.

A garment's chart carries, among its further keys, `"shaping"`: a list of objects
`{"round", "stitch", "kind", "count"}` that count from 1. A decrease stands on the stitch it leaves,
an increase on the stitch it makes, a cast-on on the first stitch cast on; stitches set aside are
named by the first of them, in the round after the last in which they were knitted. Stitches of two
neighbouring rounds meet one another in knitting order, from the join on.

Names are those usual in patterns (k2tog, ssk, M1L, M1R; Craft Yarn Council abbreviations, from
memory). k2tog leans to the right, ssk to the left.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal, get_args

Kind = Literal["k2tog", "ssk", "M1L", "M1R", "cast on", "hold"]
KINDS: tuple[Kind, ...] = get_args(Kind)

DECREASES: frozenset[str] = frozenset({"k2tog", "ssk"})
INCREASES: frozenset[str] = frozenset({"M1L", "M1R"})
MIRRORED: Mapping[str, Kind] = {"k2tog": "ssk", "ssk": "k2tog", "M1L": "M1R", "M1R": "M1L"}
MOST = 100_000


@dataclass(frozen=True, slots=True, order=True)
class Shaping:
    """One place of shaping; round and stitch count from 0. `count`: stitches cast on or held."""

    round: int
    stitch: int
    kind: Kind
    count: int = 1

    @property
    def used(self) -> int:
        """Stitches of the round before that it takes up."""
        return 2 if self.kind in DECREASES else self.count if self.kind == "hold" else 0

    @property
    def made(self) -> int:
        """Stitches of its own round that it leaves."""
        return {"hold": 0, "cast on": self.count}.get(self.kind, 1)

    def mirrored(self, width: int) -> Shaping:
        """The same in the mirror image of a chart `width` squares across."""
        last = self.stitch if self.kind in DECREASES | INCREASES else self.stitch + self.count - 1
        kind = MIRRORED.get(self.kind, self.kind)
        return Shaping(self.round, width - 1 - last, kind, self.count)


def shaping_data(shapings: Iterable[Shaping]) -> list[dict[str, Any]]:
    """Plain data for `Chart.extra["shaping"]`, counting from 1."""
    return [
        {"round": s.round + 1, "stitch": s.stitch + 1, "kind": s.kind}
        | ({"count": s.count} if s.kind in ("cast on", "hold") else {})
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


def _one(part: Any) -> Shaping | None:
    if not isinstance(part, Mapping) or part.get("kind") not in KINDS:
        return None
    numbers = [part.get("round"), part.get("stitch"), part.get("count", 1)]
    if not all(type(n) is int and 1 <= n <= MOST for n in numbers):
        return None
    return Shaping(numbers[0] - 1, numbers[1] - 1, part["kind"], numbers[2])
