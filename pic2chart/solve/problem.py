"""What the solver is asked and what it answers, and the energy of a chart that it keeps low.

Yarns are numbers here; no names, no files. The energy is measured anew with the rules' own
measures.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pic2chart.model import measure
from pic2chart.model.chart import NO_STITCH

NOT_ALLOWED = 1e12
"""Cost of a yarn that a stitch must not have (the other yarns of a fixed stitch)."""


@dataclass(frozen=True, slots=True)
class Prices:
    """What the energy charges, in the same unit as the stitch costs.

    `isolated`: a stitch none of whose eight neighbours has its yarn. `catch`: each catch a float
    needs. `third`: a round that uses three yarns. `join`: a yarn taken up between two rounds.
    `pair` float64 [K, K], symmetric, 0 on the diagonal: two yarns that share a round, for each round.
    `hold` float64 [R, K, K], symmetric, 0 on the diagonal: two yarns carried together in a round.
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

    `energy`: the total, as `energy_of` measures it. `carried`: for each round the yarns carried, a
    superset of those used, as a bit mask. `blocked`: rounds (from 0) whose fixed stitches
    contradict the rules; there the fixed stitches stay and the rules give way as little as can be.
    `sweeps`: passes over the rounds until nothing changed.
    """

    stitches: NDArray[np.uint8]
    energy: float
    carried: NDArray[np.int64]
    blocked: tuple[int, ...]
    sweeps: int


Ints = NDArray[np.int64]
Stitches = NDArray[np.uint8]


def energy_of(problem: Problem, stitches: Stitches, carried: Ints | None = None) -> float:
    """The energy, measured anew with the rules' own measures (not the solver's running sums).

    `stitches` uint8 [R, N]; `carried` int64 [R]: bit masks of the yarns carried, which are
    charged for if given. Single rounds and pairs of rounds that repeat upwards are charged no
    differences and no joins from the last round to the first; isolated stitches are counted as
    `measure.isolated` does.
    """
    p, prices = problem, problem.prices
    live = measure.Live.of(stitches)
    total = float(p.cost[live.round, live.column, live.yarn].sum())
    total += _changes(p, live)
    lengths = measure.floats(stitches, p.circular, live).length
    total += prices.catch * int((lengths // (p.float_limit + 1)).sum())
    lonely = measure.isolated(stitches, p.circular, p.stacked, live)
    total += prices.isolated * int(lonely.sum())
    used = measure.yarns_per_round(stitches, p.cost.shape[2])
    kinds, times = np.unique(used, axis=0, return_counts=True)
    for kind, count in zip(kinds, times.tolist(), strict=True):
        total += count * price_together(prices, np.flatnonzero(kind))
    total += _form_cost(p, stitches, used)
    low, high = adjacent(p)
    differs = (stitches[low] != stitches[high]) & p.live[low] & p.live[high]
    total += float(p.weight_v[low][differs].sum())
    return total if carried is None else total + carried_price(p, carried)


def carried_price(problem: Problem, masks: Ints) -> float:
    """Price of the yarns carried, int64 [R] as bit masks, and of those taken up between rounds."""
    low, high = adjacent(problem)
    yarns = np.arange(problem.cost.shape[2])
    taken = int(((masks[high] & ~masks[low])[:, None] >> yarns & 1).sum())
    held = hold_prices(problem, np.unique(masks))
    together = held[np.arange(len(masks)), np.searchsorted(np.unique(masks), masks)]
    return problem.prices.join * taken + float(together.sum())


def hold_prices(problem: Problem, sets: Ints) -> NDArray[np.float64]:
    """Price of having each of P sets of yarns (bit masks) carried in each round, float64 [R, P]."""
    hold, yarns = problem.prices.hold, problem.cost.shape[2]
    if hold is None:
        return np.zeros((len(problem.live), len(sets)))
    holds = (sets[:, None] >> np.arange(yarns) & 1).astype(np.float64)
    return np.asarray(np.einsum("pk,rkl,pl->rp", holds, hold, holds) / 2)


def _form_cost(problem: Problem, stitches: Stitches, used: NDArray[np.bool_]) -> float:
    """Price of stitches that are light or dark of their round's yarns where they should not be."""
    if problem.form is None or problem.light is None:
        return 0.0
    form = np.where(problem.live, problem.form, 0.0)
    pay_light, pay_dark = np.maximum(-form, 0.0), np.maximum(form, 0.0)
    light = np.append(problem.light, np.zeros(NO_STITCH + 1 - len(problem.light)))[stitches]
    lightest = np.where(used, problem.light, -np.inf).max(axis=1)[:, None]
    darkest = np.where(used, problem.light, np.inf).min(axis=1)[:, None]
    paid = np.where(light == darkest, pay_dark, 0.5 * np.abs(form))
    paid = np.where(light == lightest, pay_light, paid).sum(axis=1)
    alone = np.minimum(pay_light.sum(axis=1), pay_dark.sum(axis=1))
    return float(np.where(used.sum(axis=1) < 2, alone, paid).sum())


def _changes(problem: Problem, live: measure.Live) -> float:
    """Price of the changes of yarn along the rounds."""
    before = np.arange(-1, len(live.yarn) - 1)
    full = np.flatnonzero(live.count)
    first = live.first[full]
    before[first] = first + live.count[full] - 1
    differs = live.yarn != live.yarn[before]
    if not problem.circular:
        differs[first] = False
    return float(problem.weight_h[live.round, live.column][differs].sum())


def adjacent(problem: Problem) -> tuple[Ints, Ints]:
    """Rounds, and the round above each; from three rounds on a stacked chart closes."""
    rounds = len(problem.live)
    pairs = rounds if problem.stacked and rounds >= 3 else rounds - 1
    low = np.arange(pairs, dtype=np.int64)
    return low, (low + 1) % rounds


def price_together(prices: Prices, members: Ints) -> float:
    """What it costs a round to use these yarns together."""
    pairs = 0.0 if prices.pair is None else float(prices.pair[np.ix_(members, members)].sum()) / 2
    return pairs + (prices.third if len(members) >= 3 else 0.0)
