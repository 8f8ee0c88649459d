"""The isolated stitches' part of the bound: single stitches, each with its neighbours.

For every stitch that came out isolated in the rounds' copy a little problem is added: the stitch and its
neighbours, with a price when none of these has its yarn. Its least cost for given multipliers follows
in one line: with yarn k in the middle all neighbours take their cheapest yarn, and then either the
price is paid or one neighbour is changed to k.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.rules import measure
from pic2chart.solve.problem import NOT_ALLOWED, Problem

Floats64 = NDArray[np.float64]
Ints = NDArray[np.int64]
Stitches = NDArray[np.uint8]


@dataclass(slots=True, eq=False)
class Alone:
    """The little problems there are: A of them, each with 9 places (the stitch, then its neighbours).

    `around` int64 [R·N, 9]: every stitch's place and its neighbours', -1 for none; `place` int64
    [A, 9]: those of the problems; `lift` and `speed` [A, 9, K]: what the rounds pay more at a place,
    and the averaged subgradient; `copy` int64 [A, 9]: the yarns they chose.
    """

    price: float
    shape: tuple[int, int, int]
    circular: bool
    stacked: bool
    forbidden: Floats64
    around: Ints
    place: Ints
    lift: Floats64
    speed: Floats64
    copy: Ints

    @classmethod
    def of(cls, problem: Problem, price: float) -> Alone:
        """None at first; `price` is what an isolated stitch costs."""
        shape = problem.cost.shape
        nothing = np.zeros((0, 9, shape[2]))
        forbidden = np.where(problem.cost >= NOT_ALLOWED, NOT_ALLOWED, 0.0).reshape(-1, shape[2])
        return cls(
            price,
            (shape[0], shape[1], shape[2]),
            problem.circular,
            problem.stacked,
            forbidden,
            _around(problem.live, problem.circular, problem.stacked),
            np.zeros((0, 9), np.int64),
            nothing,
            nothing.copy(),
            np.zeros((0, 9), np.int64),
        )

    @property
    def move(self) -> Floats64:
        """What the rounds pay more, [R, N, K]."""
        rounds, stitches, yarns = self.shape
        total = np.zeros((rounds * stitches, yarns))
        there = self.place >= 0
        np.add.at(total, self.place[there], self.lift[there])
        return total.reshape(self.shape)

    def watch(self, rows: Stitches, cost: Floats64) -> None:
        """Add a problem for every isolated stitch of `rows` that has none yet.

        `cost` [R, N, K]: what the rounds pay now, from which the multipliers begin.
        """
        if self.price <= 0:
            return
        found = np.flatnonzero(measure.isolated(rows, self.circular, self.stacked))
        fresh = found[~np.isin(found, self.place[:, 0])]
        if not fresh.size:
            return
        place = self.around[fresh]
        lift = self._first_lift(place, rows, cost.reshape(-1, self.shape[2]))
        self.place = np.concatenate([self.place, place])
        self.lift = np.concatenate([self.lift, lift])
        self.speed = np.concatenate([self.speed, np.zeros_like(lift)])
        self.copy = np.concatenate([self.copy, np.zeros((fresh.size, 9), np.int64)])

    def _first_lift(self, place: Ints, rows: Stitches, cost: Floats64) -> Floats64:
        """Multipliers to begin with: the isolated stitch's yarn dearer, and cheaper by as much beside it.

        No neighbour is made cheaper than the yarn it has, so that the rounds gain nothing by it, and
        the stitch no dearer than its least cheapened neighbour pays for.
        """
        lift = np.zeros((len(place), 9, self.shape[2]))
        each, there = np.arange(len(place)), place[:, 1:] >= 0
        yarn = rows.ravel()[place[:, 0]].astype(np.int64)
        beside = np.where(there, place[:, 1:], 0)
        now = cost[beside, rows.ravel()[beside].astype(np.int64) % self.shape[2]]
        slack = np.clip(cost[beside, yarn[:, None]] - now, 0.0, self.price)
        slack = np.where(there, slack, self.price)
        lift[each, 0, yarn] = slack.min(axis=1)
        for side in range(8):
            lift[each, 1 + side, yarn] = np.where(there[:, side], -slack.min(axis=1), 0.0)
        return lift

    def evaluate(self, rows: Stitches) -> float:
        """The least cost of all the problems; where yarns draw, the copy takes that of `rows`."""
        if not len(self.place):
            return 0.0
        there = self.place >= 0
        cost = np.where(there[..., None], self.forbidden[self.place] - self.lift, 0.0)
        now = self._now(rows)
        cheapest = cost.min(axis=2)
        own = np.take_along_axis(cost, now[..., None], 2)[..., 0]
        self.copy = np.where(own <= cheapest, now, cost.argmin(axis=2))
        dearer = np.where(there[..., None], cost - cheapest[..., None], np.inf)[:, 1:]
        rescue = dearer.min(axis=1)
        middle = cost[:, 0] + np.minimum(self.price, rescue)
        centre = self._centre(middle, now[:, 0])
        each = np.arange(len(centre))
        saved = np.flatnonzero(rescue[each, centre] < self.price)
        nearest = dearer[saved, :, centre[saved]].argmin(axis=1)
        self.copy[:, 0] = centre
        self.copy[saved, 1 + nearest] = centre[saved]
        return float(middle[each, centre].sum() + cheapest[:, 1:].sum())

    def turn(self, rows: Stitches, average: float) -> float:
        """Average the subgradient into the direction; the square of its length."""
        if not len(self.place):
            return 0.0
        there = self.place >= 0
        slope = np.zeros_like(self.lift)
        where = np.nonzero(there)
        np.add.at(slope, (*where, self._now(rows)[where]), 1.0)
        np.add.at(slope, (*where, self.copy[where]), -1.0)
        self.speed = slope + average * self.speed
        return float((self.speed**2).sum())

    def climb(self, step: float) -> None:
        """Move the multipliers along the direction."""
        self.lift += step * self.speed

    def _now(self, rows: Stitches) -> Ints:
        return np.where(self.place >= 0, rows.ravel()[self.place], 0).astype(np.int64)

    @staticmethod
    def _centre(middle: Floats64, now: Ints) -> Ints:
        """The cheapest yarn of each middle stitch; `now` where that is as cheap."""
        own = np.take_along_axis(middle, now[:, None], 1)[:, 0]
        return np.asarray(np.where(own <= middle.min(axis=1), now, middle.argmin(axis=1)))


def _around(live: NDArray[np.bool_], circular: bool, stacked: bool) -> Ints:
    """Every stitch and its neighbours as `measure.isolated` has them, int64 [R·N, 9], -1 for none."""
    rounds, width = live.shape
    out = np.full((rounds, width, 9), -1, np.int64)
    number = np.where(live, np.arange(live.size).reshape(live.shape), -1)
    out[..., 0] = number
    for r in range(rounds):
        columns = np.flatnonzero(live[r])
        if columns.size > 1:
            before, after = np.roll(number[r, columns], 1), np.roll(number[r, columns], -1)
            if not circular:
                before[0], after[-1] = -1, -1
            out[r, columns, 1], out[r, columns, 2] = before, after
    for side, step in ((3, -1), (6, 1)):
        for turn in (-1, 0, 1):
            moved = np.roll(np.roll(number, -step, axis=0), -turn, axis=1)
            if not stacked:
                moved[-1 if step == 1 else 0] = -1
            if not circular and turn:
                moved[:, -1 if turn == 1 else 0] = -1
            out[..., side + turn + 1] = np.where(live, moved, -1)
    return out.reshape(-1, 9)
