"""Centimetres to stitches and rounds, and the nearest counts at which repeats close."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil
from typing import Any

from pic2chart.errors import SettingError
from pic2chart.gauge import Gauge

FARTHEST = 0.15
"""A count farther than this share from the measure asked for does not fit."""
_SHOWN = 2


@dataclass(frozen=True, slots=True)
class Count:
    """Stitches round (or across) and what they measure, cm."""

    stitches: int
    cm: float

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {"stitches": self.stitches, "cm": round(self.cm, 1)}


@dataclass(frozen=True, slots=True)
class Counts:
    """The count chosen for a measure of `asked_cm`, and the nearest others, fewest stitches first."""

    asked_cm: float
    chosen: Count
    others: tuple[Count, ...]
    why: str = ""

    @property
    def stitches(self) -> int:
        return self.chosen.stitches

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "asked_cm": round(self.asked_cm, 1),
            **self.chosen.to_dict(),
            "why": self.why,
            "nearest": [other.to_dict() for other in self.others],
        }


def nearest_counts(
    cm: float,
    gauge: Gauge,
    fits: Callable[[int], bool],
    why: str,
    least: int = 8,
    instead: str = "a smaller motif",
) -> Counts:
    """The count nearest `cm` that `fits`, and up to two others on each side.

    `why` says what the counts must do ('a multiple of 12'). Raises SettingError, naming the nearest
    that fits and what to choose `instead`, when it is more than 15 % away.
    """
    wanted = cm / gauge.stitch_width
    good = [n for n in range(least, int(2 * wanted) + 2 * least + 200) if fits(n)]
    if not good:
        raise SettingError(
            f"No stitch count near {wanted:.0f} is {why}; choose another motif width."
        )
    best = min(good, key=lambda n: (abs(n - wanted), n))
    if abs(best - wanted) > max(FARTHEST * wanted, 1.0):
        raise SettingError(
            f"{cm:.1f} cm is {wanted:.0f} stitches at your gauge, and the nearest count that is {why} "
            f"is {best} ({best * gauge.stitch_width:.1f} cm); choose {instead} or that measure."
        )
    place = good.index(best)
    others = [*good[max(0, place - _SHOWN) : place], *good[place + 1 : place + 1 + _SHOWN]]
    return Counts(cm, _count(best, gauge), tuple(_count(n, gauge) for n in others), why)


def _count(stitches: int, gauge: Gauge) -> Count:
    return Count(stitches, stitches * gauge.stitch_width)


def rounds_for(cm: float, gauge: Gauge, least: int = 1) -> int:
    """Rounds nearest to a height of `cm`."""
    return max(least, round(cm / gauge.round_height))


def up_to_tenth(cm: float) -> float:
    """A length that will do, told in tenths of a cm."""
    return ceil(10 * cm - 1e-6) / 10


def spread(total: int, parts: int) -> list[int]:
    """Split `total` into `parts` whole numbers that differ by one at the most, evenly mixed."""
    return [(i + 1) * total // parts - i * total // parts for i in range(parts)]
