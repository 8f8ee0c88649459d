"""A stretch that repeats is told once: the shortest wording of runs, at most two brackets deep."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from math import lcm
from typing import Generic, TypeVar

import numpy as np

T = TypeVar("T", bound=Hashable)

_LONGEST_UNIT = 24
_SAVING = 2
"""Runs that folding a repeat must save to be worth its brackets."""


@dataclass(frozen=True, slots=True)
class Group(Generic[T]):
    """Runs worked `times` times over; a run may be a group again, one that holds no other."""

    runs: tuple[T | Group[T], ...]
    times: int


def fold(runs: Sequence[T]) -> tuple[T | Group[T], ...]:
    """The shortest wording of the runs in which a stretch that repeats is said once.

    Exact over all ways to choose repeats of units up to 24 runs, each taken as often as it follows
    itself; groups are not nested.
    """
    count = len(runs)
    cost = [0.0] * (count + 1)
    choice: list[tuple[int, int]] = [(1, 1)] * count
    repeated = _repeated(runs)
    for i in range(count - 1, -1, -1):
        cost[i] = 1 + cost[i + 1]
        for unit, times in repeated[i]:
            if unit + _SAVING + cost[i + unit * times] < cost[i]:
                cost[i] = unit + _SAVING + cost[i + unit * times]
                choice[i] = (unit, times)
    parts: list[T | Group[T]] = []
    i = 0
    while i < count:
        unit, times = choice[i]
        parts.append(runs[i] if times == 1 else Group(tuple(runs[i : i + unit]), times))
        i += unit * times
    return tuple(parts)


def fold_twice(runs: Sequence[T]) -> tuple[T | Group[T], ...]:
    """As `fold`, and once more inside each group."""
    return tuple(
        Group(fold(part.runs), part.times) if isinstance(part, Group) else part
        for part in fold(runs)
    )


def _repeated(runs: Sequence[T]) -> list[list[tuple[int, int]]]:
    """For each run the units that begin with it and follow themselves: how long, how often in all."""
    found: list[list[tuple[int, int]]] = [[] for _ in runs]
    known: dict[T, int] = {}
    codes = np.array([known.setdefault(run, len(known)) for run in runs])
    for unit in range(1, min(_LONGEST_UNIT, len(runs) // 2) + 1):
        other = np.flatnonzero(codes[unit:] != codes[:-unit])
        places = np.arange(len(runs) - unit)
        ends = np.append(other, len(places))
        times = 1 + (ends[np.searchsorted(other, places)] - places) // unit
        for i in np.flatnonzero(times > 1).tolist():
            found[i].append((unit, int(times[i])))
    return found


def period(items: Sequence[T]) -> int:
    """The least number of items whose copies, side by side, are all of them."""
    count = len(items)
    for unit in range(1, count // 2 + 1):
        if count % unit == 0 and all(items[i] == items[i + unit] for i in range(count - unit)):
            return unit
    return count


def common_unit(count: int, periods: Iterable[int]) -> int | None:
    """The stitches after which rounds of `count` may all be marked, from the period of each.

    None when the rounds do not repeat together, or are all of one piece.
    """
    unit = lcm(*periods)
    return unit if 1 < unit < count and count % unit == 0 else None
