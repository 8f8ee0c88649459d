"""A stretch that repeats is told once: the shortest wording of runs, at most two brackets deep."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import lcm
from typing import Generic, TypeVar

T = TypeVar("T")

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
    times_from = {unit: _times(runs, unit) for unit in range(1, _LONGEST_UNIT + 1)}
    for i in range(count - 1, -1, -1):
        cost[i] = 1 + cost[i + 1]
        for unit in range(1, min(_LONGEST_UNIT, (count - i) // 2) + 1):
            times = times_from[unit][i]
            if times > 1 and unit + _SAVING + cost[i + unit * times] < cost[i]:
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


def _times(runs: Sequence[T], unit: int) -> list[int]:
    """How often the `unit` runs from each place on follow each other."""
    alike = [0] * (len(runs) + 1)
    for i in range(len(runs) - unit - 1, -1, -1):
        alike[i] = alike[i + 1] + 1 if runs[i] == runs[i + unit] else 0
    return [1 + length // unit for length in alike]


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
