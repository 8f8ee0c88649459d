"""Which hand holds which yarn, as small pictures: two hands or one, right- or left-handed."""

from __future__ import annotations

from pic2chart.model.chart import Chart
from pic2chart.model.wording import listed
from pic2chart.sheets.fabric.strokes import shade
from pic2chart.sheets.marks.page import Boxes, Label, Mark, Paths, Point, Style, clean, fit, wrap
from pic2chart.sheets.sheet_settings import SheetLook
from pic2chart.stranding.strands import Strands

_FINGER = 1.5
_PALM: tuple[Point, ...] = (
    (-2.5, 0.6),
    (2.2, 0.3),
    (2.4, 3.4),
    (1.9, 6.4),
    (-1.9, 6.4),
    (-2.5, 3.0),
)
_LITTLE: tuple[Point, ...] = ((-2.4, 0.8), (-3.3, -2.6))
_INDEX: tuple[Point, ...] = ((2.0, 0.4), (2.5, -3.0), (3.3, -5.4))
_THUMB: tuple[Point, ...] = ((1.7, 4.6), (4.2, 2.2), (5.4, -0.2))
_RING: tuple[Point, ...] = ((-1.0, 0.3), (-1.35, -4.0))
_MIDDLE: tuple[Point, ...] = ((0.55, 0.1), (0.65, -4.6))
"""A left hand as its owner sees it, thumb on the right; mm round its middle. The bones of the fingers
and the outline of the palm."""
_YARN: tuple[Point, ...] = (
    *((-8.0, 6.0), (-5.6, 1.6), (-3.6, -0.7), (-1.2, -2.0), (0.6, -2.6)),
    *((2.6, -4.0), (4.2, -5.0), (8.2, -6.2)),
)
"""A yarn on that hand: from the ball over the little finger, under two, over the first, to the work."""
_SKIN, _OUTLINE = "#f1ede6", "#5c5f66"
PICTURE = 19.0
"""Height of the picture in a box, mm."""
_TYPE_MM = 2.7
_FRAME = Style(stroke="#b9bec5", width=0.25)
_WAYS = ("two-handed", "one-handed")


def hand_panel(
    chart: Chart,
    plan: Strands,
    order: tuple[int, ...],
    at: Point,
    width: float,
    look: SheetLook,
) -> tuple[list[Mark], float]:
    """Four boxes, the chart's own hand first; returns the marks and the height they end at.

    In large print the boxes stand in two lines.
    """
    lines, large = (2, 1.4) if look.scale > 1 else (1, 1.0)
    gap, in_line = 3.0, 4 // lines
    size = (width - (in_line - 1) * gap) / in_line
    low, high = sides(plan, order)
    marks: list[Mark] = []
    ways = [(hand, how) for hand in (chart.hand, _other(chart.hand)) for how in _WAYS]
    blocks = [_lines(chart, low, high, way, size - 4, look) for way in ways]
    tall = PICTURE * large + 1.35 * _TYPE_MM * look.scale * (
        max(map(len, blocks)) + 0.5 * look.words
    )
    for place, way in enumerate(ways):
        left = at[0] + place % in_line * (size + gap)
        top = at[1] + place // in_line * (tall + gap)
        marks.append(Boxes(((left, top, size, tall),), _FRAME, "hand box"))
        held = (low, high) if way[0] == "right" else (high, low)
        marks += _hands(chart, (left + size / 2, top + 10.5 * large), held, way, large)
        y = top + PICTURE * large + 2 * look.scale
        for row, line in enumerate(blocks[place]):
            foot, type_mm = y + 1.35 * _TYPE_MM * look.scale * row, _TYPE_MM * look.scale
            marks.append(Label((left + 2, foot), line, type_mm, bold=row == 0, name="hand words"))
    return marks, at[1] + lines * tall + (lines - 1) * gap


def sides(plan: Strands, order: tuple[int, ...]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The round's yarns that are held as the under yarn, and those held as the over yarn."""
    low = tuple(y for y in order if y in plan.under)
    if not low or len(low) == len(order):
        low = order[:1]
    return low, tuple(y for y in order if y not in low)


def _other(hand: str) -> str:
    return "left" if hand == "right" else "right"


def _title(hand: str, how: str) -> str:
    return f"{hand.capitalize()}-handed, {'two hands' if how == 'two-handed' else 'one hand'}"


def _instruction(
    chart: Chart, low: tuple[int, ...], high: tuple[int, ...], hand: str, how: str
) -> str:
    under, over = (listed([chart.yarns[y].name for y in part]) for part in (low, high))
    if how == "two-handed":
        left, right = (under, over) if hand == "right" else (over, under)
        return f"Left hand {left}, right hand {right}."
    return f"{under} always from beneath, {over} always over the top."


def _lines(
    chart: Chart,
    low: tuple[int, ...],
    high: tuple[int, ...],
    way: tuple[str, str],
    width: float,
    look: SheetLook,
) -> list[str]:
    """Which way it is, and what each hand does; nothing where the look has no words."""
    if not look.words:
        return []
    size = _TYPE_MM * look.scale
    lines = wrap(clean(_instruction(chart, low, high, *way)), size, width)
    return [fit(_title(*way), size, width, bold=True), *_at_most(lines, 3, size, width)]


def _at_most(lines: list[str], most: int, size: float, width: float) -> list[str]:
    """The first lines, the last of them marked when more would follow."""
    if len(lines) <= most:
        return lines
    return [*lines[: most - 1], fit(" ".join(lines[most - 1 :]), size, width)]


def _hands(
    chart: Chart,
    middle: Point,
    held: tuple[tuple[int, ...], tuple[int, ...]],
    way: tuple[str, str],
    large: float,
) -> list[Mark]:
    """Both hands with their yarns, or one hand with all. `held`: yarns of the left and right hand."""
    (x, y), (hand, how) = middle, way
    if how == "two-handed":
        apart = 9.5 * large
        return [
            *_hand(chart, (x - apart, y), held[0], (large, large)),
            *_hand(chart, (x + apart, y), held[1], (-large, large)),
        ]
    low, high = held if hand == "right" else held[::-1]
    return _hand(chart, middle, (*low, *high), (-large if hand == "right" else large, large))


def _hand(
    chart: Chart, middle: Point, yarns: tuple[int, ...], scale: tuple[float, float]
) -> list[Mark]:
    """A hand and the yarns it holds, the lowest first; two fingers lie on top of them.

    `scale` is across and down; below 0 across turns the left hand into a right one.
    """
    large = scale[1]

    def placed(line: tuple[Point, ...], drop: float = 0.0) -> tuple[Point, ...]:
        return tuple((middle[0] + scale[0] * x, middle[1] + scale[1] * (y + drop)) for x, y in line)

    def line(colour: str, width: float) -> Style:
        return Style(stroke=colour, width=width * large)

    below = tuple(map(placed, (_LITTLE, _INDEX, _THUMB, _RING, _MIDDLE)))
    above = tuple(map(placed, (_RING, _MIDDLE)))
    skin = Style(fill=_SKIN, stroke=_SKIN, width=large)
    marks: list[Mark] = [
        Paths((placed(_PALM),), line(_OUTLINE, 1.5), "palm rim", closed=True),
        Paths(below, line(_OUTLINE, _FINGER + 0.5), "fingers rim"),
        Paths((placed(_PALM),), skin, "palm", closed=True),
        Paths(below, line(_SKIN, _FINGER), "fingers"),
    ]
    for place, yarn in enumerate(yarns):
        course = (placed(_YARN, 1.5 * ((len(yarns) - 1) / 2 - place)),)
        colour = chart.yarns[yarn].colour
        marks += [
            Paths(course, line(shade(colour, 0.5), 1.15), "held edge"),
            Paths(course, line(colour, 0.8), f"held yarn-{yarn + 1}"),
        ]
    return [
        *marks,
        Paths(tuple(map(_tip, above)), line(_OUTLINE, _FINGER + 0.5), "fingers rim"),
        Paths(above, line(_SKIN, _FINGER), "fingers"),
    ]


def _tip(finger: tuple[Point, ...]) -> tuple[Point, ...]:
    """The upper part of a finger."""
    (x0, y0), (x1, y1) = finger
    return (0.6 * x0 + 0.4 * x1, 0.6 * y0 + 0.4 * y1), (x1, y1)
