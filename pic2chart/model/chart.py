"""The chart: what is knitted, frozen.

`stitches[round, stitch]` is a uint8 index into `yarns`, 255 where there is no stitch. Round 0 is
knitted first (bottom of the page); stitch 0 is at the right-hand edge, right side facing. Inside
the program rounds and stitches count from 0; in files and in everything a knitter reads, from 1.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Literal, Self, overload

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE, MAX_YARNS, Settings
from pic2chart.model.construction import WORKED_IN, Construction, Shaping
from pic2chart.model.gauge import Gauge
from pic2chart.model.rows import Row, check_rows, usual_row
from pic2chart.model.yarn import Yarn

NO_STITCH = 255
"""The index that stands where there is no stitch."""

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


@dataclass(frozen=True, eq=False)
class Catches(Sequence[Catch]):
    """Catches in one table, int64 [catches, 3]: round, stitch, yarn, sorted, read-only. As a sequence, and
    beside tuples, they are single catches, which are made when first asked for.
    """

    table: NDArray[np.int64]

    @classmethod
    def of(cls, catches: Iterable[Catch] | NDArray[np.int64]) -> Catches:
        """The same in order; of a table they are the rows."""
        if isinstance(catches, Catches):
            return catches
        rows = (
            catches
            if isinstance(catches, np.ndarray)
            else [(c.round, c.stitch, c.yarn) for c in catches]
        )
        table = np.array(rows, np.int64).reshape(-1, 3)
        table = table[np.lexsort(table.T[::-1])]
        table.setflags(write=False)
        return cls(table)

    def within(self, first: int, past: int) -> slice:
        """Those in the rounds from `first` to before `past`."""
        return slice(*np.searchsorted(self.table[:, 0], (first, past)).tolist())

    @cached_property
    def single(self) -> tuple[Catch, ...]:
        """Each of them."""
        return tuple(Catch(*row) for row in self.table.tolist())

    def __len__(self) -> int:
        return len(self.table)

    def __iter__(self) -> Iterator[Catch]:
        return iter(self.single)

    @overload
    def __getitem__(self, at: int) -> Catch: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[Catch, ...]: ...
    def __getitem__(self, at: int | slice) -> Catch | tuple[Catch, ...]:
        return self.single[at]

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Catches):
            return np.array_equal(self.table, other.table)
        return self.single == other

    def __hash__(self) -> int:
        return hash(self.single)


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """A chart that can be drawn, checked and knitted.

    `stitches`: uint8 [rounds, stitches], read-only. `repeat`: (stitches, rounds) of the unit the
    chart repeats, or None when it is knitted once; a chart with a repeat is also stacked on itself.
    `catches`: kept as `Catches`. `fixed`: bool [rounds, stitches], stitches that mending must not change, or None.
    `rows`: those rounds and rows that are worked otherwise than usual (short rows), one for a round;
    `row` tells of any. `construction`: shaping, plain parts, written pattern, what the piece is and
    for whom. `strands`: the plan of `stranding.strands` as plain data, empty when none was made.
    `extra`: names in the file that this program does not know, kept as they stood; only the chart
    file reads them. Raises InputError when the parts do not fit together.
    """

    stitches: Stitches
    yarns: tuple[Yarn, ...]
    gauge: Gauge = field(default_factory=Gauge)
    title: str = "untitled"
    worked: Literal["round", "flat"] = "round"
    hand: Literal["right", "left"] = "right"
    rules: Rules = field(default_factory=Rules)
    catches: Sequence[Catch] = ()
    repeat: tuple[int, int] | None = None
    fixed: NDArray[np.bool_] | None = None
    rows: tuple[Row, ...] = ()
    construction: Construction = field(default_factory=Construction)
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
        object.__setattr__(self, "catches", Catches.of(self.catches))
        object.__setattr__(self, "rows", tuple(sorted(self.rows)))
        check_rows(self.rows, *stitches.shape)
        self._refuse_beyond_rows()
        for part in self.construction.plain_parts or ():
            if not 0 <= part.yarn < len(self.yarns):
                raise InputError(
                    message(
                        "plain-part-unknown-yarn",
                        part=part.part,
                        yarn=part.yarn + 1,
                        yarns=len(self.yarns),
                    )
                )

    def _refuse_beyond_rows(self) -> None:
        """Raise InputError for a stitch that the row told for its round does not reach."""
        for row in self.rows:
            stitches = np.flatnonzero(self.stitches[row.round] != NO_STITCH)
            beyond = stitches[(stitches < row.first) | (stitches > row.last)]
            if beyond.size:
                raise InputError(
                    message(
                        "row-too-short",
                        round=row.round + 1,
                        stitch=int(beyond[0]) + 1,
                        first=row.first + 1,
                        last=row.last + 1,
                    )
                )

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

    def row(self, round_: int) -> Row:
        """Which way a round or row (from 0) is worked, how far it reaches, and on which side."""
        at = bisect_left(self.rows, round_, key=lambda row: row.round)
        if at < len(self.rows) and self.rows[at].round == round_:
            return self.rows[at]
        return usual_row(round_, self.stitch_count, in_round=self.in_round)

    def closes(self, round_: int) -> bool:
        """Whether a round (from 0) joins its own first stitch; a short row does not."""
        return self.in_round and self.row(round_) == usual_row(
            round_, self.stitch_count, in_round=True
        )

    @property
    def closed(self) -> NDArray[np.bool_]:
        """Bool [rounds]: which rounds join their own first stitch."""
        closed = np.full(self.round_count, self.in_round)
        told = [row.round for row in self.rows]
        closed[told] = [self.closes(r) for r in told]
        return closed

    @property
    def steek(self) -> slice:
        """The squares of the steek that is cut open, which a right-handed knitter's rounds end with."""
        count = min(self.construction.steek_stitches, self.stitch_count) if self.in_round else 0
        return slice(0, count) if self.hand == "left" else slice(self.stitch_count - count, None)

    def catches_in(self, first: int, past: int) -> tuple[Catch, ...]:
        """The catches of the rounds from `first` (from 0) to before `past`, sorted."""
        held = Catches.of(self.catches)
        return held[held.within(first, past)]

    @property
    def rungs(self) -> tuple[Catch, ...]:
        """Where ladders hold a yarn behind stitches: held as by catches, but with a stitch of its own."""
        rounds, stitches = self.stitches.shape
        return tuple(
            Catch(r, ladder.stitch, ladder.yarn)
            for ladder in self.construction.ladders
            if 0 <= ladder.stitch < stitches and ladder.yarn < len(self.yarns)
            for r in range(max(0, ladder.round), min(ladder.past, rounds))
            if self.stitches[r, ladder.stitch] != NO_STITCH
        )

    @property
    def shaped(self) -> tuple[Shaping, ...]:
        """The decreases and increases that lie on the chart, sorted."""
        return tuple(
            s
            for s in self.construction.marks
            if s.kind in WORKED_IN
            and 0 <= s.round < self.round_count
            and 0 <= s.stitch < self.stitch_count
        )

    @property
    def stacked(self) -> bool:
        """Whether the last round is followed by the first (the chart repeats upwards)."""
        return self.repeat is not None

    def with_(self, **changes: Any) -> Chart:
        """A chart with some parts replaced."""
        return replace(self, **changes)


def for_hand(chart: Chart, hand: Literal["right", "left"]) -> Chart:
    """The chart for that hand, the same fabric begun from its other side; itself when it is already.

    A left-handed knitter works the mirror image, left to right (common practice), so the first stitch
    she comes to is the right-handed knitter's last. Turning the order of every round, and not the
    picture, gives her the same picture.
    """
    if chart.hand == hand:
        return chart
    width = chart.stitch_count
    return chart.with_(
        stitches=chart.stitches[:, ::-1],
        catches=tuple(Catch(c.round, width - 1 - c.stitch, c.yarn) for c in chart.catches),
        fixed=None if chart.fixed is None else chart.fixed[:, ::-1],
        rows=tuple(row.mirrored(width) for row in chart.rows),
        construction=chart.construction.mirrored(width),
        hand=hand,
        strands={},
    )
