"""The thumb of a mitten: a chart of its own whose pattern goes on from the palm's.

From a slit, the stitches below it are the thumb's front and go on upwards just as the palm does
behind them; those above it are its back and carry the palm's pattern on downwards, read the other
way. Two stitches are picked up at each corner and joined in the next round, so that no hole stays; a
roomy thumb loses one more at each corner in the round after. From a gusset, its stitches go on in their pattern and three are picked up over the gap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.design.solution import Solved
from pic2chart.garment.kinds.mitten.plan import MittenPlan
from pic2chart.garment.piece import Cloth, Making
from pic2chart.garment.shape import Part, Shape, Sides, on_columns, straight, taper
from pic2chart.model.construction import Shaping
from pic2chart.model.gauge import Gauge

PICKED = 3
"""Stitches picked up over the gap of a gusset."""
ROOMY = 0.45
"""Girth of a thumb over the hand's from which it loses two stitches more (worked out: a thumb is about
a third of the hand round, from memory, and wants 1.5 to 2 cm for a stranded fabric)."""
LEAST_HALF = 6
"""Stitches of a half that no thumb goes below by that."""

Stitches = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class ThumbPlan:
    """Counts of a thumb: stitches of its front and back halves once the corners are joined.

    `roomy`: the corners are joined once more, a round later.
    """

    half: int
    rounds: int
    top: tuple[Sides, ...]
    picked: int
    roomy: bool = False

    @property
    def last(self) -> int:
        """Stitches left at the tip."""
        return 2 * (self.half - 2 * len(self.top))


def plan_thumb(plan: MittenPlan, gauge: Gauge) -> ThumbPlan:
    """Halves, rounds and decreases of the thumb of that hand, at its gauge."""
    half = plan.slit + 1 if plan.slit else (plan.gusset + PICKED) // 2
    wide = 2 * half * gauge.stitch_width > ROOMY * plan.body.girth
    roomy = bool(plan.slit) and wide and half > LEAST_HALF
    half -= roomy
    top = ((1, 1),) * ((half - 3) // 2)
    return ThumbPlan(half, max(plan.thumb_rounds, len(top) + 4), top, 2 * (plan.slit + 2), roomy)


def thumb_shape(plan: MittenPlan, thumb: ThumbPlan) -> Shape:
    """The thumb's rounds; from a slit its first round has the four corner stitches too."""
    even = thumb.rounds - len(thumb.top) - bool(plan.slit) - thumb.roomy
    parts = [Part(thumb.half, 0, 1)] * 2
    whole = np.ones(2 * thumb.half, bool)
    upper = straight(even, whole).followed_by(taper(parts, thumb.top))
    if not plan.slit:
        return upper
    n, width = plan.slit, 2 * plan.slit + 4
    corners = tuple(Shaping(0, at, "k2tog") for at in (n, 2 * n + 2))
    first = np.ones(width, bool)
    shape = straight(1, first)
    if thumb.roomy:
        first[[n + 1, 2 * n + 3]] = False
        shape = shape.followed_by(Shape(first[None].copy(), corners))
    front = [*range(n - thumb.roomy), n]
    wide = on_columns(upper, [*front, *(n + 2 + at for at in front)], width)
    return shape.followed_by(Shape(wide.live, tuple(sorted((*corners, *wide.shaping)))))


def draw_thumb(
    making: Making, plan: MittenPlan, palm: Stitches, *, left: bool
) -> tuple[Cloth, Shape, Solved]:
    """Solve the thumb of one hand.

    `palm`: uint8 [rounds, squares] of that hand's chart, the yarn of every stitch and, where there
    is none, the one the palm's pattern would have; as many rounds as the pattern closes in.
    """
    thumb = plan_thumb(plan, making.design.gauge)
    shape = thumb_shape(plan, thumb)
    cloth = Cloth(making.design, shape)
    cloth.loose = False
    if plan.slit:
        cloth.wanted[:] = _from_slit(plan, palm, shape.rounds, left, making.design.ground)
        corners = _corners(plan, shape)
        for yarn, rounds in _figures(making, cloth, plan.slit).items():
            cloth.line(corners & rounds[:, None], yarn)
    else:
        cloth.wanted[:] = _from_gusset(plan, palm, shape.rounds, left)
    return cloth, shape, making.solve(cloth)


def _figures(making: Making, cloth: Cloth, front: int) -> dict[int, NDArray[np.bool_]]:
    """The rounds, bool [rounds], that have each yarn beside the ground on the thumb's front."""
    ground, figure = making.design.ground, making.design.figure
    found: dict[int, NDArray[np.bool_]] = {}
    for r, row in enumerate(cloth.wanted[:, :front]):
        others = row[row != ground]
        yarn = int(np.bincount(others).argmax()) if others.size else figure
        found.setdefault(yarn, np.zeros(len(cloth.wanted), bool))[r] = True
    return found


def _corners(plan: MittenPlan, shape: Shape) -> NDArray[np.bool_]:
    """The corner stitch at the left of front and back; at the top it moves inwards with the edge."""
    corners = np.zeros(shape.live.shape, bool)
    side = plan.slit + 2
    for start in (0, side):
        corners[0, start + plan.slit : start + side] = True
        for r in range(1, shape.rounds):
            corners[r, start + np.flatnonzero(shape.live[r, start : start + side])[-1]] = True
    return corners


def _from_slit(plan: MittenPlan, palm: Stitches, rounds: int, left: bool, ground: int) -> Stitches:
    """Front as the palm goes on upwards, back as it goes on downwards, corners in ground."""
    n, at = plan.slit, plan.half + plan.slit_place
    if left:
        at = plan.width - at - n
    up = np.arange(rounds)
    wanted = np.full((rounds, 2 * n + 4), ground, np.uint8)
    wanted[:, :n] = palm[(plan.opening + up) % len(palm)][:, at : at + n]
    wanted[:, n + 2 : 2 * n + 2] = palm[(plan.opening - 1 - up) % len(palm)][:, at : at + n][
        :, ::-1
    ]
    return wanted


def _from_gusset(plan: MittenPlan, palm: Stitches, rounds: int, left: bool) -> Stitches:
    """The gusset's own pattern upwards, and the palm's over the gap downwards, from left to right."""
    g, first = plan.gusset, plan.gusset_middle - plan.gusset // 2
    columns = plan.palm_columns()
    gap = np.array([columns[plan.slit_place + i] for i in (1, 0, -1)])
    if left:
        first, gap = plan.width - first - g, plan.width - 1 - gap[::-1]
    up = np.arange(rounds)
    wanted = np.empty((rounds, g + PICKED), np.uint8)
    wanted[:, :g] = palm[(plan.opening + up) % len(palm)][:, first : first + g]
    wanted[:, g:] = palm[(plan.opening - 1 - up) % len(palm)][:, gap]
    return wanted
