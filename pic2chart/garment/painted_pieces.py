"""Stitches painted on a garment's pieces, laid over each piece again when the garment is made anew.

A garment is made anew whenever its settings change; what was painted is therefore kept apart from it,
stitch by stitch, and stays as long as its piece keeps its size.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.messages import Message, message
from pic2chart.design.checked import caught, checked
from pic2chart.garment.piece import Piece
from pic2chart.model import plain_json as read
from pic2chart.model.chart import Chart, for_hand
from pic2chart.model.yarn import Yarn, nearest_yarns
from pic2chart.stranding.strands import with_strands

StitchAt = tuple[int, int]
"""Round and stitch of a piece, both from 0."""
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
        place = places_of(self.yarns, chart)
        stitches = chart.stitches.copy()
        for (r, s), yarn in self.stitches.items():
            stitches[r, s] = place[yarn]
        here = np.zeros(chart.stitches.shape, bool)
        here[tuple(np.array(list(self.stitches), int).reshape(-1, 2).T)] = True
        here &= chart.live
        return np.where(here, stitches, chart.stitches), here


def places_of(texts: Sequence[str], chart: Chart) -> list[int]:
    """For each of some yarns, the chart's yarn of that name, or else the nearest in colour."""
    nearest = nearest_yarns([Yarn.parse(text) for text in texts], chart.yarns)
    return [int(index) for index in nearest]


def painted_over(piece: Piece, painted: PaintedPiece | None) -> Piece:
    """The piece with what was painted on it, if it still has its size; caught and checked anew."""
    if painted is None or not painted.stitches or not painted.fits(piece.chart):
        return piece
    stitches, here = painted.over(piece.chart)
    return worked_again(piece, stitches, fixed_of(piece.chart) | here)


def resting(painted: Mapping[str, PaintedPiece], pieces: Sequence[Piece]) -> tuple[Message, ...]:
    """A remark when painted stitches rest because their piece, found by its name, has another size now."""
    sizes = {piece.name: piece.chart for piece in pieces}
    lost = sum(
        len(one.stitches)
        for name, one in painted.items()
        if name not in sizes or not one.fits(sizes[name])
    )
    return (message("painted-stitches-rest", count=lost),) if lost else ()


def staying(painted: Mapping[str, PaintedPiece], pieces: Sequence[Piece]) -> tuple[Message, ...]:
    """A remark that painted stitches stay, and how many."""
    kept = sum(
        len(painted[piece.name].stitches)
        for piece in pieces
        if piece.name in painted and painted[piece.name].fits(piece.chart)
    )
    return (message("painted-stitches-stay", count=kept),) if kept else ()


def painted_on(charts: Sequence[Chart], pieces: Sequence[Piece]) -> dict[str, PaintedPiece]:
    """What was painted on earlier charts of these pieces, by the pieces' names.

    A chart is its piece's by its title; what the piece holds fixed of itself is not painted. Charts of
    no piece go by their own titles, so that they are told of.
    """
    found: dict[str, PaintedPiece] = {}
    for chart in charts:
        piece = next((p for p in pieces if p.chart.title == chart.title), None)
        here = fixed_of(chart) & chart.live
        if piece is not None:
            chart = for_hand(chart, piece.chart.hand)
            here = fixed_of(chart) & chart.live
            if chart.stitches.shape == piece.chart.stitches.shape:
                here &= ~(fixed_of(piece.chart) & (chart.stitches == piece.chart.stitches))
        stitches = {(r, s): int(chart.stitches[r, s]) for r, s in np.argwhere(here).tolist()}
        yarns = tuple(yarn.text for yarn in chart.yarns)
        name = chart.title if piece is None else piece.name
        found[name] = PaintedPiece(chart.stitches.shape, yarns, stitches)
    return found


def worked_again(piece: Piece, stitches: NDArray[np.uint8], fixed: NDArray[np.bool_]) -> Piece:
    """The piece with other stitches: caught, stranded and checked again."""
    changed = stitches != piece.chart.stitches
    whole = piece.embroidered
    if whole is not None:
        whole = whole.with_(stitches=np.where(changed, stitches, whole.stitches))
    chart, remarks = caught(piece.chart.with_(stitches=stitches, fixed=fixed))
    notes = tuple(dict.fromkeys((*piece.report.remarks, *remarks)))
    result = checked(with_strands(chart), notes)
    return replace(
        piece, chart=result.chart, findings=result.findings, report=result.report, embroidered=whole
    )


def fixed_of(chart: Chart) -> NDArray[np.bool_]:
    """Bool [rounds, stitches]: what is kept by hand."""
    return np.zeros(chart.stitches.shape, bool) if chart.fixed is None else chart.fixed.copy()
