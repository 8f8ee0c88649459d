"""What the solver's kernels are given: costs, prices and rules, choices, and room to work in.

Shapes: R rounds, N stitches a round, K yarns, S states of a trellis, P sets of yarns carried, J subsets
of them that a round is made of.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pic2chart.solve.native import (
    Bytes2,
    Floats1,
    Floats2,
    Floats3,
    Ints1,
    Ints2,
    Shorts2,
    Truths1,
)
from pic2chart.solve.trellis import Trellis


class GridCosts(NamedTuple):
    """What the stitches cost: cost float64 [R, N, K], weight_h, weight_v and form float64 [R, N]."""

    cost: Floats3
    weight_h: Floats2
    weight_v: Floats2
    form: Floats2


class Constraints(NamedTuple):
    """Prices of the energy, and the rules a round is worked under."""

    isolated: float
    catch: float
    join: float
    limit: int
    breaking: bool
    circular: bool
    stacked: bool


class Choice(NamedTuple):
    """What a round may use: bit masks of yarns and the trellises for two and three of them.

    `subsets` int64 [J]: the yarns a round is made of, `price` [J]: what using them costs, `role`
    int64 [J, 3]: 1 for the lightest of them, -1 for the darkest, 0 between; `sets` int64 [P]: the
    yarns a round carries, `hold` [R, P]: what that costs.
    """

    subsets: Ints1
    price: Floats1
    role: Ints2
    sets: Ints1
    hold: Floats2
    two: Trellis
    three: Trellis


class Costs(NamedTuple):
    """Costs of one round by live stitch i and yarn k.

    `own` [N, K]: of the stitch and its differences to the rounds below and above; `lone` [N, K]: of
    a run of one; `two` and `three` [N, K]: when the last two (three) stitches up to i all miss yarn
    k, so that a stitch of the next round is isolated; `flagged` bool [N]: whether `two` or `three`
    has anything at i; `change` [N]: of a change of yarn between i-1 and i.
    """

    own: Floats2
    lone: Floats2
    two: Floats2
    three: Floats2
    flagged: Truths1
    change: Floats1


class Workspace(NamedTuple):
    """Room for one round, allocated once a call.

    `columns`, `place` int64 [N]: columns of the live stitches and back (-1: none); `whole`: costs
    by yarn; `form` [N]: see `Problem`; `local`: costs by the m yarns of a subset; `missing` [K]:
    all of whole.two and whole.three by yarn; `trial`, `best`, `keep` int64 [N]: sequences of local
    yarns; `f`, `g` [S]; `back` int32 [N+1, S]; `masks` uint8 [S+2, S] and `bounds` [S+2]: sets of
    start states still to be tried; `set_price` [P]; `price`, `least` [J]: what a subset adds to its
    sequence, and a lower bound with it; `set_of` int64 [J]: the cheapest set that holds it;
    `member` int64 [64]: its yarns.
    """

    columns: Ints1
    place: Ints1
    whole: Costs
    form: Floats1
    local: Costs
    missing: Floats1
    trial: Ints1
    best: Ints1
    keep: Ints1
    f: Floats1
    g: Floats1
    back: Shorts2
    masks: Bytes2
    bounds: Floats1
    set_price: Floats1
    price: Floats1
    least: Floats1
    set_of: Ints1
    member: Ints1


def _costs(width: int, yarns: int, change: NDArray[np.float64]) -> Costs:
    """Room for the costs of `width` stitches and `yarns` yarns, with the array `change` shared."""
    return Costs(
        np.empty((width, yarns)),
        np.empty((width, yarns)),
        np.empty((width, yarns)),
        np.empty((width, yarns)),
        np.empty(width, np.bool_),
        change,
    )


def workspace(width: int, yarns: int, choice: Choice) -> Workspace:
    """Room for rounds of `width` stitches."""
    states = max(choice.two.colour.shape[0], choice.three.colour.shape[0])
    sets, subsets = choice.sets.shape[0], choice.subsets.shape[0]
    change = np.empty(width)
    return Workspace(
        np.empty(width, np.int64),
        np.empty(width, np.int64),
        _costs(width, yarns, change),
        np.empty(width),
        _costs(width, 3, change),
        np.empty(yarns),
        np.empty(width, np.int64),
        np.empty(width, np.int64),
        np.empty(width, np.int64),
        np.empty(states),
        np.empty(states),
        np.empty((width + 1, states), np.int32),
        np.empty((states + 2, states), np.uint8),
        np.empty(states + 2),
        np.empty(sets),
        np.empty(subsets),
        np.empty(subsets),
        np.empty(subsets, np.int64),
        np.empty(64, np.int64),
    )
