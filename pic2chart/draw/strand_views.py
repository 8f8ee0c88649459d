"""Three aligned views of a stretch of one round: the front, from above, and the back through it.

From above one looks down on the needle: the stitches sit on it, and behind them each yarn runs in
its own lane, the under yarn in the lowest. A yarn leaves its lane where it is knitted, and dips
behind the stitch where it is caught.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pic2chart.chart import NO_STITCH
from pic2chart.chart.keys import KEYS
from pic2chart.draw.fabric_back import Strand, bump_marks, strand_marks
from pic2chart.draw.fabric_lines import stitch_marks
from pic2chart.draw.knit_lines import Cloth, shade
from pic2chart.draw.page import Anchor, Boxes, Label, Lines, Mark, Paths, Style, text_width
from pic2chart.draw.strand_strip import CIRCLE, LANE, Strip
from pic2chart.draw.strand_ways import catch_rings, hooks, yarn_ways
from pic2chart.draw.symbols import ink_on


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
        *(_names(strip) if words else []),
    ]


def _numbers(strip: Strip) -> list[Mark]:
    size = 2.6 * strip.scale
    y = strip.top + 2.6 * strip.scale
    widest = max(text_width(str(strip.number(s)), size) for s in range(strip.first, strip.past))
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
    cloth = Cloth(strip.chart, strip.stitch, strip.chart.hand == "left", window)
    shown = replace(cloth, origin=(_shift(strip, cloth), 0.0))

    def placed(top: float) -> Cloth:
        at = shown.at(0, strip.round + 1)[1]
        return replace(shown, origin=(shown.origin[0], top - at))

    front = placed(strip.top + 4.5 * strip.scale)
    back = placed(strip.back_top + 0.1 * strip.stitch[1])
    mine = [s for s in strands if s.round == strip.round]
    return [
        *_ground(strip, strip.top + 4.5 * strip.scale),
        *stitch_marks(front, strip.round),
        *_ground(strip, strip.back_top + 0.1 * strip.stitch[1]),
        *bump_marks(back, strip.round),
        *strand_marks(back, strip.round, mine, "loose"),
    ]


def _shift(strip: Strip, cloth: Cloth) -> float:
    first = strip.first if strip.chart.hand == "left" else strip.past
    return strip.left - cloth.at(first, 0)[0]


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
