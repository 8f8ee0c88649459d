"""The live stitches of a chart, listed round by round in knitting order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart.chart import NO_STITCH, Stitches

Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Live:
    """The live stitches one after another in knitting order, with their places in their rounds.

    `round`, `column`, `yarn`, `place`: int [live stitches]; `place` counts the round's live
    stitches from 0. `first`, `count`: int [rounds], where a round begins in that list and how many
    live stitches it has. `number`: int [rounds, stitches], index into the list (0 at no stitch).
    """

    round: Ints
    column: Ints
    yarn: Ints
    place: Ints
    first: Ints
    count: Ints
    number: Ints

    @classmethod
    def of(cls, stitches: Stitches) -> Live:
        """List the live stitches of uint8 [rounds, stitches]."""
        live = stitches != NO_STITCH
        flat = np.flatnonzero(live)
        rounds, columns = np.divmod(flat, stitches.shape[1])
        count = live.sum(axis=1, dtype=np.intp)
        first = np.cumsum(count) - count
        place = np.arange(len(flat)) - first[rounds]
        number = np.zeros(stitches.shape, np.intp)
        number[live] = np.arange(len(flat))
        yarn = stitches.ravel()[flat].astype(np.intp)
        return cls(rounds, columns, yarn, place, first, count, number)

    def columns(self, round: int, place: int, length: int) -> Ints:
        """The columns of `length` live stitches of a round from a place on, round the join."""
        places = (place + np.arange(length)) % self.count[round]
        return np.asarray(self.column[self.first[round] + places])
