"""Fabric drawn with strokes: what front and back share, and the front itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import parse_hex
from pic2chart.model.chart import Chart
from pic2chart.sheets.marks.page import (
    Boxes,
    Bundle,
    Mark,
    Paths,
    Point,
    Sheet,
    Style,
    clean,
    fabric_marks,
)

# Fabric drawn with strokes: what front and back share. One stroke is a bit of yarn with its shade.
#
# Sheets are at the fabric's true size, in mm. Places are given in stitches across and rounds up.

GROUND = "#f2f0ec"
"""Colour where there is no stitch."""
DEEP = 0.42
"""Light left between stitches, as a part of the yarn's own."""

Strokes = tuple[tuple[Point, ...], ...] | Bundle
Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FabricFrame:
    """Turns places on the fabric into places on the sheet, mm.

    `stitch` is the width and height of a stitch; `mirrored`: stitch 1 lies on the left. `window` is
    the first stitch that is drawn and the one past the last; `origin` moves the whole on the sheet.
    """

    chart: Chart
    stitch: tuple[float, float]
    mirrored: bool
    window: tuple[int, int]
    origin: Point = (0.0, 0.0)

    @classmethod
    def of(cls, chart: Chart, *, back: bool) -> Self:
        """The fabric at its true size, seen from the front or the back."""
        stitch = (chart.gauge.stitch_width * 10, chart.gauge.round_height * 10)
        return cls(chart, stitch, (chart.hand == "left") != back, (0, chart.stitch_count))

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the fabric, mm."""
        rounds, stitches = self.chart.stitches.shape
        return stitches * self.stitch[0], rounds * self.stitch[1]

    def at(self, across: float, up: float) -> Point:
        """A place `across` stitches from the start of the rounds and `up` rounds from the foot."""
        return self.line(((across, up),))[0]

    def line(
        self, places: Iterable[Point], across: float = 0.0, up: float = 0.0
    ) -> tuple[Point, ...]:
        """As `at` for many places, all of them moved so far."""
        rounds, stitches = self.chart.stitches.shape
        (left, top), (wide, high), down = self.origin, self.stitch, rounds - up
        if self.mirrored:
            return tuple([(left + (across + x) * wide, top + (down - y) * high) for x, y in places])
        back = stitches - across
        return tuple([(left + (back - x) * wide, top + (down - y) * high) for x, y in places])

    def places(
        self, across: NDArray[np.floating] | float, x: Numbers, y: Numbers, up: float
    ) -> Numbers:
        """As `line` for arrays of one shape, or that broadcast to one: float64 [..., 2]."""
        rounds, stitches = self.chart.stitches.shape
        (left, top), (wide, high) = self.origin, self.stitch
        from_left = across + x if self.mirrored else stitches - across - x
        parts = np.broadcast_arrays(left + from_left * wide, top + (rounds - up - y) * high)
        return np.stack(parts, axis=-1)

    def copies(self, shape: Sequence[Point], at: NDArray[np.intp], up: float) -> Numbers:
        """A small shape at the middle of each stitch of `at`: float64 [stitches, points, 2]."""
        x, y = np.array(shape).T
        return self.places(at[:, None] + 0.5, x, y, up)

    def of_yarn(self, round_: int, yarn: int) -> NDArray[np.intp]:
        """The drawn stitches of a yarn in a round."""
        first, past = self.window
        return first + np.flatnonzero(self.chart.stitches[round_, first:past] == yarn)


def bundle_of(places: Numbers) -> Bundle:
    """Lines of as many points each: places float64 [..., points, 2]."""
    points, each = places.reshape(-1, 2), places.shape[-2]
    return Bundle(points, tuple(range(each, len(points) + 1, each)))


def yarn_marks(paths: Strokes, colour: str, width: float, name: str) -> list[Mark]:
    """Bits of one yarn: its dark edge, its body, and the light along the middle."""
    if not paths:
        return []
    return [
        Paths(paths, Style(stroke=shade(colour, 0.55), width=width * 1.16), f"{name} edge"),
        Paths(paths, Style(stroke=colour, width=width * 0.9), name),
        Paths(paths, Style(stroke=gleam(colour), width=width * 0.3), f"{name} light"),
    ]


def ground_marks(frame: FabricFrame) -> list[Mark]:
    """The ground, and on it the deep shade behind the stitches of each yarn."""
    width, height = frame.stitch
    ground = Boxes(((0.0, 0.0, *frame.size),), Style(fill=GROUND), "ground")
    marks: list[Mark] = [ground]
    for index, yarn in enumerate(frame.chart.yarns):
        boxes = []
        for r, row in enumerate(frame.chart.stitches):
            for first, past in stretches_of(row == index):
                ends = frame.at(first, r + 1), frame.at(past, r + 1)
                left = min(end[0] for end in ends)
                boxes.append((left, ends[0][1], (past - first) * width, height))
        if boxes:
            marks.append(Boxes(tuple(boxes), Style(fill=shade(yarn.colour, DEEP)), "deep"))
    return marks


def stretches_of(chosen: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """(first, past the last) of every stretch of true values."""
    turns = np.flatnonzero(np.diff(chosen, prepend=False, append=False)).tolist()
    return list(zip(turns[::2], turns[1::2], strict=True))


def shade(colour: str, light: float) -> str:
    """The colour with a part of its light."""
    return _hex(channel * light for channel in parse_hex(colour))


def gleam(colour: str) -> str:
    """The colour with light lying on it; dark yarns gleam as well."""
    return _hex(channel + (255 - channel) * 0.2 + 6 for channel in parse_hex(colour))


def _hex(channels: Iterable[float]) -> str:
    return "#" + "".join(f"{min(255, round(channel)):02x}" for channel in channels)


_LEG: tuple[Point, ...] = ((0.06, -0.20), (0.15, 0.16), (0.27, 0.64), (0.28, 0.98))
"""Places along the right leg: from the stitch's middle line, and up from its foot."""
_LEGS = tuple(tuple((side * x, y) for x, y in _LEG) for side in (-1, 1))
# The front of the fabric as strokes: every stitch two legs, the later round on top.

_WIDTH = 0.42


def front_lines(chart: Chart) -> Sheet:
    """The right side of the fabric at its true size, as a drawing that stays sharp at any size."""
    frame = FabricFrame.of(chart, back=False)

    def made() -> Iterator[Mark]:
        yield from ground_marks(frame)
        for r in range(chart.round_count):
            yield from stitch_marks(frame, r)

    words = f"The front of the fabric, {chart.stitch_count} stitches by {chart.round_count}."
    return Sheet(*frame.size, clean(chart.title), words, fabric_marks(made, chart.stitches.size))


def stitch_marks(frame: FabricFrame, r: int) -> list[Mark]:
    """The stitches of a round from the right side."""
    marks: list[Mark] = []
    for index, yarn in enumerate(frame.chart.yarns):
        mine = frame.of_yarn(r, index)
        legs = np.stack([frame.copies(leg, mine, r) for leg in _LEGS], axis=1)
        width = _WIDTH * min(frame.stitch)
        marks += yarn_marks(bundle_of(legs), yarn.colour, width, f"stitches yarn-{index + 1}")
    return marks
