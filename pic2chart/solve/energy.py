"""The energy of a chart, measured anew with the rules' own measures."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.rules import measure
from pic2chart.solve.problem import Prices, Problem

NO_STITCH = 255

Ints = NDArray[np.int64]
Stitches = NDArray[np.uint8]


def energy_of(problem: Problem, stitches: Stitches, hands: Ints | None = None) -> float:
    """The energy, measured anew with the rules' own measures (not the solver's running sums).

    `stitches` uint8 [R, N]; `hands` int64 [R]: bit masks of the yarns in hand, which are
    charged for if given. Single rounds and pairs of rounds that repeat upwards are charged no
    differences and no joins from the last round to the first; isolated stitches are counted as
    `measure.isolated` does.
    """
    p, prices = problem, problem.prices
    index = np.where(p.live, stitches, 0).astype(np.int64)
    total = float(np.take_along_axis(p.cost, index[..., None], 2)[..., 0][p.live].sum())
    total += _changes(p, stitches)
    lengths = measure.floats(stitches, p.circular).length
    total += prices.catch * int((lengths // (p.float_limit + 1)).sum())
    total += prices.isolated * int(measure.isolated(stitches, p.circular, p.stacked).sum())
    used = measure.yarns_per_round(stitches, p.cost.shape[2])
    total += sum(price_together(prices, np.flatnonzero(row)) for row in used)
    total += _form_cost(p, stitches, used)
    for low, high in adjacent(p):
        differs = (stitches[low] != stitches[high]) & p.live[low] & p.live[high]
        total += float(p.weight_v[low][differs].sum())
    return total if hands is None else total + hands_price(p, hands)


def hands_price(problem: Problem, masks: Ints) -> float:
    """Price of the yarns in hand, int64 [R] as bit masks, and of those taken up between rounds."""
    taken = [int(masks[high] & ~masks[low]).bit_count() for low, high in adjacent(problem)]
    held = hold_prices(problem, np.unique(masks))
    together = held[np.arange(len(masks)), np.searchsorted(np.unique(masks), masks)]
    return problem.prices.join * sum(taken) + float(together.sum())


def hold_prices(problem: Problem, sets: Ints) -> NDArray[np.float64]:
    """Price of having each of P sets of yarns (bit masks) in hand in each round, float64 [R, P]."""
    hold, yarns = problem.prices.hold, problem.cost.shape[2]
    if hold is None:
        return np.zeros((len(problem.live), len(sets)))
    holds = (sets[:, None] >> np.arange(yarns) & 1).astype(np.float64)
    return np.asarray(np.einsum("pk,rkl,pl->rp", holds, hold, holds) / 2)


def _form_cost(problem: Problem, stitches: Stitches, used: NDArray[np.bool_]) -> float:
    """Price of stitches that are light or dark of their round's yarns where they should not be."""
    if problem.form is None or problem.light is None:
        return 0.0
    total = 0.0
    for form, live, row, here in zip(problem.form, problem.live, stitches, used, strict=True):
        light, form = problem.light[row[live]], form[live]
        pay_light, pay_dark = np.maximum(-form, 0.0), np.maximum(form, 0.0)
        if here.sum() < 2:
            total += min(pay_light.sum(), pay_dark.sum())
            continue
        lightest, darkest = problem.light[here].max(), problem.light[here].min()
        middle = np.where(light == darkest, pay_dark, 0.5 * np.abs(form))
        total += np.where(light == lightest, pay_light, middle).sum()
    return float(total)


def _changes(problem: Problem, stitches: Stitches) -> float:
    """Price of the changes of yarn along the rounds."""
    total = 0.0
    for row, weights in zip(stitches, problem.weight_h, strict=True):
        at = np.flatnonzero(row != NO_STITCH)
        differs = row[at] != np.roll(row[at], 1)
        if not problem.circular:
            differs[:1] = False
        total += float(weights[at][differs].sum())
    return total


def adjacent(problem: Problem) -> list[tuple[int, int]]:
    """Pairs (round, round above it); from three rounds on a stacked chart closes."""
    rounds = len(problem.live)
    pairs = [(r, r + 1) for r in range(rounds - 1)]
    return [*pairs, (rounds - 1, 0)] if problem.stacked and rounds >= 3 else pairs


def price_together(prices: Prices, members: Ints) -> float:
    """What it costs a round to use these yarns together."""
    pairs = 0.0 if prices.pair is None else float(prices.pair[np.ix_(members, members)].sum()) / 2
    return pairs + (prices.third if len(members) >= 3 else 0.0)
