"""The thing in hand: the garment a project makes, for whom, and what was painted on its pieces.

A garment is made anew whenever its settings change; what was painted is therefore kept apart from
it, stitch by stitch, and laid over each piece again as long as the piece keeps its size.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError
from pic2chart.core.messages import Message, message
from pic2chart.desk.edits import Edit, edit
from pic2chart.desk.facts import yarns_of
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.painted_pieces import (
    PaintedPiece,
    StitchAt,
    fixed_of,
    painted_over,
    places_of,
    resting,
    worked_again,
)
from pic2chart.garment.piece import Piece
from pic2chart.model import plain_json as read
from pic2chart.model.chart import NO_STITCH, Chart

IN_PLACE = ("paint", "fill", "fix", "place", "mirror", "repeat")
"""Edits that leave a piece its shape, which follows from the measures."""


@dataclass(frozen=True, slots=True)
class InHand:
    """A kind of garment, its options as asked for, and what was painted, by its pieces' names."""

    kind: str
    options: Mapping[str, Any] = field(default_factory=dict)
    painted: Mapping[str, PaintedPiece] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """How many stitches are painted."""
        return sum(len(painted.stitches) for painted in self.painted.values())

    def to_plain(self) -> dict[str, Any]:
        """Plain data for a step of the history."""
        painted = {name: one.to_plain() for name, one in self.painted.items()}
        return {"kind": self.kind, "options": dict(self.options), "painted": painted}

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> InHand | None:
        """Read what `to_plain` wrote, None for nothing. Raises InputError, KeyError, ValueError."""
        if not plain:
            return None
        kind = read.text(plain["kind"], "kind", 40)
        if kind not in GARMENTS:
            raise ValueError(f"there is no garment '{kind}'")
        painted = read.mapping(plain["painted"], "painted")
        return cls(
            kind,
            read.mapping(plain["options"], "options"),
            {str(name): PaintedPiece.from_plain(one) for name, one in painted.items()},
        )

    def worked(self, piece: Piece) -> Piece:
        """The piece with what was painted on it; its catches are planned anew, and it is checked."""
        return painted_over(piece, self.painted.get(piece.name))

    def resting(self, pieces: tuple[Piece, ...]) -> tuple[Message, ...]:
        """A remark when painted stitches rest because their piece has another size now."""
        return resting(self.painted, pieces)

    def after(self, piece: Piece, done: Piece, partner: Piece | None) -> InHand:
        """The thing after `piece`, as it was worked, became `done`; on a `partner`, its mirror image,
        the same is painted.
        """
        before, now = piece.chart, done.chart
        fixed, held = fixed_of(before), fixed_of(now)
        changed = (now.stitches != before.stitches) | (held & ~fixed)
        let_go = fixed & ~held
        painted = dict(self.painted)
        for target, turned in ((piece, False), (partner, True)):
            if target is not None:
                painted[target.name] = _painted_on(
                    self.painted.get(target.name), now, (changed, let_go), turned
                )
        return replace(self, painted=painted)


def edited(piece: Piece, request: Mapping[str, Any]) -> tuple[Piece, str]:
    """A worked piece after a change by hand, and what was done. Raises InputError."""
    done = edited_only(piece.chart, request)
    return worked_again(piece, done.chart.stitches, fixed_of(done.chart)), done.what


def edited_only(chart: Chart, request: Mapping[str, Any]) -> Edit:
    """An edit of a piece's chart, its catches left as they were. Raises InputError."""
    if request.get("kind") not in IN_PLACE:
        raise InputError(message("piece-keeps-its-shape"))
    done = edit(chart, request)
    stitches = np.where(chart.live, done.chart.stitches, NO_STITCH).astype(np.uint8)
    stitches = np.where(chart.live & (stitches == NO_STITCH), chart.stitches, stitches)
    fixed = fixed_of(done.chart) & chart.live
    return replace(done, chart=done.chart.with_(stitches=stitches, fixed=fixed))


def mirrored_name(name: str) -> str | None:
    """'left-hand' for 'right-hand'; None for a piece without a mirror image."""
    for one, other in (("right", "left"), ("left", "right")):
        if name == one or name.startswith(f"{one}-"):
            return other + name.removeprefix(one)
    return None


def _painted_on(
    before: PaintedPiece | None,
    now: Chart,
    where: tuple[NDArray[np.bool_], NDArray[np.bool_]],
    turned: bool,
) -> PaintedPiece:
    """What is painted on a piece after stitches were changed and let go; `turned`: left for right."""
    changed, let_go = (part[:, ::-1] if turned else part for part in where)
    source = now.stitches[:, ::-1] if turned else now.stitches
    stitches: dict[StitchAt, int] = {}
    if before is not None and before.fits(now):
        place = places_of(before.yarns, now)
        stitches = {at: place[yarn] for at, yarn in before.stitches.items() if not let_go[at]}
    for r, s in np.argwhere(changed).tolist():
        if source[r, s] != NO_STITCH:
            stitches[r, s] = int(source[r, s])
    return PaintedPiece(now.stitches.shape, yarns_of(now), stitches)
