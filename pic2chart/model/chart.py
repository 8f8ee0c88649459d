"""The chart: what is knitted, frozen.

`stitches[round, stitch]` is a uint8 index into `yarns`, 255 where there is no stitch. Round 0 is
knitted first (bottom of the page); stitch 0 is at the right-hand edge, right side facing. Inside
the program rounds and stitches count from 0; in files and in everything a knitter reads, from 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal, Self

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE, MAX_YARNS, Settings
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn

NO_STITCH = 255

Stitches = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Rules:
    """What a chart must keep to. `float_limit` is already the smaller of count and length."""

    colours_per_round: int = 2
    float_limit: int = 5
    long_floats: Literal["catch", "break"] = "catch"
    isolated: Literal["tidy", "keep"] = "tidy"
    min_delta_L: float = 20.0

    @classmethod
    def of(cls, settings: Settings) -> Self:
        """The rules these settings ask for, the length limit turned into stitches at their gauge."""
        limit = Gauge.parse(settings.gauge).float_limit(settings.float_limit, settings.float_cm)
        return cls(
            settings.per_round,
            limit,
            settings.long_floats,  # type: ignore[arg-type]  # checked by Settings
            settings.isolated,  # type: ignore[arg-type]
            settings.min_delta_L,
        )


@dataclass(frozen=True, slots=True, order=True)
class Catch:
    """The yarn (index) that is caught behind a stitch; round and stitch count from 0."""

    round: int
    stitch: int
    yarn: int


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """A chart that can be drawn, checked and knitted.

    `stitches`: uint8 [rounds, stitches], read-only. `repeat`: (stitches, rounds) of the unit the
    chart repeats, or None when it is knitted once; a chart with a repeat is also stacked on itself.
    `fixed`: bool [rounds, stitches], stitches that mending must not change, or None.
    `strands`: the plan of `pic2chart.strands` as plain data, empty when none was made.
    `extra`: keys of the file this program does not know, kept. Raises InputError when the parts do
    not fit together.
    """

    stitches: Stitches
    yarns: tuple[Yarn, ...]
    gauge: Gauge = field(default_factory=Gauge)
    title: str = "untitled"
    worked: Literal["round", "flat"] = "round"
    hand: Literal["right", "left"] = "right"
    rules: Rules = field(default_factory=Rules)
    catches: tuple[Catch, ...] = ()
    repeat: tuple[int, int] | None = None
    fixed: NDArray[np.bool_] | None = None
    source: Mapping[str, Any] = field(default_factory=dict)
    score: Mapping[str, Any] = field(default_factory=dict)
    strands: Mapping[str, Any] = field(default_factory=dict)
    extra: Mapping[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        stitches = np.array(self.stitches, dtype=np.uint8)
        if stitches.ndim != 2 or not all(1 <= side <= MAX_SIDE for side in stitches.shape):
            raise InputError(message("chart-bad-shape", most=MAX_SIDE, shape=str(stitches.shape)))
        if not 1 <= len(self.yarns) <= MAX_YARNS:
            raise InputError(message("chart-bad-yarns", most=MAX_YARNS, yarns=len(self.yarns)))
        used = stitches[stitches != NO_STITCH]
        if used.size == 0:
            raise InputError(message("chart-without-stitches"))
        if int(used.max()) >= len(self.yarns):
            raise InputError(
                message("chart-unknown-yarn", yarn=int(used.max()) + 1, yarns=len(self.yarns))
            )
        stitches.setflags(write=False)
        object.__setattr__(self, "stitches", stitches)
        if self.fixed is not None:
            fixed = np.array(self.fixed, dtype=bool)
            if fixed.shape != stitches.shape:
                raise InputError(message("fixed-bad-shape"))
            fixed.setflags(write=False)
            object.__setattr__(self, "fixed", fixed)
        object.__setattr__(self, "catches", tuple(sorted(self.catches)))

    @property
    def round_count(self) -> int:
        return int(self.stitches.shape[0])

    @property
    def stitch_count(self) -> int:
        """Squares across, with those that hold no stitch."""
        return int(self.stitches.shape[1])

    @property
    def live(self) -> NDArray[np.bool_]:
        """Bool [rounds, stitches]: where there is a stitch."""
        return np.asarray(self.stitches != NO_STITCH)

    @property
    def usual_count(self) -> int:
        """Stitches that most rounds have (the more of two as common): what a shaped piece measures."""
        found, times = np.unique(self.live.sum(axis=1), return_counts=True)
        return int(found[times == times.max()].max())

    @property
    def in_round(self) -> bool:
        """Whether each round joins its own first stitch (worked in the round)."""
        return self.worked == "round"

    @property
    def stacked(self) -> bool:
        """Whether the last round is followed by the first (the chart repeats upwards)."""
        return self.repeat is not None

    def with_(self, **changes: Any) -> Chart:
        """A chart with some parts replaced."""
        return replace(self, **changes)
