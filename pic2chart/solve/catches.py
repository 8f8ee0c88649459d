"""The catch plan: behind which stitches the long floats are caught.

Requirements, in strict order: no uncaught stretch over the limit; no catch right above another
(common practice: a column of catches shows on the front), or, where that cannot be had, as few as
can be; the fewest catches; then no two yarns caught behind one stitch, none beside a colour
change, none slantwise beside a catch of the next round, the least show, an even spread.

Each float by itself needs its length // (limit + 1) catches. A quick sweep often places just so
many. Where it does not, the floats that meet on some column in consecutive rounds are taken group
by group: prices on the meeting places raise the lower bound and drive the catches apart, and most
groups are settled when the two numbers meet. What is left goes to an integer program.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import Message, message
from pic2chart.model.chart import NO_STITCH, Catches, Stitches
from pic2chart.solve import catch_kernels as kernels

Ints = NDArray[np.int32]

SWEEPS = 12
"""At most so many sweeps over all floats; two to five are usual."""
ATTEMPTS = 30
"""How often prices and placing are tried in turn before the integer program is asked."""
MOST_WORK = 8_000_000
"""Meeting pairs and three times the places of open groups, over all attempts, after which no further one
is made: some seconds. Pictures need a hundredth of it; noise in twelve yarns spends it all."""
MOST_IDLE = 400_000
"""The same over the attempts since the last that gained anything, a catch fewer or a higher whole bound.
Small groups get every attempt; of one that spans a whole large chart, one in vain is enough.
"""
LARGE, NEARLY = 200_000, 500
"""A group at which an attempt costs more than this is left once at most one in so many of its catches is too
many: the next attempt often gains nothing, and takes as long as all before.
"""
STEPS, FEWER = 40, 28
"""Steps of the lower bound between two attempts; where one of the groups is as large as that."""


@dataclass(frozen=True, slots=True)
class CatchPlan:
    """Where floats are caught.

    `proven`: no plan that keeps the requirements has fewer catches (nor fewer stacked ones).
    `lower_bound`: no plan has fewer catches than this. `stacked_left`: how many catches lie right
    above another one; 0 unless the limit leaves no other way.
    """

    catches: Catches
    proven: bool
    lower_bound: int
    stacked_left: int

    @property
    def remarks(self) -> tuple[Message, ...]:
        """What a knitter should know when it is not certain that no plan has fewer catches."""
        planned = len(self.catches)
        if self.proven or planned <= self.lower_bound:
            return ()
        return (message("catches-not-settled", planned=planned, least=self.lower_bound),)


@dataclass(frozen=True, slots=True, eq=False)
class CatchProblem:
    """Long floats and all that their placing depends on: `catch_problem`. Arrays as the kernels take them.

    `stacked`: another round follows the last one, the first; `on_itself`: a single round that does.
    `circular` bool [R]: rounds that join their own first stitch; `floats` int32 [F, 5], `offsets` int32 [F + 1], `places` int32 [places]: columns.
    """

    stitches: Stitches
    show: NDArray[np.int64]
    limit: int
    circular: NDArray[np.bool_]
    stacked: bool
    on_itself: bool
    floats: Ints
    offsets: Ints
    places: Ints

    @property
    def fewest(self) -> NDArray[np.int64]:
        """Int [F]: catches each float needs by itself."""
        return np.asarray(self.floats[:, 3] // (self.limit + 1), np.int64)

    @property
    def longest(self) -> int:
        """The stitches of the longest float and the two beside it."""
        return int(self.floats[:, 3].max(initial=0)) + 2

    def per_place(self, per_float: NDArray[Any]) -> Ints:
        """Int32 [places]: what is known of each float (int [F]), for each of its places."""
        return np.repeat(per_float.astype(np.int32), self.floats[:, 3])

    def order(self, *keys: NDArray[np.int32]) -> Ints:
        """Numbers of the floats sorted by `keys`, then from below and from the right."""
        return np.lexsort((self.floats[:, 2], self.floats[:, 0], *keys[::-1])).astype(np.int32)


@dataclass(slots=True, eq=False)
class WorkingPlan:
    """A plan in the making: uint8 [places] where catches are, uint8 [R, N] how many per stitch.

    `changed_at`, `seen`, `turn`: what the kernels keep so that no float is placed again for nothing.
    """

    problem: CatchProblem
    caught: NDArray[np.uint8] = field(init=False)
    held: NDArray[np.uint8] = field(init=False)
    changed_at: NDArray[np.int64] = field(init=False)
    seen: NDArray[np.int64] = field(init=False)
    turn: int = 0

    def __post_init__(self) -> None:
        self.caught = np.zeros(len(self.problem.places), np.uint8)
        self.held = np.zeros(self.problem.stitches.shape, np.uint8)
        self.changed_at = change_blocks(self.held)
        self.seen = np.zeros(len(self.problem.floats), np.int64)

    def sweep(
        self,
        order: Ints,
        times: int,
        price: NDArray[np.int64] | None = None,
        toll: NDArray[np.int64] | None = None,
        *,
        further: bool = False,
    ) -> None:
        """Place the floats of `order`; stacked catches cost `price`, by default more than all. `further`:
        prices are those of the last sweep, or their change was noted.
        """
        problem = self.problem
        if price is None:
            price = np.full(self.held.shape, kernels.STACKED, np.int64)
        if toll is None:
            toll = np.zeros(len(problem.places), np.int64)
        if not further:
            self.changed_at[:], self.seen[:], self.turn = 0, 0, 0
        self.turn = kernels.place_catches(
            problem.floats, problem.offsets, problem.places, problem.stitches, problem.show,
            problem.limit, problem.circular, problem.stacked, order, price, toll,
            self.caught, self.held, times,
            np.zeros((2, problem.longest), np.int64), np.zeros((2, problem.longest), np.int64),
            np.zeros(problem.longest, np.int64),
            self.changed_at, self.seen, self.turn,
        )  # fmt: skip

    def note_change(self, dearer: NDArray[np.bool_]) -> None:
        """The price has changed of stacking on these stitches (bool [R, N]) in this round and the next."""
        rounds, columns = np.nonzero(dearer)
        self.turn += 1
        for up in (0, 1):
            self.changed_at[(rounds + up) % len(self.changed_at), columns >> kernels.BLOCK] = (
                self.turn
            )

    def replace(self, chosen: NDArray[np.bool_], caught: NDArray[np.uint8]) -> None:
        """Take over the catches of the chosen places (bool [places]) from elsewhere."""
        self.caught = np.where(chosen, caught, self.caught)
        rounds, width = self.problem.per_place(self.problem.floats[:, 0]), self.held.shape[1]
        square = (rounds * width + self.problem.places)[self.caught > 0]
        self.held[:] = np.bincount(square, minlength=self.held.size).reshape(self.held.shape)

    def stacked(self) -> NDArray[np.bool_]:
        """Bool [R, N]: caught here and again on the same column in the next round."""
        both = (self.held > 0) & (np.roll(self.held, -1, axis=0) > 0)
        if not self.problem.stacked:
            both[-1] = False
        return both


def catch_problem(
    stitches: Stitches,
    *,
    circular: bool | NDArray[np.bool_],
    limit: int,
    stacked: bool,
    show: NDArray[np.float64],
) -> CatchProblem:
    """The floats of a chart that are longer than `limit` stitches.

    `stitches` uint8 [R, N], 255 = no stitch; `circular`: worked in the
    round, or bool [R], which rounds join their own first stitch; `stacked`: the last
    round is followed by the first (of a chart of one round, whose catches must then stack, the
    plan is made as if it were not). `show` float [K, K]: how much yarn b shows when caught behind
    a stitch of yarn a (such as their difference in L*, 0 to 100; steps of a half count). Raises
    SettingError for a limit under 1 and InputError for a yarn that `show` lacks.
    """
    if limit < 1:
        raise SettingError(message("catch-limit-too-small", limit=limit))
    used = stitches[stitches != NO_STITCH]
    if used.size and int(used.max()) >= len(show):
        raise InputError(
            message("catch-plan-unknown-yarn", yarn=int(used.max()) + 1, yarns=len(show))
        )
    knitted = np.array(stitches, dtype=np.uint8, order="C")  # kernels take no read-only arrays
    limit = min(limit, knitted.shape[1])
    closed = np.array(np.broadcast_to(circular, len(knitted)), dtype=bool)
    floats, columns, live = long_floats(knitted, closed, limit)
    offsets = np.concatenate([[0], np.cumsum(floats[:, 3])]).astype(np.int32)
    rounds = np.repeat(floats[:, 0], floats[:, 3])
    within = np.arange(offsets[-1]) - np.repeat(offsets[:-1], floats[:, 3])
    along = (np.repeat(floats[:, 2], floats[:, 3]) + within) % live[rounds]
    places = columns[rounds, along].astype(np.int32)
    seen = np.clip(np.rint(2 * np.nan_to_num(show)), 0, 255).astype(np.int64)
    alone = len(knitted) == 1
    return CatchProblem(
        knitted, np.ascontiguousarray(seen), limit, closed, stacked and not alone, stacked and alone,
        floats, offsets, places,
    )  # fmt: skip


def plan_catches(problem: CatchProblem) -> CatchPlan:
    """The fewest catches that keep every stretch of every float within the problem's limit."""
    plan, bound, proven = _settled(problem)
    left = (plan.held > 0).sum() if problem.on_itself else plan.stacked().sum()
    return CatchPlan(catches_of(plan), proven, bound, int(left))


def long_floats(
    stitches: Stitches, circular: NDArray[np.bool_], longer_than: int
) -> tuple[Ints, Ints, Ints]:
    """What `find_floats` finds: the floats, the columns of the live stitches, how many there are."""
    columns, live = np.zeros(stitches.shape, np.int32), np.zeros(len(stitches), np.int32)
    used, floats = np.zeros(256, np.int32), np.zeros((8 * len(stitches), 5), np.int32)
    while True:
        found = kernels.find_floats(stitches, circular, longer_than, floats, columns, live, used)
        if found <= len(floats):
            return floats[:found], columns, live
        floats = np.zeros((found, 5), np.int32)


def _settled(problem: CatchProblem) -> tuple[WorkingPlan, int, bool]:
    """The finished draft, the lower bound on its catches, and whether they meet."""
    plan = WorkingPlan(problem)
    parity = problem.order(problem.floats[:, 0] % 2)
    plan.sweep(problem.order(problem.limit - problem.floats[:, 3] % (problem.limit + 1)), 1)
    plan.sweep(parity, SWEEPS)
    bound = int(problem.fewest.sum())
    if int(plan.caught.sum()) == bound and not plan.stacked().any():
        return plan, bound, True
    from pic2chart.solve.catch_proof import settle_groups

    return settle_groups(plan, parity)


def change_blocks(held: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Int [R, blocks], all 0: when anything changed near the stitches of a block, for uint8 [R, N]."""
    return np.zeros((held.shape[0], (held.shape[1] >> kernels.BLOCK) + 1), np.int64)


def catches_of(plan: WorkingPlan) -> Catches:
    """The catches of a plan."""
    problem, at = plan.problem, np.flatnonzero(plan.caught.view(np.bool_))
    owner = np.searchsorted(problem.offsets, at, side="right") - 1
    yarns = problem.floats[owner, 1]
    return Catches.of(np.column_stack([problem.floats[owner, 0], problem.places[at], yarns]))
