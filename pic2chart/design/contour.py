"""The subject's outline: where it runs among the stitches, the ground that shows it, and its price.

A subject is named by its outline first. Where subject and ground come to the same yarn the outline
is lost, so a designer chooses the ground against the outline and draws a contour of one stitch
where both still meet in one tone (common practice). Here the stitches along the inside of the
subject's edge ask for a yarn that stands off the ground, for a price that the solver weighs against
everything else: where the drawing is dark (or light) beside the ground already, nothing changes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.likeness import rim

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]

OUTLINE = 0.75
"""Weight of a stitch of the contour. A stitch of the subject that should be as light as the ground
weighs 1; what a contour adds to it is that less this, so that a small part of it wins over both."""
RELIEF = 0.3
"""Share of that weight which is left out where the stitches inside the contour show the outline."""
HALO = 2
"""Stitches of plain ground between a subject and the filler behind it."""


def ground_for(lightness: Floats, inside: Bools, yarn_lightness: Floats) -> int:
    """The yarn (index) from which the drawing along the outline stands off most.

    `lightness` [R, N]: L* that is to be knitted; `inside` bool [R, N]: the subject. Of a subject
    without an outline, the lightest yarn.
    """
    edge = rim(inside)
    if not edge.any():
        return int(yarn_lightness.argmax())
    nearest = np.abs(lightness[edge][:, None] - yarn_lightness).argmin(axis=1)
    counts = np.bincount(nearest, minlength=yarn_lightness.size)
    apart = np.abs(yarn_lightness[:, None] - yarn_lightness)
    return int((apart @ counts).argmax())


@dataclass(frozen=True, slots=True, eq=False)
class Contour:
    """What the contour asks for: at its `places` (rounds and stitches, each int [E]) one L*, that of the
    yarn farthest from the ground, with a `weight` [E]; less where the stitches inside the contour are
    drawn in it already.
    """

    places: tuple[NDArray[np.intp], NDArray[np.intp]]
    lightness: float
    weight: Floats


def contour(
    lightness: Floats, inside: Bools, edge: Bools, yarn_lightness: Floats, ground: int
) -> Contour:
    """The contour of the subject `inside` [R, N], whose outline is `edge` (`rim`), on a ground.

    `lightness` [R, N]: L* that is to be knitted.
    """
    off = int(np.abs(yarn_lightness - yarn_lightness[ground]).argmax())
    span = yarn_lightness[off] - yarn_lightness[ground]
    rounds, stitches = np.nonzero(edge if span else np.zeros_like(edge))
    # each place and its eight neighbours; past the chart's edge stand those along it once more
    up, across = (step.ravel() for step in np.indices((3, 3)) - 1)
    near = (
        np.clip(rounds[:, None] + up, 0, edge.shape[0] - 1),
        np.clip(stitches[:, None] + across, 0, edge.shape[1] - 1),
    )
    like = np.clip((lightness[near] - yarn_lightness[ground]) / (span or 1.0), 0.0, 1.0)
    beside = np.where(inside[near] & ~edge[near], like, 0.0).max(axis=1)
    sought = OUTLINE * (1.0 - RELIEF * beside)
    own = like[:, up.size // 2]
    return Contour((rounds, stitches), float(yarn_lightness[off]), np.maximum(sought, own))
