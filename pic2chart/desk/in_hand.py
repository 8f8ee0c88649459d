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
from pic2chart.design.checked import caught, checked
from pic2chart.desk.edits import Edit, edit
from pic2chart.desk.facts import yarns_of
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.piece import Piece
from pic2chart.model import plain_json as read
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.yarn import Yarn, yarn_lab
from pic2chart.stranding.strands import with_strands

StitchAt = tuple[int, int]
"""Round and stitch of a piece, both from 0."""

IN_PLACE = ("paint", "fill", "fix", "place", "mirror", "repeat")
"""Edits that leave a piece its shape, which follows from the measures."""
_MOST = 250_000


@dataclass(frozen=True, slots=True)
class PaintedPiece:
    """Stitches painted on a piece of `shape` (rounds, stitches): the index into `yarns`, which are
    written as the setting writes them, by place.
    """

    shape: tuple[int, int]
    yarns: tuple[str, ...]
    stitches: Mapping[StitchAt, int]

    def to_plain(self) -> dict[str, Any]:
        """Plain data."""
        places = [[r, s, yarn] for (r, s), yarn in sorted(self.stitches.items())]
        return {"shape": list(self.shape), "yarns": list(self.yarns), "stitches": places}

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> PaintedPiece:
        """Read what `to_plain` wrote. Raises InputError, KeyError, TypeError or ValueError."""
        rounds, across = (int(side) for side in plain["shape"])
        yarns = tuple(read.text(yarn, "a yarn", 400) for yarn in plain["yarns"])
        given = read.sequence(plain["stitches"], "painted stitches", 0, _MOST)
        stitches = {(int(r), int(s)): int(yarn) for r, s, yarn in given}
        for (r, s), yarn in stitches.items():
            if not (0 <= r < rounds and 0 <= s < across and 0 <= yarn < len(yarns)):
                raise ValueError("a painted stitch lies outside its piece")
        return cls((rounds, across), yarns, stitches)

    def fits(self, chart: Chart) -> bool:
        """Whether a piece still has the size it had."""
        return chart.stitches.shape == self.shape

    def over(self, chart: Chart) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
        """The chart's stitches with the painted ones over them, and where those lie; yarns are found
        by name, or else the nearest colour is taken.
        """
        place = _places_of(self.yarns, chart)
        stitches = chart.stitches.copy()
        for (r, s), yarn in self.stitches.items():
            stitches[r, s] = place[yarn]
        here = np.zeros(chart.stitches.shape, bool)
        here[tuple(np.array(list(self.stitches), int).reshape(-1, 2).T)] = True
        here &= chart.live
        return np.where(here, stitches, chart.stitches), here


def _places_of(texts: tuple[str, ...], chart: Chart) -> list[int]:
    """For each of some yarns, the chart's yarn of that name, or else the nearest in colour."""
    yarns = [Yarn.parse(text) for text in texts]
    away = ((yarn_lab(yarns)[:, None] - yarn_lab(chart.yarns)) ** 2).sum(axis=2)
    for old, before in enumerate(yarns):
        for new, now in enumerate(chart.yarns):
            if before.name.casefold() == now.name.casefold():
                away[old, new] = -1.0
    return [int(index) for index in away.argmin(axis=1)]


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
        painted = self.painted.get(piece.name)
        if painted is None or not painted.stitches or not painted.fits(piece.chart):
            return piece
        stitches, here = painted.over(piece.chart)
        return _again(piece, stitches, _fixed(piece.chart) | here)

    def resting(self, pieces: tuple[Piece, ...]) -> tuple[Message, ...]:
        """A remark when painted stitches rest because their piece has another size now."""
        sizes = {piece.name: piece.chart for piece in pieces}
        lost = sum(
            len(painted.stitches)
            for name, painted in self.painted.items()
            if name not in sizes or not painted.fits(sizes[name])
        )
        return (message("painted-stitches-rest", count=lost),) if lost else ()

    def after(self, piece: Piece, done: Piece, partner: Piece | None) -> InHand:
        """The thing after `piece`, as it was worked, became `done`; on a `partner`, its mirror image,
        the same is painted.
        """
        before, now = piece.chart, done.chart
        fixed, held = _fixed(before), _fixed(now)
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
    return _again(piece, done.chart.stitches, _fixed(done.chart)), done.what


def edited_only(chart: Chart, request: Mapping[str, Any]) -> Edit:
    """An edit of a piece's chart, its catches left as they were. Raises InputError."""
    if request.get("kind") not in IN_PLACE:
        raise InputError(message("piece-keeps-its-shape"))
    done = edit(chart, request)
    stitches = np.where(chart.live, done.chart.stitches, NO_STITCH).astype(np.uint8)
    stitches = np.where(chart.live & (stitches == NO_STITCH), chart.stitches, stitches)
    fixed = _fixed(done.chart) & chart.live
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
        place = _places_of(before.yarns, now)
        stitches = {at: place[yarn] for at, yarn in before.stitches.items() if not let_go[at]}
    for r, s in np.argwhere(changed).tolist():
        if source[r, s] != NO_STITCH:
            stitches[r, s] = int(source[r, s])
    return PaintedPiece(now.stitches.shape, yarns_of(now), stitches)


def _again(piece: Piece, stitches: NDArray[np.uint8], fixed: NDArray[np.bool_]) -> Piece:
    """The piece with other stitches: caught, stranded and checked again."""
    chart, remarks = caught(piece.chart.with_(stitches=stitches, fixed=fixed))
    notes = tuple(dict.fromkeys((*piece.report.remarks, *remarks)))
    result = checked(with_strands(chart), notes)
    return replace(piece, chart=result.chart, findings=result.findings, report=result.report)


def _fixed(chart: Chart) -> NDArray[np.bool_]:
    return np.zeros(chart.stitches.shape, bool) if chart.fixed is None else chart.fixed.copy()
