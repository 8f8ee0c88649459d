"""The best sets of K yarns in which every pair reads: an exact search.

A set is allowed when every two of its yarns differ by the limit in L*; the best set is the one whose
pairs differ most in all (the sum of ΔE2000). Sorted by lightness, an allowed set is a chain of steps
no smaller than the limit, so the yarns that may follow are those beyond the last step. The search
goes down the chains and drops a branch that cannot reach the sets in hand: what it holds already,
plus the strongest ties to yarns still to come, plus the best that as many yarns reach among
themselves from there on, which smaller searches have settled before (Verfaillie, Lemaître & Schiex
1996, "Russian doll search").
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pic2chart.core.colour import delta_e2000
from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message

Floats = NDArray[np.float64]

MOST = 8
"""Most yarns in a set."""
MOST_EXACT, _CANDIDATES = 1000, 300
"""Yarns among which the search is exact, and how many stand for a larger shelf."""
_BUDGET, _BRANCH = 800_000_000, 20_000
"""Pairs of yarns looked at before the search stops and says that it did not finish; a branch costs
as much time as that many pairs however few it looks at."""


@dataclass(frozen=True, slots=True)
class YarnSets:
    """Sets of yarn indices, dark to light, best first, with the sum of ΔE2000 over their pairs.

    `proven`: the search went through to the end, so that no better set exists.
    """

    sets: tuple[tuple[int, ...], ...]
    totals: tuple[float, ...]
    proven: bool


def best_yarn_sets(
    lab: ArrayLike,
    k: int,
    min_delta_L: float,
    keep: int = 5,
    must: Sequence[int] = (),
    spans: ArrayLike | None = None,
) -> YarnSets:
    """The best `keep` sets of k yarns of Lab [yarns, 3] whose pairs all differ by `min_delta_L`.

    `must` names yarns that every set holds. `spans` [yarns, 2]: the darkest and lightest L* of yarns of
    several shades, between which the difference is taken; a yarn's own L* twice when left out. No sets when none is allowed. Raises SettingError when
    k is not between 2 and 8 or larger than the shelf.
    """
    colours = np.asarray(lab, np.float64).reshape(-1, 3)
    if not 2 <= k <= min(MOST, len(colours)):
        raise SettingError(
            message(
                "sets-out-of-range", k=k, yarns=len(colours), most=max(2, min(MOST, len(colours)))
            )
        )
    span = np.repeat(colours[:, :1], 2, axis=1) if spans is None else np.asarray(spans, np.float64)
    if len(colours) > MOST_EXACT:
        return _of_many(colours, span, k, min_delta_L, keep, must)
    order = np.lexsort((np.arange(len(colours)), span[:, 0]))
    low, high = span[order].T
    follows = np.searchsorted(low, high + min_delta_L - 1e-9, side="left")
    follows = np.maximum(follows, np.arange(len(low)) + 1)
    place = {int(yarn): at for at, yarn in enumerate(order)}
    wanted = tuple(sorted(place[yarn] for yarn in must))
    apart = delta_e2000(colours[order][:, None], colours[order][None])
    search = _Search(apart, follows)
    held = _Held(keep, wanted)
    _start(held, apart, span[order], k, min_delta_L)
    proven = search.run(k, held)
    sets = tuple(tuple(int(order[at]) for at in members) for _, members in held.best())
    totals = tuple(round(total, 6) for total, _ in held.best())
    return YarnSets(sets, totals, proven)


def _of_many(
    colours: Floats, span: Floats, k: int, limit: float, keep: int, must: Sequence[int]
) -> YarnSets:
    """Good sets of a shelf too large for the search: those of yarns that stand for the rest, each
    yarn then changed for the best of the whole shelf until no change helps. Not proven."""
    stand = np.union1d(_standing(colours), np.asarray(must, np.intp))
    place = {int(yarn): at for at, yarn in enumerate(stand)}
    found = best_yarn_sets(
        colours[stand], k, limit, keep, [place[yarn] for yarn in must], span[stand]
    )
    held = _Held(keep, tuple(sorted(must)))
    for members in found.sets:
        better = _bettered([int(stand[at]) for at in members], colours, span, limit, must)
        total = sum(
            float(delta_e2000(colours[one], colours[other]))
            for one, other in combinations(better, 2)
        )
        held.add(total, tuple(sorted(better, key=lambda yarn: (colours[yarn, 0], yarn))))
    best = held.best()
    return YarnSets(
        tuple(members for _, members in best), tuple(round(total, 6) for total, _ in best), False
    )


def _standing(colours: Floats) -> NDArray[np.intp]:
    """Indices of at most _CANDIDATES yarns: of each cell of a lattice in Lab the one farthest out,
    since sets of yarns far apart are made of those."""
    far = np.hypot(*(colours[:, 1:] - np.median(colours[:, 1:], axis=0)).T)
    far = far + np.abs(colours[:, 0] - 50)
    step, order = 4.0, np.argsort(-far, kind="stable")
    while True:
        cells = np.floor(colours[order] / step).astype(np.intp)
        _, first = np.unique(cells, axis=0, return_index=True)
        if len(first) <= _CANDIDATES:
            return np.sort(order[first])
        step *= 1.15


def _bettered(
    members: list[int], colours: Floats, span: Floats, limit: float, must: Sequence[int]
) -> list[int]:
    """The set with one yarn after the other changed for the best there is, until none helps."""
    while True:
        before = list(members)
        for at in range(len(members)):
            if members[at] in must:
                continue
            rest = [yarn for place, yarn in enumerate(members) if place != at]
            ties = sum(
                (delta_e2000(colours[yarn], colours) for yarn in rest), np.zeros(len(colours))
            )
            near = (_gap(span[rest][:, None], span) < limit - 1e-9).any(axis=0)
            ties[near] = -np.inf
            ties[rest] = -np.inf
            best = int(np.argmax(ties))
            if ties[best] > ties[members[at]] + 1e-9:
                members[at] = best
        if members == before:
            return members


@dataclass(slots=True)
class _Held:
    """The best `keep` sets met that hold every `wanted` yarn; a heap, the worst on top."""

    keep: int
    wanted: tuple[int, ...] = ()
    threshold: float = -np.inf
    heap: list[tuple[float, tuple[int, ...]]] = field(default_factory=list)

    def add(self, total: float, members: tuple[int, ...]) -> None:
        if total <= self.threshold or not set(self.wanted) <= set(members):
            return
        if any(members == other for _, other in self.heap):
            return
        heapq.heappush(self.heap, (total, members))
        if len(self.heap) > self.keep:
            heapq.heappop(self.heap)
        if len(self.heap) == self.keep:
            self.threshold = max(self.threshold, self.heap[0][0])

    def best(self) -> list[tuple[float, tuple[int, ...]]]:
        return sorted(self.heap, key=lambda found: (-found[0], found[1]))


def _gap(some: Floats, others: Floats) -> Floats:
    """L* between spans [..., 2], negative where they overlap."""
    return np.maximum(some[..., 0] - others[..., 1], others[..., 0] - some[..., 1])


def _start(held: _Held, apart: Floats, span: Floats, k: int, limit: float) -> None:
    """Greedy sets from every yarn, so that the search can drop branches from the outset."""
    near = _gap(span[:, None], span) < limit - 1e-9
    np.fill_diagonal(near, True)
    for first in range(len(span)):
        members = list(dict.fromkeys((*held.wanted, first)))
        while len(members) < k:
            ties = np.where(near[members].any(axis=0), -np.inf, apart[members].sum(axis=0))
            best = int(np.argmax(ties))
            if not np.isfinite(ties[best]):
                break
            members.append(best)
        block = np.ix_(members, members)
        if len(members) == k and int(near[block].sum()) == k:
            held.add(float(apart[block].sum() / 2), tuple(sorted(members)))


@dataclass(slots=True)
class _Search:
    """Yarns are counted from dark to light; `follows[i]` is the first that may come after i.

    `tails[r][i]` is the largest sum over the pairs of r yarns from i on. `left`: pairs that may still be
    looked at.
    """

    apart: Floats
    follows: NDArray[np.intp]
    left: int = _BUDGET // 2
    tails: list[Floats] = field(default_factory=list)

    def run(self, k: int, held: _Held) -> bool:
        """Put the best sets into `held`; whether the search went through to its end."""
        zeros = np.zeros(len(self.apart) + 1)
        self.tails = [zeros, zeros]
        for size in range(2, k):
            self.tails.append(self._tail(size))
        self.left += _BUDGET // 2
        for i in range(len(self.apart)):
            self._grow((i,), self.apart[i], 0.0, k, held)
        return self.left > 0

    def _tail(self, size: int) -> Floats:
        """The best `size` yarns from every yarn on; minus infinity where none is allowed."""
        best = np.full(len(self.apart) + 1, -np.inf)
        for i in range(len(self.apart) - 1, -1, -1):
            held = _Held(1, threshold=float(best[i + 1]))
            self._grow((i,), self.apart[i], 0.0, size, held)
            best[i] = held.threshold
            if self.left <= 0:
                best[: i + 1] = self.apart.max() * size * (size - 1) / 2
                break
        return best

    def _grow(
        self, members: tuple[int, ...], ties: Floats, total: float, k: int, held: _Held
    ) -> None:
        """Every allowed set that continues `members`; `ties` [yarns] sums the pairs with them."""
        start, missing = int(self.follows[members[-1]]), k - len(members)
        if self.left <= 0 or total + self._bound(ties, start, missing) <= held.threshold:
            return
        if any(members[-1] < wanted < start for wanted in held.wanted):
            return  # a wanted yarn is too near to the last one to follow it
        self.left -= max(_BRANCH, (len(ties) - start) ** 2)
        if missing <= 2:
            self._finish(members, ties, total, missing, held)
            return
        for i in range(start, len(self.apart) - missing + 1):
            self._grow((*members, i), ties + self.apart[i], total + float(ties[i]), k, held)

    def _bound(self, ties: Floats, start: int, missing: int) -> float:
        """As much as any `missing` yarns from `start` on can add, or more."""
        rest = ties[start:]
        if len(rest) < missing:
            return -np.inf
        strongest = np.partition(rest, len(rest) - missing)[len(rest) - missing :]
        return float(strongest.sum() + self.tails[missing][start])

    def _finish(
        self, members: tuple[int, ...], ties: Floats, total: float, missing: int, held: _Held
    ) -> None:
        """The last one or two yarns, all of them at once."""
        start = int(self.follows[members[-1]])
        sums = total + ties[start:, None]
        if missing == 2:
            sums = sums + ties[start:] + self.apart[start:, start:]
            later = np.arange(start, len(ties)) >= self.follows[start:, None]
            sums = np.where(later, sums, -np.inf)
        places = np.argwhere(sums > held.threshold)
        values = sums[sums > held.threshold]
        for at in np.argsort(-values, kind="stable").tolist():
            if values[at] <= held.threshold:
                return
            ends = places[at][:missing].tolist()
            held.add(float(values[at]), (*members, *(start + end for end in ends)))
