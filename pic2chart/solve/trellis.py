"""The trellis of one round: its states and the steps between them, as small tables.

A state holds the yarn of the current stitch and, for every other yarn of the round, how many
stitches its running float has come to, the current stitch included. Where long floats are broken
a float may come to `limit` and no further. Where they are caught, one catch is charged each time it
reaches a multiple of `limit + 1`, so beyond 1 the length is needed only modulo `limit + 1`: the
ages are 1, 2 … limit + 2, and after limit + 2 comes 2. Age 1 is kept apart because it tells which
yarn the stitch before had.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import product
from typing import NamedTuple

import numpy as np

from pic2chart.solve.native import Bytes1, Floats2, Ints1, Ints2


class Trellis(NamedTuple):
    """Tables over states S of a round with C yarns (numbered 0 … C-1 here).

    `colour` [S]: yarn of the current stitch; `previous` [S]: yarn of the stitch before; `nxt` [S, C]:
    state after knitting yarn q, -1 where not allowed; `pay` [S, C]: catches charged on that step;
    `first` [C]: state of a flat row's first stitch; `loop` [S]: states a closed round may pass.
    """

    colour: Ints1
    previous: Ints1
    nxt: Ints2
    pay: Floats2
    first: Ints1
    loop: Bytes1


@lru_cache(maxsize=64)
def trellis(yarns: int, limit: int, breaking: bool) -> Trellis:
    """Build the trellis of `yarns` (2 or 3) yarns a round for a float limit in stitches."""
    states = _states(yarns, limit, breaking)
    index = {state: i for i, state in enumerate(states)}
    nxt = np.full((len(states), yarns), -1, np.int64)
    pay = np.zeros((len(states), yarns))
    for i, state in enumerate(states):
        for q in range(yarns):
            following, charged = _step(state, q, limit, breaking)
            if following in index:
                nxt[i, q] = index[following]
                pay[i, q] = charged
    start = [(q, tuple(0 if o == q else 1 for o in range(yarns))) for q in range(yarns)]
    tables = Trellis(
        np.array([colour for colour, _ in states], np.int64),
        np.array([_previous(state) for state in states], np.int64),
        nxt,
        pay,
        np.array([index[s] for s in start], np.int64),
        np.array([_may_close(state, breaking) for state in states], np.uint8),
    )
    for table in tables:
        table.setflags(write=False)
    return tables


TrellisState = tuple[int, tuple[int, ...]]
"""The current yarn and the length of every yarn's running float, 0 for the current one."""


def _states(yarns: int, limit: int, breaking: bool) -> list[TrellisState]:
    """Every yarn with every length of the other yarns' floats, in a fixed order."""
    ages = range(1, (limit if breaking else limit + 2) + 1)
    return [
        (colour, (*floats[:colour], 0, *floats[colour:]))
        for colour in range(yarns)
        for floats in product(ages, repeat=yarns - 1)
    ]


def _may_close(state: TrellisState, breaking: bool) -> bool:
    """Whether a closed round can pass: no two yarns were knitted last at the same stitch.

    Folded lengths past 1 may be equal though the true ones differ.
    """
    ages = state[1]
    return len(set(ages)) == len(ages) if breaking else ages.count(1) <= 1


def _step(state: TrellisState, q: int, limit: int, breaking: bool) -> tuple[TrellisState, int]:
    """The state after knitting yarn q (past the limit: no state at all) and the catches charged."""
    colour, ages = state
    following, charged = [], 0
    for other, age in enumerate(ages):
        if other == q:
            following.append(0)
            continue
        older = 1 if other == colour else age + 1
        if not breaking:
            older = 2 if older == limit + 3 else older
            charged += older == limit + 1
        following.append(older)
    return (q, tuple(following)), charged


def _previous(state: TrellisState) -> int:
    """The yarn of the stitch before the current one."""
    colour, ages = state
    for other, age in enumerate(ages):
        if other != colour and age == 1:
            return other
    return colour
