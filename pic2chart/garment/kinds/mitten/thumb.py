"""The thumb of a mitten: a chart of its own whose pattern goes on from the palm's.

From a slit, the stitches below it are the thumb's front and go on upwards just as the palm does
behind them; those above it are its back and carry the palm's pattern on downwards, read the other
way. Two stitches are picked up at each corner and joined in the next round, so that no hole stays.
From a gusset, its stitches go on in their pattern and three are picked up over the gap.
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

PICKED = 3
"""Stitches picked up over the gap of a gusset."""

Stitches = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class ThumbPlan:
    """Counts of a thumb: stitches of its front and back halves once the corners are joined."""

    half: int
    rounds: int
    top: tuple[Sides, ...]
    picked: int

    @property
    def last(self) -> int:
        """Stitches left at the tip."""
        return 2 * (self.half - 2 * len(self.top))


def plan_thumb(plan: MittenPlan) -> ThumbPlan:
    """Halves, rounds and decreases of the thumb of that hand."""
    half = plan.slit + 1 if plan.slit else (plan.gusset + PICKED) // 2
    top = ((1, 1),) * ((half - 3) // 2)
    return ThumbPlan(half, max(plan.thumb_rounds, len(top) + 3), top, 2 * (plan.slit + 2))


def thumb_shape(plan: MittenPlan, thumb: ThumbPlan) -> Shape:
    """The thumb's rounds; from a slit its first round has the four corner stitches too."""
    even = thumb.rounds - len(thumb.top)
    parts = [Part(thumb.half, 0, 1)] * 2
    whole = np.ones(2 * thumb.half, bool)
    upper = straight(even - bool(plan.slit), whole).followed_by(taper(parts, thumb.top))
    if not plan.slit:
        return upper
    n = plan.slit
    columns = [*range(n + 1), *range(n + 2, 2 * n + 3)]
    wide = on_columns(upper, columns, 2 * n + 4)
    joined = Shape(
        wide.live, (Shaping(0, n, "k2tog"), Shaping(0, 2 * n + 2, "k2tog"), *wide.shaping)
    )
    return straight(1, np.ones(2 * n + 4, bool)).followed_by(joined)


def draw_thumb(
    making: Making, plan: MittenPlan, palm: Stitches, *, left: bool
) -> tuple[Cloth, Shape, Solved]:
    """Solve the thumb of one hand.

    `palm`: uint8 [rounds, squares] of that hand's chart, the yarn of every stitch and, where there
    is none, the one the palm's pattern would have; as many rounds as the pattern closes in.
    """
    thumb = plan_thumb(plan)
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
