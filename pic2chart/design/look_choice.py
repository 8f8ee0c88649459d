"""Which look, and which ground, shows a picture best: all are drawn, and the best by likeness is taken.

What is compared are charts of nearest yarns, before any rule: drawing costs little, solving more, and
the rules take about as much from one look as from another.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.design import canvas as canvases
from pic2chart.design.draft import Draft
from pic2chart.design.looks import LOOKS

RESTLESS = 0.1
"""What a change of yarn at every stitch would take from a likeness: changes tire hand and eye, so of
looks that are nearly as good the calmer one is taken."""

Floats = NDArray[np.float64]
Drawing = Callable[[str, int | None], Draft]
"""Draws the picture in the look of that name on that ground (None: the one that is chosen)."""


@dataclass(frozen=True, slots=True)
class LookChoice:
    """A look by its name, on a ground (the yarn's index; None without a subject), and how good it is."""

    look: str
    ground: int | None
    worth: float


def best_look(
    draw: Drawing, yarn_lab: Floats, chroma: float, grounds: tuple[int | None, ...]
) -> LookChoice:
    """The look and the ground whose chart of nearest yarns is most like the picture.

    `yarn_lab` [K, 3]; `chroma` as for `stitch_costs`. Of equals the first, in the looks' own order.
    """
    found = [
        LookChoice(look, ground, _worth(draw(look, ground), yarn_lab, chroma))
        for look in LOOKS
        for ground in grounds
    ]
    return max(found, key=lambda choice: choice.worth)


def _worth(drafted: Draft, yarn_lab: Floats, chroma: float) -> float:
    canvas = drafted.canvas
    cost = canvases.stitch_costs(canvas, yarn_lab, chroma)
    light = yarn_lab[:, 0]
    if canvas.form is None:
        shown = light[canvases.nearest(cost, canvas.live)]
    else:  # as the darkest and the lightest yarn have it
        shown = np.where(canvas.form > 0, light.max(), light.min())
        behind = canvas.wanted != canvases.FREE
        shown[behind] = light[canvas.wanted[behind]]
    changes = float((shown[:, 1:] != shown[:, :-1]).mean())
    return drafted.reference.compare(shown).headline - RESTLESS * changes
