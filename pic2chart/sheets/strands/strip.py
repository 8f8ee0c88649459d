"""A strip of a strand sheet: a stretch of one round in three views, and the way of each yarn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from pic2chart.model.chart import NO_STITCH, Catch, Chart
from pic2chart.model.construction import Construction, Ladder
from pic2chart.model.keys import KEYS
from pic2chart.sheets.fabric.back import Strand, bump_marks, ladder_marks, strand_marks
from pic2chart.sheets.fabric.strokes import FabricFrame, shade, stitch_marks
from pic2chart.sheets.marks.page import (
    Anchor,
    Boxes,
    Label,
    Lines,
    Mark,
    Paths,
    Point,
    Style,
    text_width,
)
from pic2chart.sheets.marks.symbols import ink_on

# A strip of a strand sheet: a stretch of one round, and where its views lie.

LEFT, RIGHT = 15.0, 20.0
"""Room beside a strip for the names of its views and lanes, mm."""
LANE = 4.7
"""Distance between two lanes, mm."""
# Three aligned views of a stretch of one round: the front, from above, and the back through it.
#
# From above one looks down on the needle: the stitches sit on it, and behind them each yarn runs in
# its own lane, the under yarn in the lowest. A yarn leaves its lane where it is knitted, and dips
# behind the stitch where it is caught.

_TELLING = 24
"""Stitches of a round that repeats which are shown at the least."""
CIRCLE = tuple((math.cos(a * math.pi / 12), math.sin(a * math.pi / 12)) for a in range(24))
"""Places on a circle of radius 1."""


def closed(chart: Chart, round_: int) -> tuple[Chart, tuple[int, ...] | None]:
    """The chart without the columns in which a round has no stitch, as on the needle.

    With it come the numbers of the columns left; None when every column is.
    """
    live = chart.live[round_]
    if live.all() or not live.any():
        return chart, None
    column = np.cumsum(live) - 1
    catches = tuple(
        Catch(c.round, int(column[c.stitch]), c.yarn) for c in chart.catches if live[c.stitch]
    )
    ladders = tuple(
        Ladder(round_, int(column[c.stitch]), c.yarn, 1) for c in chart.rungs if c.round == round_
    )
    numbers = tuple((np.flatnonzero(live) + 1).tolist())
    stitches = chart.stitches[:, live]
    row, last = chart.row(round_), stitches.shape[1] - 1
    needle = chart.with_(
        stitches=stitches,
        worked="round" if chart.closes(round_) else "flat",
        catches=catches,
        fixed=None,
        rows=(replace(row, first=0, last=last),) if row in chart.rows else (),
        construction=Construction(ladders=ladders),
    )
    return needle, numbers


def repeats(chart: Chart, round_: int) -> tuple[int, int]:
    """The repeat of a round, and how many stitches of it are worth showing, both in stitches.

    `chart` has a stitch in every column of the round. A round that does not repeat three times, or is
    short, is shown whole.
    """
    count = chart.stitch_count
    code = chart.stitches[round_].astype(np.int64)
    for c in (*chart.catches_in(round_, round_ + 1), *chart.rungs):
        code[c.stitch] += 1000 * (c.yarn + 1) * (c.round == round_)
    for unit in range(1, count // 3 + 1):
        if np.array_equal(code[unit:], code[:-unit]):
            shown = unit * math.ceil(_TELLING / unit)
            return (unit, shown) if 2 * shown <= count else (count, count)
    return count, count


@dataclass(frozen=True, slots=True)
class Strip:
    """A stretch of one round on the sheet: stitches `first` to before `past`, from `left`, at `top`.

    `order` are the round's yarns from the lowest lane to the highest; `stitch` the size in mm.
    `numbers` are those of the chart's columns, for the knitter; None counts them from 1.
    """

    chart: Chart
    round: int
    first: int
    past: int
    left: float
    top: float
    stitch: tuple[float, float]
    order: tuple[int, ...]
    scale: float
    numbers: tuple[int, ...] | None = None

    def number(self, stitch: int) -> int:
        """What the knitter calls a stitch."""
        return stitch + 1 if self.numbers is None else self.numbers[stitch]

    @property
    def width(self) -> float:
        return (self.past - self.first) * self.stitch[0]

    @property
    def above_top(self) -> float:
        """Top of the view from above."""
        return self.top + 4.5 * self.scale + self.stitch[1] * 1.25 + 1.5

    @property
    def needle(self) -> float:
        """Height of the needle's middle in the view from above."""
        return self.above_top + 1 + LANE * self.scale * len(self.order) + 0.75 * self.stitch[0]

    @property
    def back_top(self) -> float:
        return self.needle + 0.75 * self.stitch[0] + 1.5

    @property
    def bottom(self) -> float:
        return self.back_top + self.stitch[1] * 1.45

    def lane(self, yarn: int) -> float:
        """Height of a yarn's lane on the sheet: the under yarn's is the lowest."""
        place = self.order.index(yarn)
        return self.needle - 0.75 * self.stitch[0] - LANE * self.scale * (place + 0.7)

    @property
    def catches(self) -> list[Catch]:
        """The round's catches on the strip."""
        here = self.chart.catches_in(self.round, self.round + 1)
        return [c for c in here if self.first <= c.stitch < self.past]

    def across(self, stitch: float) -> float:
        """Where a place along the round lies, mm from the left of the sheet."""
        if self.chart.hand == "left":
            return self.left + (stitch - self.first) * self.stitch[0]
        return self.left + (self.past - stitch) * self.stitch[0]


# The way of each yarn of a round, seen from above, and where it is caught.

_RIM = "#ffffff"
_CATCH = "#b00020"
_HOOK: tuple[Point, ...] = ((-0.75, 0.0), (-0.45, 0.42), (0.35, 0.62), (0.6, 1.0))
"""Where the working yarn crosses over a caught one, from -1 to 1 across and 0 to 1 up."""


def yarn_ways(strip: Strip) -> list[Mark]:
    """Each yarn's way along the round, the lowest first; a white rim shows what lies on top."""
    marks: list[Mark] = []
    for yarn in strip.order:
        marks += _rope(strip, (_way(strip, yarn),), yarn, "way")
    return marks


def _way(strip: Strip, yarn: int) -> tuple[Point, ...]:
    """The yarn's course over the strip: at its stitches, dipping at its catches, else in its lane."""
    held = (*strip.catches, *strip.chart.rungs)
    caught = {c.stitch for c in held if (c.round, c.yarn) == (strip.round, yarn)}
    row = strip.chart.stitches[strip.round]
    lane, low = strip.lane(yarn), strip.needle - 0.5 * strip.stitch[0]
    dip = strip.needle - 0.82 * strip.stitch[0]
    knots: list[Point] = [(strip.first, _end(strip, yarn, strip.first - 1, lane, low))]
    for s in range(strip.first, strip.past):
        height = low if row[s] == yarn else dip if s in caught else lane
        knots.append((s + 0.5, height))
    knots.append((strip.past, _end(strip, yarn, strip.past, lane, low)))
    return _smooth(strip, knots)


def _end(strip: Strip, yarn: int, beyond: int, lane: float, low: float) -> float:
    """The height at an end of the strip: low only where the yarn is knitted on both sides."""
    inside = strip.first if beyond < strip.first else strip.past - 1
    row = strip.chart.stitches[strip.round]
    count = strip.chart.stitch_count
    if not 0 <= beyond < count and not strip.chart.closes(strip.round):
        return lane
    return low if row[beyond % count] == yarn == row[inside] else lane


def _smooth(strip: Strip, knots: list[Point]) -> tuple[Point, ...]:
    """A smooth line through the knots, level at each of them."""
    places: list[Point] = []
    for (x0, y0), (x1, y1) in pairwise(knots):
        steps = 1 if y0 == y1 else 8
        for i in range(steps):
            t = i / steps
            ease = t * t * (3 - 2 * t)
            places.append((strip.across(x0 + (x1 - x0) * t), y0 + (y1 - y0) * ease))
    places.append((strip.across(knots[-1][0]), knots[-1][1]))
    return tuple(places)


def hooks(strip: Strip) -> list[Mark]:
    """The working yarn going round the caught one, at every catch."""
    marks: list[Mark] = []
    width, low = strip.stitch[0], strip.needle - 0.5 * strip.stitch[0]
    for yarn in strip.order:
        crossings = tuple(
            tuple(
                (strip.across(catch.stitch + 0.5 + 0.26 * x), low - 0.66 * width * y)
                for x, y in _HOOK
            )
            for catch in strip.catches
            if strip.chart.stitches[strip.round, catch.stitch] == yarn
        )
        marks += _rope(strip, crossings, yarn, "hook", 0.62) if crossings else []
    return marks


def _rope(
    strip: Strip,
    courses: tuple[tuple[Point, ...], ...],
    yarn: int,
    name: str,
    thick: float = 1.0,
) -> list[Mark]:
    """Yarn seen from above; a white rim shows what lies on top."""
    colour, wide = strip.chart.yarns[yarn].colour, 1.5 * thick * strip.scale
    name = f"{name} yarn-{yarn + 1}"
    return [
        Paths(courses, Style(stroke=_RIM, width=wide * 1.9), f"{name} rim"),
        Paths(courses, Style(stroke=shade(colour, 0.55), width=wide * 1.25), f"{name} edge"),
        Paths(courses, Style(stroke=colour, width=wide), name),
    ]


def ladder_loops(strip: Strip) -> list[Mark]:
    """A loop of the carried yarn behind the needle wherever a ladder stitch is worked."""
    marks: list[Mark] = []
    width, dip = strip.stitch[0], strip.needle - 0.82 * strip.stitch[0]
    for yarn in strip.order:
        loops = tuple(
            tuple(
                (strip.across(c.stitch + 0.5) + 0.22 * width * x, dip + 0.34 * width * y)
                for x, y in CIRCLE
            )
            for c in strip.chart.rungs
            if (c.round, c.yarn) == (strip.round, yarn) and strip.first <= c.stitch < strip.past
        )
        if loops:
            colour = strip.chart.yarns[yarn].colour
            style = Style(fill=colour, stroke=shade(colour, 0.55), width=0.3)
            marks.append(Paths(loops, style, f"ladder yarn-{yarn + 1}", closed=True))
    return marks


def catch_rings(strip: Strip) -> list[Mark]:
    """A ring round every place where a yarn is caught."""
    rings = []
    for catch in strip.catches:
        x, y = strip.across(catch.stitch + 0.5), strip.needle - 0.82 * strip.stitch[0]
        radius = 0.40 * strip.stitch[0]
        rings.append(tuple((x + radius * cx, y + radius * cy) for cx, cy in CIRCLE))
    if not rings:
        return []
    return [Paths(tuple(rings), Style(stroke=_CATCH, width=0.5), "catch-ring", closed=True)]


def strip_marks(strip: Strip, strands: Sequence[Strand], words: bool) -> list[Mark]:
    """The three views, their stitch numbers and names."""
    return [
        *_numbers(strip),
        *_fabric(strip, strands),
        *_lanes(strip),
        *yarn_ways(strip),
        *_needle(strip),
        *hooks(strip),
        *catch_rings(strip),
        *ladder_loops(strip),
        *(_names(strip) if words else []),
    ]


def _numbers(strip: Strip) -> list[Mark]:
    size = 2.6 * strip.scale
    y = strip.top + 2.6 * strip.scale
    numbers = map(strip.number, range(strip.first, strip.past))
    widest = max(text_width(str(number), size, bold=True) for number in numbers)
    roomy, ends = widest + 0.4 <= strip.stitch[0], (strip.first, strip.past - 1)
    return [
        Label(
            (strip.across(s + 0.5), y),
            str(strip.number(s)),
            size,
            "middle",
            strip.number(s) % 10 == 0,
            name="stitch-number",
        )
        for s in range(strip.first, strip.past)
        if roomy or strip.number(s) % 5 == 0 or (s in ends and min(_past_five(strip, s)) > 1)
    ]


def _past_five(strip: Strip, stitch: int) -> tuple[int, int]:
    """How far the numbered fives before and after a stitch are."""
    over = strip.number(stitch) % 5
    return over, 5 - over


def _names(strip: Strip) -> list[Mark]:
    size = 3.0 * strip.scale
    middles = (
        ("Front", strip.top + 4.5 * strip.scale + 0.6 * strip.stitch[1]),
        ("Above", (strip.above_top + strip.needle) / 2 + 2),
        ("Back", strip.back_top + 0.7 * strip.stitch[1]),
    )
    x, anchor = strip.left - 2.5, "end"
    return [
        Label((x, y + 0.36 * size), name, size, anchor, True, name="view")  # type: ignore[arg-type]
        for name, y in middles
    ]


def _fabric(strip: Strip, strands: Sequence[Strand]) -> list[Mark]:
    """The front, and the back as if one saw through the front."""
    window = (strip.first, strip.past)
    frame = FabricFrame(strip.chart, strip.stitch, strip.chart.hand == "left", window)
    shown = replace(frame, origin=(_shift(strip, frame), 0.0))

    def placed(top: float) -> FabricFrame:
        at = shown.at(0, strip.round + 1)[1]
        return replace(shown, origin=(shown.origin[0], top - at))

    front = placed(strip.top + 4.5 * strip.scale)
    back = placed(strip.back_top + 0.1 * strip.stitch[1])
    return [
        *_ground(strip, strip.top + 4.5 * strip.scale),
        *stitch_marks(front, strip.round),
        *_ground(strip, strip.back_top + 0.1 * strip.stitch[1]),
        *bump_marks(back, strip.round),
        *strand_marks(back, strip.round, strands, "loose"),
        *ladder_marks(back, [c for c in strip.chart.rungs if c.round == strip.round]),
    ]


def _shift(strip: Strip, frame: FabricFrame) -> float:
    first = strip.first if strip.chart.hand == "left" else strip.past
    return strip.left - frame.at(first, 0)[0]


def _ground(strip: Strip, top: float) -> list[Mark]:
    marks: list[Mark] = []
    row = strip.chart.stitches[strip.round]
    for s in range(strip.first, strip.past):
        if row[s] != NO_STITCH:
            colour = shade(strip.chart.yarns[row[s]].colour, 0.42)
            left = min(strip.across(s), strip.across(s + 1))
            marks.append(Boxes(((left, top, *strip.stitch),), Style(fill=colour), "deep"))
    return marks


def _lanes(strip: Strip) -> list[Mark]:
    """A pale band for each lane, with the yarn's name and place at its far end."""
    marks: list[Mark] = []
    for place, yarn in enumerate(strip.order):
        y = strip.lane(yarn)
        half = 0.46 * LANE * strip.scale
        band = (strip.left, y - half, strip.width, 2 * half)
        fill = "#eef2f6" if place % 2 == 0 else "#f8f4ec"
        marks.append(Boxes((band,), Style(fill=fill), "lane"))
    return marks


def _needle(strip: Strip) -> list[Mark]:
    """The needle, and a loop for every stitch with its yarn's letter."""
    y, radius = strip.needle, 0.36 * strip.stitch[0]
    bar = ((strip.left - 1.5, y), (strip.left + strip.width + 1.5, y))
    marks: list[Mark] = [
        Lines((bar,), Style(stroke="#8a8f96", width=0.42 * radius), "needle edge"),
        Lines((bar,), Style(stroke="#c9ced4", width=0.26 * radius), "needle"),
    ]
    row = strip.chart.stitches[strip.round]
    size = 0.95 * radius
    for s in range(strip.first, strip.past):
        if row[s] == NO_STITCH:
            continue
        colour = strip.chart.yarns[row[s]].colour
        x = strip.across(s + 0.5)
        ring = tuple((x + radius * 0.92 * cx, y + radius * 1.25 * cy) for cx, cy in CIRCLE)
        style = Style(fill=colour, stroke=shade(colour, 0.55), width=0.3)
        marks.append(Paths((ring,), style, f"loop yarn-{int(row[s]) + 1}", closed=True))
        letter = (x, y + 0.36 * size)
        marks.append(Label(letter, KEYS[row[s]], size, "middle", True, ink_on(colour), "loop-key"))
    return marks


def lane_names(strip: Strip, words: Sequence[str]) -> list[Mark]:
    """What runs in each lane, at the side where the round does not start."""
    anchor: Anchor = "start"
    x = strip.left + strip.width + 2.8
    size = 2.6 * strip.scale
    return [
        Label((x, strip.lane(yarn) + 0.36 * size), text, size, anchor, name="lane-name")
        for yarn, text in zip(strip.order, words, strict=True)
    ]
