"""From a grid and the yarns there are to a canvas: tone, look, subject, focus and background."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.background import background
from pic2chart.canvas import FREE, Canvas
from pic2chart.grid import Grid
from pic2chart.likeness import View
from pic2chart.looks import Look, drawn, evened, hatched
from pic2chart.tone import fit_range, fit_tone, form_of, tone_levels
from pic2chart.yarn import Yarn

READABLE = 20
"""Stitches a subject should have across: a face is recognised less and less below about 18 cells
(Bachmann 1991, European Journal of Cognitive Psychology 3(1))."""
WELL = 30
"""Stitches across that are suggested."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Draft:
    """The canvas, and the picture as it is seen from across the room in these yarns' tones."""

    canvas: Canvas
    view: View


def draft(
    grid: Grid,
    yarns: tuple[Yarn, ...],
    yarn_lab: Floats,
    weight: Floats,
    look: Look,
    aspect: float,
    *,
    per_round: int = 2,
    ground: str | None = None,
    filler: str | None = None,
) -> Draft:
    """Draw the grid in a look. `yarn_lab` [K, 3]; `weight` [R, N]: how much each stitch matters.

    `ground` names the background's yarn, `filler` its pattern; both matter only where the grid has a
    background. With more yarns than a round may use, the drawing itself becomes the canvas's form.
    """
    light = yarn_lab[:, 0]
    share = grid.subject.astype(np.float64)
    plain = grid.target[..., 0].astype(np.float64)
    inked = drawn(plain, look, aspect)
    even = evened(inked, plain, look, aspect)
    several = len(yarns) > per_round == 2
    fit = fit_tone if len(yarns) == 2 else fit_range
    fitted = fit(even if len(yarns) == 2 else inked, share, light)
    target = grid.target.astype(np.float64)
    target[..., 0] = fitted if several else hatched(fitted, look, tone_levels(light))
    seen = fit(plain, share, light)
    wanted = background(grid.subject, seen, yarns, light, ground, filler)
    form = hatched(form_of(even, share), look, np.array([-1.0, 1.0])) if several else None
    canvas = Canvas.of(target, wanted, weight, form, aspect)
    behind = wanted != FREE
    seen = np.where(behind, light[np.where(behind, wanted, 0)], seen)
    return Draft(canvas, View(seen, aspect, subject=None if share.min() >= 0.5 else share >= 0.5))


def small_subject(grid: Grid) -> tuple[str, ...]:
    """A remark when the subject is too few stitches wide to be recognised, with the size to take."""
    columns = np.flatnonzero((grid.subject >= 0.5).any(axis=0))
    total = grid.subject.shape[1]
    if columns.size == 0 or columns.size == total:
        return ()
    wide = int(columns[-1] - columns[0] + 1)
    if wide >= READABLE:
        return ()
    enough = -(-total * WELL // wide)
    return (
        f"The subject is only {wide} stitches wide; under {READABLE} it is hard to recognise. "
        f"Crop closer round it with --crop, or use --stitches {enough} to make it {WELL} wide.",
    )
