"""Which look, and which ground, shows a picture best: all are drawn, and the best by likeness is taken.

What is compared are charts of nearest yarns, before any rule: drawing costs little, solving more, and
the rules take about as much from one look as from another.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.likeness import ReferenceImage
from pic2chart.design import canvas as canvases
from pic2chart.design.draft import Draft
from pic2chart.design.looks import LOOKS

RESTLESS = 0.3
"""What a change of yarn at every stitch would take from a likeness: changes tire hand and eye, so of
looks that are nearly as good the calmer one is taken."""
LINED = 0.03
"""What a look that draws lines is worth more where the picture is of a head: a face is known by its
eyes, brows and mouth, which are lines at this size and so few stitches that a likeness of the whole
hardly weighs them."""

Floats = NDArray[np.float64]
Drawing = Callable[[str, int | None], Draft]
"""Draws the picture in the look of that name on that ground (None: the one that is chosen)."""


@dataclass(frozen=True, slots=True)
class LookChoice:
    """A look by its name, on a ground (the yarn's index; None without a subject), drawn so, and how
    good that is.
    """

    look: str
    ground: int | None
    draft: Draft
    worth: float


def best_look(
    draw: Drawing,
    yarn_lab: Floats,
    chroma: float,
    grounds: tuple[int | None, ...],
    broken_at: int | None = None,
    *,
    face: bool = False,
) -> LookChoice:
    """The look and the ground whose chart of nearest yarns is most like the picture.

    `yarn_lab` [K, 3]; `chroma` as for `stitch_costs`; `broken_at`: the limit where long floats are
    to be broken with ticks, which are then looked at too; `face`: whether a face is what must be seen.
    Of equals the first, in the looks' own order.
    """
    best: LookChoice | None = None
    for look, ground in product(LOOKS, grounds):
        drafted = draw(look, ground)
        worth = worth_of(drafted, yarn_lab, chroma, broken_at=broken_at)
        if face and LOOKS[look].lines:
            worth += LINED
        if best is None or worth > best.worth:
            best = LookChoice(look, ground, drafted, worth)
    assert best is not None
    return best


def worth_of(
    drafted: Draft,
    yarn_lab: Floats,
    chroma: float,
    reference: ReferenceImage | None = None,
    broken_at: int | None = None,
) -> float:
    """How like the picture the chart of nearest yarns is, less what its changes of yarn take.

    `reference`: what it is compared with where that is not the draft's own; the rest as for
    `best_look`.
    """
    canvas = drafted.canvas
    light = yarn_lab[:, 0]
    if canvas.form is None:
        nearest = canvases.nearest_in(canvas, yarn_lab, chroma)
    else:  # as the darkest and the lightest yarn have it
        nearest = np.where(canvas.form > 0, light.argmax(), light.argmin()).astype(np.uint8)
        behind = canvas.wanted != canvases.FREE
        nearest[behind] = canvas.wanted[behind]
    beside = nearest[:, 1:] != nearest[:, :-1]
    changes = float(np.count_nonzero(beside) / max(beside.size, 1))
    if broken_at is not None:
        ticks = canvases.tick_places(nearest, broken_at, True) & ~canvases.spared(canvas)
        farthest = np.abs(light[:, None] - light).argmax(axis=1).astype(np.uint8)
        nearest = np.where(ticks, farthest[nearest], nearest)
    return (reference or drafted.reference).headline(light[nearest]) - RESTLESS * changes
