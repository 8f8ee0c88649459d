"""The way of each yarn of a round, seen from above, and where it is caught."""

from __future__ import annotations

from itertools import pairwise

from pic2chart.draw.knit_lines import shade
from pic2chart.draw.page import Mark, Paths, Point, Style
from pic2chart.draw.strand_strip import CIRCLE, Strip

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
    caught = {c.stitch for c in strip.chart.catches if (c.round, c.yarn) == (strip.round, yarn)}
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
    if not 0 <= beyond < count and not strip.chart.in_round:
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
            for catch in strip.chart.catches
            if catch.round == strip.round
            and strip.first <= catch.stitch < strip.past
            and strip.chart.stitches[strip.round, catch.stitch] == yarn
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


def catch_rings(strip: Strip) -> list[Mark]:
    """A ring round every place where a yarn is caught."""
    rings = []
    for catch in strip.chart.catches:
        if catch.round == strip.round and strip.first <= catch.stitch < strip.past:
            x, y = strip.across(catch.stitch + 0.5), strip.needle - 0.82 * strip.stitch[0]
            radius = 0.40 * strip.stitch[0]
            rings.append(tuple((x + radius * cx, y + radius * cy) for cx, cy in CIRCLE))
    if not rings:
        return []
    return [Paths(tuple(rings), Style(stroke=_CATCH, width=0.5), "catch-ring", closed=True)]
