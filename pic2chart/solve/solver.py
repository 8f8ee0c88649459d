"""From a problem to a solution: yarns in hand over the rounds, then exact round steps in sweeps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.solve import kernels
from pic2chart.solve.problem import NOT_ALLOWED, Problem, Solution
from pic2chart.solve.trellis import trellis

MAX_SWEEPS = 40
FORCED_CATCH = 1e6
"""Price of a catch too many in a round whose fixed stitches contradict the float limit."""


def solve(
    problem: Problem,
    start: NDArray[np.uint8] | None = None,
    progress: Callable[[float], None] | None = None,
) -> Solution:
    """Choose the stitches of least energy, each round exactly, until no round can be bettered.

    `start` uint8 [R, N], if given, is where the sweeps begin. Deterministic.
    """
    run = _Run.of(problem)
    stitches = _blank(problem)
    if start is None:
        hands = _choose_hands(run, stitches)
        run.sweep(stitches, hands, run.rounds, coupled=False, keep_hands=True)
    else:
        stitches[problem.live] = start[problem.live]
        hands = _hands_holding(run, stitches)
    hopeless = _settle_blocked(run, stitches, hands)
    sweeps = 0
    order = np.concatenate([run.rounds[0::2], run.rounds[1::2]])
    for sweeps in range(1, MAX_SWEEPS + 1):  # noqa: B007
        changed = run.sweep(stitches, hands, order)
        soft = np.array([r for r in np.flatnonzero(run.blocked) if r not in hopeless], np.int64)
        if soft.size:
            changed += run.softened().sweep(stitches, hands, soft)
        if progress is not None:
            progress(sweeps / (sweeps + 2))
        if changed == 0:
            break
    blocked = tuple(int(r) for r in np.flatnonzero(run.blocked))
    masks = run.sets[hands]
    return Solution(stitches, energy_of(problem, stitches, masks), masks, blocked, sweeps)


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """A problem unpacked into what the kernels take."""

    problem: Problem
    breaking: bool
    prices: NDArray[np.float64]
    limit: int
    subsets: NDArray[np.int64]
    sets: NDArray[np.int64]
    rounds: NDArray[np.int64]
    blocked: NDArray[np.bool_]

    @classmethod
    def of(cls, problem: Problem) -> _Run:
        rounds, width, yarns = problem.cost.shape
        most = min(problem.per_round, yarns)
        p = problem.prices
        return cls(
            problem,
            problem.breaking,
            np.array([p.isolated, p.catch, p.third, p.join]),
            max(1, min(problem.float_limit, width)),
            _masks(yarns, range(1, most + 1)),
            _masks(yarns, [most]),
            np.arange(rounds, dtype=np.int64),
            np.zeros(rounds, bool),
        )

    def softened(self) -> _Run:
        """The same run with floats over the limit allowed at a high price."""
        prices = self.prices.copy()
        prices[1] = FORCED_CATCH
        return _Run(
            self.problem,
            False,
            prices,
            self.limit,
            self.subsets,
            self.sets,
            self.rounds,
            np.zeros_like(self.blocked),
        )

    def tables(self) -> tuple[Any, Any]:
        three = 3 if self.problem.per_round >= 3 else 2
        return (
            tuple(trellis(2, self.limit, self.breaking)),
            tuple(trellis(three, self.limit, self.breaking)),
        )

    def sweep(
        self,
        stitches: NDArray[np.uint8],
        hands: NDArray[np.int64],
        order: NDArray[np.int64],
        coupled: bool = True,
        keep_hands: bool = False,
    ) -> int:
        p = self.problem
        return int(
            kernels.sweep(
                stitches,
                hands,
                order,
                p.cost,
                p.weight_h,
                p.weight_v,
                self.prices,
                self.limit,
                self.breaking,
                p.circular,
                p.stacked,
                coupled,
                keep_hands,
                self.subsets,
                self.sets,
                *self.tables(),
                self.blocked,
            )
        )


def _masks(yarns: int, sizes: Any) -> NDArray[np.int64]:
    return np.array(
        [sum(1 << k for k in chosen) for m in sizes for chosen in combinations(range(yarns), m)],
        np.int64,
    )


def _blank(problem: Problem) -> NDArray[np.uint8]:
    nearest = problem.cost.argmin(axis=2).astype(np.uint8)
    return np.where(problem.live, nearest, np.uint8(255))


def _choose_hands(run: _Run, stitches: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Yarns in hand for each round: Viterbi over the rounds with a price for each yarn taken up."""
    p = run.problem
    count = p.cost.shape[0]
    if run.sets.size == 1:
        return np.zeros(count, np.int64)
    least = kernels.set_bounds(
        stitches,
        p.cost,
        p.weight_h,
        p.weight_v,
        run.prices,
        p.circular,
        run.subsets,
        *run.tables(),
    )
    inside = (run.subsets[None, :] & ~run.sets[:, None]) == 0
    node = np.where(inside[None], least[:, None, :], np.inf).min(axis=2)
    step = run.prices[3] * np.array(
        [[int(b & ~a).bit_count() for b in run.sets] for a in run.sets], dtype=float
    )
    total, back = node[0], np.zeros(node.shape, np.int64)
    for r in range(1, count):
        reach = total[:, None] + step
        back[r] = reach.argmin(axis=0)
        total = reach.min(axis=0) + node[r]
    hands = np.empty(count, np.int64)
    hands[-1] = int(total.argmin())
    for r in range(count - 1, 0, -1):
        hands[r - 1] = back[r, hands[r]]
    return hands


def _hands_holding(run: _Run, stitches: NDArray[np.uint8]) -> NDArray[np.int64]:
    """For each round the first set of yarns that holds those it uses, nearest to the round before."""
    hands = np.zeros(stitches.shape[0], np.int64)
    for r, row in enumerate(stitches):
        used = sum(1 << int(k) for k in np.unique(row[row != 255]))
        before = int(run.sets[hands[r - 1]]) if r else 0
        prices = [
            (int(used & ~s).bit_count(), int(int(s) & ~before).bit_count())
            for s in run.sets.tolist()
        ]
        hands[r] = min(range(len(prices)), key=prices.__getitem__)
    return hands


def _settle_blocked(
    run: _Run, stitches: NDArray[np.uint8], hands: NDArray[np.int64]
) -> frozenset[int]:
    """Give rounds that cannot hold the rules their first stitches; return those past all help.

    A round is past help when its fixed stitches alone use too many yarns: its free stitches then
    take the nearest of those yarns.
    """
    p = run.problem
    run.sweep(stitches, hands, run.rounds)
    soft = np.flatnonzero(run.blocked)
    if not soft.size:
        return frozenset()
    softened = run.softened()
    softened.sweep(stitches, hands, soft)
    hopeless = np.flatnonzero(softened.blocked)
    for r in hopeless:
        allowed = p.cost[r] < NOT_ALLOWED
        fixed = p.live[r] & (allowed.sum(axis=1) == 1)
        yarns = np.unique(allowed[fixed].argmax(axis=1))
        stitches[r, p.live[r]] = yarns[p.cost[r][:, yarns].argmin(axis=1)][p.live[r]]
    return frozenset(int(r) for r in hopeless)


def energy_of(
    problem: Problem, stitches: NDArray[np.uint8], hands: NDArray[np.int64] | None = None
) -> float:
    """The energy, measured anew with the rules' own measures (not the solver's running sums)."""
    from pic2chart.rules import measure

    p, live = problem, problem.live
    stacked = p.stacked and len(stitches) >= 3
    index = np.where(live, stitches, 0).astype(np.int64)
    total = float(np.take_along_axis(p.cost, index[..., None], 2)[..., 0][live].sum())
    for row, weights in zip(stitches, p.weight_h, strict=True):
        at = np.flatnonzero(row != 255)
        if at.size < 2:
            continue
        differs = row[at] != np.roll(row[at], 1)
        total += float(weights[at][differs][0 if p.circular or not differs[0] else 1 :].sum())
    pairs = [(r, r + 1) for r in range(len(stitches) - 1)] + (
        [(len(stitches) - 1, 0)] if stacked else []
    )
    for low, high in pairs:
        differs = (stitches[low] != stitches[high]) & live[low] & live[high]
        total += float(p.weight_v[low][differs].sum())
    total += p.prices.isolated * int(measure.isolated(stitches, p.circular, stacked).sum())
    lengths = measure.floats(stitches, p.circular).length
    total += p.prices.catch * int((lengths // (p.float_limit + 1)).sum())
    used = measure.yarns_per_round(stitches, p.cost.shape[2])
    total += p.prices.third * int((used.sum(axis=1) >= 3).sum())
    if hands is not None:
        total += p.prices.join * sum(
            int(hands[high] & ~hands[low]).bit_count() for low, high in pairs
        )
    return total
