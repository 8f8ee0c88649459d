"""The subject's outline: where it runs among the stitches, the ground that shows it, and its price.

A subject is named by its outline first. Where subject and ground come to the same yarn the outline
is lost, so a designer chooses the ground against the outline and draws a contour of one stitch
where both still meet in one tone (common practice). Here the stitches along the inside of the
subject's edge ask for a yarn that stands off the ground, for a price that the solver weighs against
everything else: where the drawing is dark (or light) beside the ground already, nothing changes.
"""

from __future__ import annotations

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


def contour(
    lightness: Floats, inside: Bools, yarn_lightness: Floats, ground: int
) -> tuple[Floats, Floats]:
    """What the contour asks for: (L*, weight) float64 [R, N], weight 0 off the contour.

    The L* is that of the yarn farthest from the ground; less is asked for where the stitches
    inside the contour are drawn in it already.
    """
    off = int(np.abs(yarn_lightness - yarn_lightness[ground]).argmax())
    span = yarn_lightness[off] - yarn_lightness[ground]
    edge = rim(inside)
    if span == 0 or not edge.any():
        return lightness, np.zeros_like(lightness)
    like = np.clip((lightness - yarn_lightness[ground]) / span, 0.0, 1.0)
    beside = _largest_near(np.where(inside & ~edge, like, 0.0))
    sought = OUTLINE * (1.0 - RELIEF * beside)
    return (
        np.where(edge, yarn_lightness[off], lightness),
        np.where(edge, np.maximum(sought, like), 0.0),
    )


def _largest_near(values: Floats) -> Floats:
    """The largest of each stitch and its eight neighbours; values are 0 or more."""
    rows = np.pad(values, 1)
    rows = np.maximum(np.maximum(rows[:-2], rows[1:-1]), rows[2:])
    return np.asarray(np.maximum(np.maximum(rows[:, :-2], rows[:, 1:-1]), rows[:, 2:]))
