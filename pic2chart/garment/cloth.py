"""The canvas of a garment's piece while it is being drawn: filler, edges, motif, one over another."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.canvas import FREE, Canvas
from pic2chart.garment.design import Design, Motif
from pic2chart.garment.shape import Shape
from pic2chart.yarn.lab import yarn_lab

_LOOSE = 0.04
"""What the very yarn of a filler's stitch weighs where only light and dark are asked for."""

Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]


class Cloth:
    """Arrays of one piece [rounds, squares]; later drawing covers earlier.

    `loose`: filler and edges may take other yarns of their kind, light or dark, where there are more
    than a round may use.
    """

    def __init__(self, design: Design, shape: Shape) -> None:
        size = shape.live.shape
        self.design = design
        self.live = shape.live
        self.target = np.zeros((*size, 3))
        self.weight = np.ones(size)
        self.fixed = np.full(size, FREE, np.uint8)
        self.wanted = np.full(size, design.ground, np.uint8)
        self.form = np.zeros(size)
        self.formed = False
        self.loose = True

    def fill(self, where: Bools, across: Ints, up: Ints | None = None) -> None:
        """Lay the filler over the squares of `where`; `across` [squares] and `up` [rounds] count
        stitches and rounds of the pattern, from any place in it.
        """
        tile = self.design.filler.tile
        rows = np.arange(len(where)) if up is None else up
        bits = tile[np.ix_(rows % tile.shape[0], across % tile.shape[1])]
        yarns = np.where(bits == 1, self.design.figure, self.design.ground)
        self.wanted[where] = yarns[where].astype(np.uint8)

    def line(self, where: Bools, yarn: int) -> None:
        """Stitches that stay as they are, where a round has room for both filler yarns; else wished."""
        if len(self.design.yarns) <= self.design.settings.per_round:
            self.fixed[where] = yarn
        self.wanted[where] = yarn

    def clear_beside(self, lines: Bools) -> None:
        """Take the filler from the stitches right beside some lines, so that these stand clear."""
        for row, line, live in zip(self.wanted, lines, self.live, strict=True):
            stitches = np.flatnonzero(live)
            here = line[stitches]
            beside = (np.roll(here, 1) | np.roll(here, -1)) & ~here
            row[stitches[beside]] = self.design.ground

    def paste(self, motif: Motif, round: int, stitch: int) -> None:
        """Lay a motif with its first stitch at that round and square; its background lets the filler
        show, but for a margin of one stitch of plain ground.
        """
        stitches, rounds = motif.size
        place = (slice(round, round + rounds), slice(stitch, stitch + stitches))
        subject, canvas = motif.subject, motif.canvas
        self._halo(subject, round, stitch)
        for mine, theirs in (
            (self.target, canvas.target),
            (self.weight, canvas.weight),
            (self.fixed, canvas.fixed),
            (self.wanted, canvas.wanted),
        ):
            mine[place][subject] = theirs[subject]
        self.wanted[place][subject & (canvas.fixed != FREE)] = FREE
        if canvas.form is not None:
            self.form[place][subject] = canvas.form[subject]
            self.formed = True

    def _halo(self, subject: Bools, round: int, stitch: int) -> None:
        """A ring of ground round the subject, inside this piece, but never over a fixed stitch."""
        around = np.pad(subject, 1)
        ring = np.zeros_like(around)
        for up in (-1, 0, 1):
            for across in (-1, 0, 1):
                ring |= np.roll(around, (up, across), (0, 1))
        rows, columns = np.nonzero(ring & ~around)
        rows, columns = rows + round - 1, columns + stitch - 1
        inside = (rows >= 0) & (rows < len(self.live))
        inside &= (columns >= 0) & (columns < self.live.shape[1])
        rows, columns = rows[inside], columns[inside]
        free = self.fixed[rows, columns] == FREE
        self.wanted[rows[free], columns[free]] = self.design.ground

    def _tidy(self) -> None:
        """Take out what is left of the filler's strokes where a motif cut them to single stitches."""
        figure = (self.wanted == self.design.figure) & self.live
        padded = np.pad(figure, 1)
        rounds, squares = figure.shape
        near = sum(
            padded[1 + up : 1 + up + rounds, 1 + across : 1 + across + squares].astype(int)
            for up in (-1, 0, 1)
            for across in (-1, 0, 1)
        )
        alone = figure & (near == 1) & (self.fixed == FREE)
        self.wanted[alone] = self.design.ground

    def _loosen(self) -> None:
        """With more yarns than a round may use, filler, edges and plain ground only ask for light and
        dark: their figure takes whichever yarn the round has for the motif.
        """
        d = self.design
        lab = yarn_lab(d.yarns)
        lighter = 1.0 if lab[d.ground, 0] > lab[d.figure, 0] else -1.0
        asked = (self.wanted != FREE) & (self.fixed == FREE)
        figure = asked & (self.wanted == d.figure)
        self.target[asked] = lab[d.ground]
        self.target[figure] = lab[d.figure]
        self.weight[asked] = _LOOSE
        self.form[asked] = lighter / _LOOSE
        self.form[figure] = -lighter / _LOOSE
        self.wanted[asked] = FREE
        self.formed = True

    def canvas(self) -> Canvas:
        """What the solver gets."""
        if not self.design.filler.isolated:
            self._tidy()
        if self.loose and len(self.design.yarns) > self.design.settings.per_round == 2:
            self._loosen()
        form = self.form if self.formed else None
        aspect = self.design.gauge.aspect
        return Canvas(self.target, self.weight, self.live, self.fixed, self.wanted, form, aspect)
