"""What the solver is asked, and what it answers. Yarns are numbers here; no names, no files."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

NOT_ALLOWED = 1e12
"""Cost of a yarn that a stitch must not have (the other yarns of a fixed stitch)."""


@dataclass(frozen=True, slots=True)
class Prices:
    """What the energy charges, in the same unit as the stitch costs.

    `isolated`: a stitch none of whose eight neighbours has its yarn. `catch`: each catch a float
    needs. `third`: a round that uses three yarns. `join`: a yarn taken up between two rounds.
    `pair` float64 [K, K], symmetric, 0 on the diagonal: two yarns that share a round, for each round.
    `hold` float64 [R, K, K], symmetric, 0 on the diagonal: two yarns in hand together in a round.
    """

    isolated: float = 0.0
    catch: float = 0.0
    third: float = 0.0
    join: float = 0.0
    pair: NDArray[np.float64] | None = None
    hold: NDArray[np.float64] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """A chart to be chosen: stitches[round, stitch], round 0 first, stitch 0 at the right.

    `cost` float64 [R, N, K]: cost of yarn k at a stitch, NOT_ALLOWED where it must not be.
    `live` bool [R, N]: where there is a stitch. `weight_h` [R, N]: price of a change of yarn
    between a stitch and the live stitch before it; `weight_v` [R, N]: price of a difference
    between a stitch and the one above it. `circular`: worked in the round; `stacked`: the last
    round is followed by the first; one or two rounds are charged no differences and no joins across
    that seam, but isolated stitches are counted as the checks count them. With `breaking` no float may pass
    `float_limit`; otherwise long floats pay for their catches. At most `per_round` yarns a round.

    `form` float64 [R, N], with `light` float64 [K], the yarns' lightness (all different): where it is
    f > 0 a stitch pays f for having the darkest of its round's yarns, where f < 0 it pays -f for the
    lightest, and half of either for one between; a round of one yarn takes the cheaper role. So light
    and dark stay where they are whichever yarns a round has.
    """

    cost: NDArray[np.float64]
    live: NDArray[np.bool_]
    weight_h: NDArray[np.float64]
    weight_v: NDArray[np.float64]
    per_round: int = 2
    float_limit: int = 5
    breaking: bool = False
    circular: bool = True
    stacked: bool = False
    prices: Prices = field(default_factory=Prices)
    form: NDArray[np.float64] | None = None
    light: NDArray[np.float64] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """The chosen stitches uint8 [R, N] (255: no stitch) and what is to be said of them.

    `energy`: the total, as `energy_of` measures it. `hands`: for each round the yarns in hand, a
    superset of those used, as a bit mask. `blocked`: rounds (from 0) whose fixed stitches
    contradict the rules; there the fixed stitches stay and the rules give way as little as can be.
    `sweeps`: passes over the rounds until nothing changed.
    """

    stitches: NDArray[np.uint8]
    energy: float
    hands: NDArray[np.int64]
    blocked: tuple[int, ...]
    sweeps: int
