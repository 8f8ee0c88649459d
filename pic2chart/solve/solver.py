"""From a problem to a solution: yarns carried over the rounds, then exact round steps in sweeps."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from pic2chart.model.chart import NO_STITCH
from pic2chart.solve import kernels, round_data
from pic2chart.solve.problem import (
    NOT_ALLOWED,
    Problem,
    Solution,
    adjacent,
    carried_price,
    energy_of,
    hold_prices,
    price_together,
)
from pic2chart.solve.trellis import Trellis, trellis

MAX_SWEEPS = 40
RISE = (0.1, 0.2, 0.35, 0.6)
"""Shares of the price of isolated stitches that are swept first, once each."""

Floats64 = NDArray[np.float64]
Ints = NDArray[np.int64]
Stitches = NDArray[np.uint8]
Truths = NDArray[np.bool_]


def solve(
    problem: Problem,
    start: Stitches | None = None,
    progress: Callable[[float], None] | None = None,
) -> Solution:
    """Choose the stitches of least energy, each round exactly, until no round can be bettered.

    `start` uint8 [R, N], if given, is where the sweeps begin; `progress` is told the part done, from
    0 to 1. Deterministic. The result is a chart that no change within a single round betters, not
    always the best of all charts.
    """
    run = SolverRun.of(problem)
    stitches = np.where(problem.live, problem.cost.argmin(axis=2), NO_STITCH).astype(np.uint8)
    if start is None:
        carried_set = _choose_sets(run, stitches)
        run.sweep(stitches, carried_set, run.rounds, coupled=False, keep_sets=True)
        _rise(run, stitches, carried_set)
    else:
        stitches[problem.live] = start[problem.live]
        carried_set = _sets_holding(run, stitches)
    stale = run.all_stale
    soft = _settle_blocked(run, stitches, carried_set, stale)
    return settled(run, stitches, carried_set, soft, progress, stale)


def kernels_for(problem: Problem) -> tuple[str, ...]:
    """The kernels that solving it calls: with more yarns than a round has, one more chooses those."""
    more = problem.cost.shape[2] > problem.per_round
    return ("sweep", "set_bounds") if more else ("sweep",)


def _rise(run: SolverRun, stitches: Stitches, carried_set: Ints) -> None:
    """Sweep with the price of isolated stitches rising, in place.

    At its full price at once, single rounds clear their isolated stitches away one by one, though
    two rounds together would make marks of them: whole charts then end up to 12 % higher.
    """
    if run.constraints.isolated == 0.0:
        return
    for share in RISE:
        gentle = replace(
            run, constraints=run.constraints._replace(isolated=share * run.constraints.isolated)
        )
        gentle.sweep(stitches, carried_set, run.order)


def settled(
    run: SolverRun,
    stitches: Stitches,
    carried_set: Ints,
    soft: Ints | None = None,
    progress: Callable[[float], None] | None = None,
    stale: Truths | None = None,
) -> Solution:
    """Sweep stitches and yarns carried, in place, until no round can be bettered.

    `soft`: the rounds whose fixed stitches contradict the rules; `stale` bool [R]: those whose
    surroundings have changed since their last step (None: all).
    """
    sweeps, still = 0, False
    stale = run.all_stale if stale is None else stale
    while not still and sweeps < MAX_SWEEPS:
        changed = run.sweep(stitches, carried_set, run.order, stale=stale)
        if soft is not None and soft.size:
            changed += run.softened().sweep(stitches, carried_set, soft)
            stale[:] = True
        still = changed == 0 and not _improve_sets(run, stitches, carried_set)
        if changed == 0:
            stale[:] = True  # other yarns are carried now
        sweeps += 1
        if progress is not None:
            progress(sweeps / (sweeps + 2))
    masks = run.choice.sets[carried_set]
    blocked = tuple(np.flatnonzero(run.blocked).tolist())
    energy = energy_of(run.problem, stitches, masks)
    return Solution(stitches, energy, masks, blocked, sweeps)


@dataclass(frozen=True, slots=True, eq=False)
class SolverRun:
    """A problem in the form the kernels take; `blocked` bool [R] is filled by them."""

    problem: Problem
    grid: round_data.GridCosts
    constraints: round_data.Constraints
    choice: round_data.Choice
    workspace: round_data.Workspace
    rounds: Ints
    blocked: NDArray[np.bool_]

    @classmethod
    def of(cls, problem: Problem) -> SolverRun:
        rounds, width, yarns = problem.cost.shape
        most = min(problem.per_round, yarns)
        constraints = _constraints(problem)
        choice = _choice(problem, most, constraints)
        order = np.arange(rounds, dtype=np.int64)
        workspace = round_data.workspace(width, yarns, choice)
        grid, blocked = _grid(problem), np.zeros(rounds, bool)
        return cls(problem, grid, constraints, choice, workspace, order, blocked)

    @property
    def order(self) -> Ints:
        """Every other round first: those beside each then stand still while it is chosen."""
        return np.concatenate([self.rounds[0::2], self.rounds[1::2]])

    @property
    def all_stale(self) -> Truths:
        """Bool [R]: every round needs a step."""
        return np.ones(self.rounds.size, np.bool_)

    def softened(self) -> SolverRun:
        """The same run with floats over the limit allowed at more than all else can cost."""
        constraints = self.constraints._replace(breaking=False, catch=_dearest_round(self.problem))
        two, three = _trellises(int(self.choice.sets[0]).bit_count(), constraints)
        choice = self.choice._replace(two=two, three=three)
        blocked = np.zeros_like(self.blocked)
        _, width, yarns = self.problem.cost.shape
        workspace = round_data.workspace(width, yarns, choice)
        return SolverRun(
            self.problem, self.grid, constraints, choice, workspace, self.rounds, blocked
        )

    def sweep(
        self,
        stitches: Stitches,
        carried_set: Ints,
        order: Ints,
        coupled: bool = True,
        keep_sets: bool = False,
        stale: Truths | None = None,
    ) -> int:
        """One exact step for each round of `order`, in place; how many rounds changed.

        `stale` bool [R], kept from sweep to sweep: the rounds that need one (None: all).
        """
        return int(
            kernels.sweep(
                stitches, carried_set, order, self.grid, self.constraints, self.choice,
                self.workspace, coupled, keep_sets, self.blocked,
                self.all_stale if stale is None else stale,
            )
        )  # fmt: skip

    def set_bounds(self, stitches: Stitches, grid: round_data.GridCosts) -> Floats64:
        """A lower bound of each round with each subset of yarns, [R, J], the rounds uncoupled."""
        bounds = np.empty((self.rounds.size, self.choice.subsets.size))
        kernels.set_bounds(stitches, grid, self.constraints, self.choice, self.workspace, bounds)
        return bounds


def _grid(problem: Problem) -> round_data.GridCosts:
    """Writable C-ordered float64 copies, whatever was given, so that the kernels compile once."""
    form = np.zeros(problem.live.shape) if problem.form is None else problem.form
    parts = (problem.cost, problem.weight_h, problem.weight_v, form)
    return round_data.GridCosts(*(np.array(part, np.float64, order="C") for part in parts))


def _constraints(problem: Problem) -> round_data.Constraints:
    """The prices and rules.

    A single round that repeats upwards lies above itself: nothing in it is isolated. Where no float
    can be long enough to pass the limit, the smallest trellis does, its catches free.
    """
    p = problem.prices
    binds = problem.float_limit < problem.live.sum(axis=1).max(initial=0) - 1
    return round_data.Constraints(
        0.0 if problem.stacked and len(problem.live) == 1 else float(p.isolated),
        float(p.catch) if binds else 0.0,
        float(p.join),
        max(1, int(problem.float_limit)) if binds else 1,
        bool(problem.breaking) and bool(binds),
        bool(problem.circular),
        bool(problem.stacked),
    )


def _choice(problem: Problem, most: int, constraints: round_data.Constraints) -> round_data.Choice:
    """The sets of yarns a round may use and carry, what using them costs, and their roles."""
    yarns = problem.cost.shape[2]
    subsets = _masks(yarns, range(1, most + 1))
    light = np.zeros(yarns) if problem.light is None else problem.light
    price, role = np.zeros(subsets.size), np.zeros((subsets.size, 3), np.int64)
    for j, mask in enumerate(subsets.tolist()):
        members = np.flatnonzero(mask >> np.arange(yarns) & 1)
        price[j] = price_together(problem.prices, members)
        role[j, light[members].argmin()] = -1
        role[j, light[members].argmax()] = 1
    sets = _masks(yarns, [most])
    hold = hold_prices(problem, sets)
    return round_data.Choice(subsets, price, role, sets, hold, *_trellises(most, constraints))


def _trellises(most: int, constraints: round_data.Constraints) -> tuple[Trellis, Trellis]:
    """The trellises of two and, where a round may have as many, of three yarns."""
    two = trellis(2, constraints.limit, constraints.breaking)
    return two, trellis(3, constraints.limit, constraints.breaking) if most >= 3 else two


def _masks(yarns: int, sizes: Iterable[int]) -> Ints:
    """All sets of so many yarns as bit masks, the small ones first."""
    return np.array(
        [sum(1 << k for k in chosen) for m in sizes for chosen in combinations(range(yarns), m)],
        np.int64,
    )


def _dearest_round(problem: Problem) -> float:
    """More than the costs of any two allowed choices for one round can differ by."""
    p, width = problem.prices, problem.cost.shape[1]
    cost = np.where(problem.cost < NOT_ALLOWED, problem.cost, 0.0)
    stitch = np.abs(cost).max() + 9 * abs(p.isolated)
    stitch += np.abs(problem.weight_h).max() + 2 * np.abs(problem.weight_v).max()
    if problem.form is not None:
        stitch += np.abs(problem.form).max()
    together = p.third + (0.0 if p.pair is None else 3 * np.abs(p.pair).max())
    held = 0.0 if p.hold is None else 3 * np.abs(p.hold).max()
    return float(1.0 + 2.0 * (width * stitch + together + held) + 16 * p.join)


def _choose_sets(run: SolverRun, stitches: Stitches) -> Ints:
    """Yarns carried that cost least by the bounds of single rounds; indices int64 [R] of sets."""
    if run.choice.sets.size == 1:
        return np.zeros(run.rounds.size, np.int64)
    bounds = run.set_bounds(stitches, run.grid)
    inside = (run.choice.subsets[None, :] & ~run.choice.sets[:, None]) == 0
    return cheapest_sets(run, np.where(inside[None], bounds[:, None, :], np.inf).min(axis=2))[0]


def _sets_holding(run: SolverRun, stitches: Stitches) -> Ints:
    """Yarns carried that hold those the stitches use (or most of them) and are changed least."""
    from pic2chart.model import measure

    yarns = np.arange(run.grid.cost.shape[2])
    used = measure.yarns_per_round(stitches, yarns.size)
    absent = (run.choice.sets[:, None] >> yarns & 1) == 0
    dear = 1.0 + run.constraints.join * yarns.size * len(used) + float(run.choice.hold.sum())
    return cheapest_sets(run, dear * (used.astype(float) @ absent.T))[0]


def _improve_sets(run: SolverRun, stitches: Stitches, carried_set: Ints) -> bool:
    """Carry better yarns, all rounds at once, if there are any for these stitches."""
    if run.constraints.join == 0.0 and not run.choice.hold.any():
        return False
    better, sets = _sets_holding(run, stitches), run.choice.sets
    if carried_price(run.problem, sets[better]) >= carried_price(run.problem, sets[carried_set]):
        return False
    carried_set[:] = better
    return True


def cheapest_sets(run: SolverRun, node: Floats64) -> tuple[Ints, float]:
    """Least sum of node [R, P], the yarns carried and those taken up: Viterbi over the rounds.

    Where the chart closes upwards, one Viterbi for each set of the first round.
    """
    sets, node = run.choice.sets.tolist(), node + run.choice.hold
    closed = len(adjacent(run.problem)[0]) == len(node)
    step = run.constraints.join * np.array(
        [[(b & ~a).bit_count() for b in sets] for a in sets], float
    )
    total = np.where(np.eye(len(sets)) > 0, node[0], np.inf) if closed else node[:1].copy()
    back = np.zeros((len(node), *total.shape), np.int64)
    for r in range(1, len(node)):
        reach = total[:, :, None] + step
        back[r] = reach.argmin(axis=1)
        total = reach.min(axis=1) + node[r]
    if closed:
        total += step.T
    first, last = np.unravel_index(total.argmin(), total.shape)
    carried_set = np.full(len(node), last, np.int64)
    for r in range(len(node) - 1, 0, -1):
        carried_set[r - 1] = back[r, first, carried_set[r]]
    return carried_set, float(total.min())


def _settle_blocked(run: SolverRun, stitches: Stitches, carried_set: Ints, stale: Truths) -> Ints:
    """Find the rounds whose fixed stitches contradict the rules and give them their first stitches.

    Returns those that can be worked with as few catches as can be. The others' fixed stitches use
    too many yarns: their free stitches take the nearest of those yarns and stay. `stale` as for
    `settled`.
    """
    run.blocked[:] = False
    run.sweep(stitches, carried_set, run.order, stale=stale)
    blocked = np.flatnonzero(run.blocked)
    if blocked.size:
        stale[:] = True
    softened = run.softened()
    softened.sweep(stitches, carried_set, blocked)
    p = run.problem
    for r in np.flatnonzero(softened.blocked):
        allowed = p.cost[r] < NOT_ALLOWED
        fixed = p.live[r] & (allowed.sum(axis=1) == 1)
        yarns = np.unique(allowed[fixed].argmax(axis=1))
        nearest = yarns[p.cost[r][:, yarns].argmin(axis=1)]
        stitches[r, p.live[r]] = nearest[p.live[r]]
    return blocked[~softened.blocked[blocked]]
