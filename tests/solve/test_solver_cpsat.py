"""The solver against an independent model of the same charts in OR-tools' CP-SAT.

The model knows nothing of runs or trellises: a float keeps its limit when every limit + 1 stitches
in a row hold the yarn or, where long floats are caught, a catch of it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import combinations

import numpy as np
import pytest
from ortools.sat.python import cp_model

from pic2chart.solve.problem import NOT_ALLOWED, Prices, Problem, energy_of
from pic2chart.solve.solver import solve


@dataclass
class Whole:
    """A whole chart as booleans is_[r, c, k] with its energy as a linear sum."""

    problem: Problem
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    terms: list = field(default_factory=list)
    is_: dict = field(default_factory=dict)
    used: dict = field(default_factory=dict)

    def __post_init__(self):
        self.rounds, self.width, self.yarns = self.problem.cost.shape
        for r in range(self.rounds):
            self.knit_round(r)
            self.limit_floats(r)
        for low, high in self.neighbours():
            self.price_differences(low, high)
        self.carry_yarns()
        for r in range(self.rounds):
            self.price_isolated(r)

    def neighbours(self):
        pairs = [(r, r + 1) for r in range(self.rounds - 1)]
        wraps = self.problem.stacked and self.rounds >= 3
        return [*pairs, (self.rounds - 1, 0)] if wraps else pairs

    def columns(self, r):
        return np.flatnonzero(self.problem.live[r]).tolist()

    def flag(self):
        return self.model.new_bool_var("")

    def pay(self, price, literal):
        self.terms.append(int(price) * literal)

    def knit_round(self, r):
        p, columns = self.problem, self.columns(r)
        for c in columns:
            for k in range(self.yarns):
                self.is_[r, c, k] = self.flag()
                if p.cost[r, c, k] >= NOT_ALLOWED:
                    self.model.add(self.is_[r, c, k] == 0)
                else:
                    self.pay(p.cost[r, c, k], self.is_[r, c, k])
            self.model.add_exactly_one(self.is_[r, c, k] for k in range(self.yarns))
        for k in range(self.yarns):
            self.used[r, k] = self.flag()
            self.model.add_max_equality(self.used[r, k], [self.is_[r, c, k] for c in columns])
        count = sum(self.used[r, k] for k in range(self.yarns))
        self.model.add(count <= p.per_round)
        if p.per_round >= 3:
            third = self.flag()
            self.model.add(count <= 2 + third)
            self.pay(p.prices.third, third)
        before = [columns[-1], *columns[:-1]] if len(columns) > 1 else []
        for a, b in list(zip(before, columns, strict=False))[0 if p.circular else 1 :]:
            self.price_difference((r, a), (r, b), p.weight_h[r, b])

    def price_difference(self, one, other, price):
        differs = self.flag()
        for k in range(self.yarns):
            self.model.add(self.is_[*one, k] - self.is_[*other, k] <= differs)
        self.pay(price, differs)

    def limit_floats(self, r):
        p, columns = self.problem, self.columns(r)
        span = p.float_limit + 1
        starts = range(len(columns) if p.circular else len(columns) - span + 1)
        if span > len(columns):
            return
        for k in range(self.yarns):
            held = {c: [self.is_[r, c, k]] for c in columns}
            if not p.breaking:
                for c in columns:
                    held[c].append(self.flag())
                    self.pay(p.prices.catch, held[c][1])
            for s in starts:
                window = [columns[(s + i) % len(columns)] for i in range(span)]
                self.model.add_bool_or(
                    [self.used[r, k].negated(), *(x for c in window for x in held[c])]
                )

    def price_differences(self, low, high):
        for c in set(self.columns(low)) & set(self.columns(high)):
            self.price_difference((low, c), (high, c), self.problem.weight_v[low, c])

    def carry_yarns(self):
        """Yarns in hand: as many as may be used, among them those that are."""
        most = min(self.problem.per_round, self.yarns)
        hand = {key: self.flag() for key in self.used}
        for key, used in self.used.items():
            self.model.add_implication(used, hand[key])
        for r in range(self.rounds):
            self.model.add(sum(hand[r, k] for k in range(self.yarns)) == most)
            self.price_held(r, hand)
        for low, high in self.neighbours():
            for k in range(self.yarns):
                taken = self.flag()
                self.model.add(hand[high, k] - hand[low, k] <= taken)
                self.pay(self.problem.prices.join, taken)

    def price_held(self, r, hand):
        if self.problem.prices.hold is not None:
            for a, b in combinations(range(self.yarns), 2):
                both = self.flag()
                self.model.add(hand[r, a] + hand[r, b] - 1 <= both)
                self.pay(self.problem.prices.hold[r, a, b], both)

    def price_isolated(self, r):
        p, columns = self.problem, self.columns(r)
        wraps = p.stacked and self.rounds >= 3
        for i, c in enumerate(columns):
            beside = [(r, columns[j]) for j in (i - 1, i + 1) if 0 <= j < len(columns)]
            if p.circular:
                beside = [(r, columns[(i + j) % len(columns)]) for j in (-1, 1)]
            near = {spot for spot in beside if spot != (r, c)}
            for q in (r - 1, r + 1):
                q = q % self.rounds if wraps else q
                for d in (c - 1, c, c + 1):
                    d = d % self.width if p.circular else d
                    if 0 <= q < self.rounds and 0 <= d < self.width and p.live[q, d]:
                        near.add((q, d))
            for k in range(self.yarns):
                alone = self.flag()
                friends = [self.is_[*spot, k] for spot in sorted(near)]
                self.model.add_bool_or([self.is_[r, c, k].negated(), *friends, alone])
                self.pay(p.prices.isolated, alone)

    def optimum(self, seconds=20.0):
        """The proved least energy and a chart that has it; None twice where none is allowed."""
        self.model.minimize(sum(self.terms))
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return None, None
        assert status == cp_model.OPTIMAL
        chart = np.full((self.rounds, self.width), 255, np.uint8)
        for (r, c, k), literal in self.is_.items():
            if solver.value(literal):
                chart[r, c] = k
        return solver.objective_value, chart


def a_problem(seed, rounds, width, yarns, **law):
    rng = np.random.default_rng(seed)
    cost = rng.integers(0, 20, (rounds, width, yarns)).astype(float)
    smooth = np.cumsum(rng.integers(-4, 5, (rounds, width, yarns)), axis=1)
    cost = cost + smooth - smooth.min()
    weights = rng.integers(0, 9, (2, rounds, width)).astype(float)
    hold = np.triu(rng.integers(0, 9, (rounds, yarns, yarns)), 1).astype(float)
    hold = hold + hold.transpose(0, 2, 1) if seed % 2 else None
    prices = Prices(*(float(rng.integers(1, most)) for most in (12, 12, 6, 6)), hold=hold)
    return Problem(cost, np.ones((rounds, width), bool), *weights, prices=prices, **law)


@pytest.mark.parametrize("circular", [True, False])
@pytest.mark.parametrize("breaking", [True, False])
@pytest.mark.parametrize(("yarns", "per_round"), [(2, 2), (3, 2), (3, 3), (4, 3)])
def test_one_long_round_has_the_same_optimum(yarns, per_round, breaking, circular):
    law = {"per_round": per_round, "breaking": breaking, "circular": circular}
    for seed in range(3):
        problem = a_problem(seed, 1, 14 + 4 * seed, yarns, float_limit=2 + seed, **law)
        least, _ = Whole(problem).optimum()
        assert solve(problem).energy == pytest.approx(least)


@pytest.mark.parametrize("circular", [True, False])
@pytest.mark.parametrize("breaking", [True, False])
@pytest.mark.parametrize(("yarns", "per_round"), [(2, 2), (3, 2), (3, 3)])
def test_gaps_and_fixed_stitches_have_the_same_optimum(yarns, per_round, breaking, circular):
    """Where fixed stitches contradict the rules, the solver says so and CP-SAT finds no chart."""
    law = {"per_round": per_round, "breaking": breaking, "circular": circular}
    solved = 0
    for seed in range(10, 16):
        whole = a_problem(seed, 1, 18, yarns, float_limit=2 + seed % 3, **law)
        rng = np.random.default_rng(seed)
        cost, live = whole.cost.copy(), rng.random((1, 18)) > 0.15
        for c in np.flatnonzero(rng.random(18) < 0.2):
            cost[0, c, np.arange(yarns) != rng.integers(yarns)] = NOT_ALLOWED
        problem = replace(whole, cost=cost, live=live)
        least, _ = Whole(problem).optimum()
        solution = solve(problem)
        assert bool(solution.blocked) == (least is None)
        if least is not None:
            assert solution.energy == pytest.approx(least)
            solved += 1
    assert solved >= 2


@pytest.mark.parametrize("breaking", [True, False])
@pytest.mark.parametrize("stacked", [True, False])
def test_a_whole_small_chart_is_never_under_the_optimum(breaking, stacked, record_property):
    """Sweeps over rounds stop at a chart no round betters: near the optimum, never under it."""
    law = {"breaking": breaking, "stacked": stacked, "float_limit": 2}
    above = []
    for seed, (yarns, per_round) in enumerate([(2, 2), (3, 2), (3, 3)]):
        width = 7 if per_round < 3 else 5
        problem = a_problem(seed, 3, width, yarns, per_round=per_round, **law)
        least, chart = Whole(problem).optimum()
        bare = Problem(
            problem.cost, problem.live, problem.weight_h, problem.weight_v, per_round, 2,
            breaking, stacked=stacked, prices=Prices(problem.prices.isolated,
            problem.prices.catch, problem.prices.third, 0),
        )  # fmt: skip
        assert energy_of(bare, chart) <= least + 1e-6
        solution = solve(problem)
        assert solution.energy >= least - 1e-6
        above.append(solution.energy / least - 1)
    record_property("above_the_optimum", above)
    print("above the optimum:", ", ".join(f"{part:.2%}" for part in above))
    assert np.mean(above) < 0.1
