"""How a chart becomes a piece: its shaping, openings, plain parts, written pattern, and for whom.

Everything counts from 0, as the chart does; `construction_file` holds what a chart file says of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pic2chart.model.folds import Place, Unit

MIRRORED = {
    "k2tog": "ssk",
    "ssk": "k2tog",
    "increase-right": "increase-left",
    "increase-left": "increase-right",
}
"""The shaping that leans the same way on the fabric when worked with the other hand."""
USED: Mapping[str, int] = {"k2tog": 2, "ssk": 2, "centred": 3}
"""Decreases, and how many stitches of the round before each joins."""
INCREASES = frozenset({"increase", "increase-left", "increase-right"})
CAST_ON, HOLD = "cast-on", "hold"
CALLED: Mapping[str, str] = {
    "k2tog": "k2tog",
    "ssk": "ssk",
    "centred": "CDD",
    "increase": "M1",
    "increase-left": "M1L",
    "increase-right": "M1R",
}
"""What a knitter calls each decrease and increase, knitted (the usual abbreviations)."""
KINDS = frozenset({*USED, *INCREASES, CAST_ON, HOLD})
WORKED_IN = frozenset({*USED, *INCREASES})
"""Kinds that are worked in a stitch: decreases and increases."""


@dataclass(frozen=True, slots=True, order=True)
class Shaping:
    """One place of shaping; round and stitch count from 0. `count`: stitches cast on or held.

    A decrease stands on the stitch it leaves, an increase on the stitch it makes, a cast-on on the
    first stitch cast on; stitches set aside are named by the first of them, in the round after the
    last in which they were knitted. Stitches of two neighbouring rounds meet one another in knitting
    order, from the join on.
    """

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
    """`count` stitches from `stitch` on, below `round`, knitted with waste yarn; from 0.

    They are knitted again as told and opened later (a thumb).
    """

    round: int
    stitch: int
    count: int

    def mirrored(self, width: int) -> Opening:
        """The same in the mirror image of a chart `width` squares across."""
        return Opening(self.round, width - self.stitch - self.count, self.count)


@dataclass(frozen=True, slots=True, order=True)
class Ladder:
    """A stitch of `yarn` behind the square `stitch`, in `rounds` rounds from `round` on; from 0.

    It is worked after that square's stitch and counted with none of the chart's; in the round after its
    last it is worked together with the stitch that follows it. Its yarn is held there in every round.
    """

    round: int
    stitch: int
    yarn: int
    rounds: int

    @property
    def past(self) -> int:
        """The round after its last, in which it is closed."""
        return self.round + self.rounds

    def mirrored(self, width: int) -> Ladder:
        """The same in the mirror image of a chart `width` squares across."""
        return replace(self, stitch=width - 1 - self.stitch)


@dataclass(frozen=True, slots=True)
class PlainPart:
    """What a garment has in one yarn outside its chart (ribbing, a body, sleeves).

    `yarn` is an index into the chart's yarns. `stitches` are all stitches of the part, `edge` those
    that are cast on or bound off, `ends` the yarn ends it leaves beyond the chart's own.
    """

    part: str
    yarn: int
    stitches: int
    edge: int = 0
    ends: int = 0


class StepSection(NamedTuple):
    """A part of the written pattern: a heading and its lines."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Construction:
    """How the chart becomes a piece; a chart that is only a picture has the empty one.

    `shapings`: sorted, or None where the chart does not tell its shaping; one that does must account
    for every stitch. `plain_parts`: None for a chart that is a piece of its own, with its own cast-on
    and bound-off edge; with a tuple, be it empty, its first and last round are no edges. `steps`: the
    written pattern. `piece`: what the chart is a part of ('mitten'). `fit`: plain data of the body and
    the finished measures in cm and the counts chosen for them. `join`: the stitch at which every round
    of a garment begins and closes, None where the chart says nothing of it. `for_child`: strands,
    cords and buttons are looked at more strictly. `snags`: fingers or toes go into it, which its
    `piece` does not say by itself. `safe_limit`: the longest loose strand, in stitches, that they should
    meet there; None where the checks' own holds. `places`: parts of the round by name. `units`: what
    stands side by side and is told once. `ladders`: stitches behind wide grounds, sorted. `unread`: parts of a file's list of shaping that
    could not be read, as they stood.
    """

    shapings: tuple[Shaping, ...] | None = None
    openings: tuple[Opening, ...] = ()
    plain_parts: tuple[PlainPart, ...] | None = None
    steps: tuple[StepSection, ...] = ()
    piece: str | None = None
    fit: Mapping[str, Any] = field(default_factory=dict)
    join: int | None = None
    for_child: bool = False
    snags: bool = False
    places: tuple[Place, ...] = ()
    units: tuple[Unit, ...] = ()
    safe_limit: int | None = None
    ladders: tuple[Ladder, ...] = ()
    unread: tuple[Any, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "ladders", tuple(sorted(self.ladders)))
        if self.shapings is not None:
            object.__setattr__(self, "shapings", tuple(sorted(self.shapings)))

    @property
    def marks(self) -> tuple[Shaping, ...]:
        """All shaping told, none where none is."""
        return self.shapings or ()

    @property
    def set_aside(self) -> tuple[Shaping, ...]:
        """The stitches that go on waste yarn after the round before."""
        return tuple(s for s in self.marks if s.kind == HOLD)

    @property
    def steek_stitches(self) -> int:
        """Stitches of the steek that is cut open, 0 where there is none."""
        count = self.fit.get("steek_stitches", 0)
        return max(0, count) if isinstance(count, int) else 0

    def mirrored(self, width: int) -> Construction:
        """The same in the mirror image of a chart `width` squares across."""
        shapings = self.shapings
        return replace(
            self,
            shapings=None if shapings is None else tuple(s.mirrored(width) for s in shapings),
            openings=tuple(opening.mirrored(width) for opening in self.openings),
            places=tuple(sorted(place.mirrored(width) for place in self.places)),
            units=tuple(unit.mirrored(width) for unit in self.units),
            ladders=tuple(ladder.mirrored(width) for ladder in self.ladders),
            join=None if self.join is None else -self.join % width,
        )


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
