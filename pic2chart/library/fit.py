"""Motifs for a round of so many stitches: alone, or each followed by a strip of a filler.

A motif fits alone when its repeat divides the round. Otherwise the same number of strips as of motifs
takes up the rest: round = n · (repeat + strip), the strip whole repeats of a filler. Such a round is
put together and measured, since floats can run on from the motif into the strip.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pic2chart.errors import SettingError
from pic2chart.filler import FILLERS, Filler, fill
from pic2chart.library.alike import squares_of
from pic2chart.library.catalogue import reading
from pic2chart.library.motif import Motif
from pic2chart.rules.measure import floats
from pic2chart.settings import MAX_SIDE

MOST_STITCHES = 2 * MAX_SIDE


@dataclass(frozen=True, slots=True)
class Fit:
    """`times` copies of the motif's repeat (`unit` stitches), each followed by `strip` stitches of
    `filler` (0 and None when it fits alone). `longest_float`: of the whole round, in stitches."""

    motif: Motif
    times: int
    unit: int
    strip: int
    filler: str | None
    longest_float: int

    @property
    def words(self) -> str:
        """'8 × 30', '8 × (26 + 4 of net)'."""
        inner = (
            str(self.unit) if not self.strip else f"({self.unit} + {self.strip} of {self.filler})"
        )
        return f"{self.times} × {inner}"


def fit(out: Path, stitches: int, *, alone: bool = False) -> list[Fit]:
    """Every motif that fits a round of `stitches`: those that fit alone first, then by narrow strips.

    Raises SettingError for an odd round, InputError without a library at `out`.
    """
    if not 4 <= stitches <= MOST_STITCHES:
        raise SettingError(
            f"A round of {stitches} stitches cannot be fitted; give 4 to {MOST_STITCHES}."
        )
    with reading(out) as catalogue:
        fits = [found for motif in catalogue.motifs() for found in _fits(motif, stitches, alone)]
    return sorted(fits, key=lambda f: (f.strip, f.motif.number))


def _fits(motif: Motif, stitches: int, alone: bool) -> Iterator[Fit]:
    unit = motif.repeat_stitches
    if unit <= stitches and stitches % unit == 0:
        yield Fit(motif, stitches // unit, unit, 0, None, _longest(motif, unit, 0, None))
    elif not alone:
        strip = _strip(unit, stitches)
        if strip is not None:
            times, width, filler = strip
            longest = _longest(motif, unit, width, filler)
            yield Fit(motif, times, unit, width, filler.name, longest)


def _strip(unit: int, stitches: int) -> tuple[int, int, Filler] | None:
    """The most copies of the unit with the narrowest strip, no wider than the unit itself."""
    for times in range(stitches // (unit + 1), 0, -1):
        width = stitches // times - unit
        if stitches % times or width > unit:
            continue
        for filler in FILLERS.values():
            if width % filler.width == 0:
                return times, width, filler
    return None


def _longest(motif: Motif, unit: int, width: int, filler: Filler | None) -> int:
    """Longest float of copies of the unit and the strip, worked in the round.

    One copy of unit and strip on a circle has the floats of any number of them, but for rounds of
    one yarn, which have none.
    """
    knitted = squares_of(motif.pixels)[::-1, ::-1][:, :unit]
    if filler is not None:
        light, dark = _main_yarns(motif)
        strip = np.where(fill(filler.name, len(knitted), width) == 1, dark, light)
        knitted = np.hstack([knitted, strip.astype(np.uint8)])
    return floats(np.ascontiguousarray(knitted), circular=True).longest


def _main_yarns(motif: Motif) -> tuple[int, int]:
    """The two yarns with the most stitches: ground and motif of the filler."""
    order = sorted(range(len(motif.yarns)), key=lambda i: -motif.yarns[i].stitches)
    return order[0], order[min(1, len(order) - 1)]
