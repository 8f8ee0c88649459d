"""Which two of several yarns show a picture best by themselves.

Where a round may use two of many yarns, another yarn may cost a drawing more than it shows: a line
through the subject where the pair changes, a tone that eats the outline. A chart in all of the yarns is
therefore held against one in two of them, both against the same picture: as all the yarns show it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.likeness import ReferenceImage
from pic2chart.design.draft import Draft
from pic2chart.design.look_choice import worth_of

PAIRS = 3
"""Most pairs that are looked at: those farthest apart in lightness, which is what reads."""

Two = tuple[int, int]


def pairs_of(light: NDArray[np.float64], ground: int | None) -> list[Two]:
    """The pairs (indices) worth a look among yarns of L* `light` [K]: with the ground, if there is one."""
    pairs = [two for two in combinations(range(light.size), 2) if ground in (None, *two)]
    return sorted(pairs, key=lambda two: -abs(light[two[0]] - light[two[1]]))[:PAIRS]


def best_pair(
    draw: Callable[[Two], Draft],
    pairs: Sequence[Two],
    yarn_lab: NDArray[np.float64],
    reference: ReferenceImage,
    broken_at: int | None = None,
) -> tuple[Two, Draft]:
    """The pair of yarns whose chart of nearest yarns is most like `reference`, and its draft.

    `draw` draws the picture in a pair; `yarn_lab` [K, 3]; `broken_at` as for `best_look`.
    """
    drafts = [(two, draw(two)) for two in pairs]
    if len(drafts) == 1:
        return drafts[0]
    return max(
        drafts,
        key=lambda one: worth_of(one[1], yarn_lab[list(one[0])], 0.0, reference, broken_at),
    )
