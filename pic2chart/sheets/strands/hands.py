"""Which hand holds which yarn, as small pictures: one for each way of holding."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.model.chart import Chart
from pic2chart.sheets.fabric.strokes import shade
from pic2chart.sheets.marks.page import Boxes, Label, Mark, Paths, Point, Style, clean, fit, wrap
from pic2chart.sheets.sheet_settings import SheetLook
from pic2chart.stranding.strands import Strands
from pic2chart.stranding.ways import Holding, Way

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
_HANGING: tuple[Point, ...] = ((8.2, -4.6), (8.6, -1.0), (8.2, 2.6), (8.9, 6.4))
"""A yarn let go: from the work down."""
_SKIN, _OUTLINE = "#f1ede6", "#5c5f66"
PICTURE = 19.0
"""Height of the picture in a box, mm."""
GAP = 3.0
"""Between two boxes, mm."""
_TYPE_MM = 2.7
_FRAME = Style(stroke="#b9bec5", width=0.25)


def hand_panel(
    chart: Chart,
    low: tuple[int, ...],
    high: tuple[int, ...],
    ways: Sequence[Way],
    at: Point,
    width: float,
    look: SheetLook,
) -> tuple[list[Mark], float]:
    """A box for each way of holding; returns the marks and the height they end at.

    `low`, `high`: the yarns held as the under and the over yarn. In large print the boxes stand in two
    lines.
    """
    lines, large = (2, 1.4) if look.scale > 1 else (1, 1.0)
    in_line = len(ways) // lines
    size = (width - (in_line - 1) * GAP) / in_line
    marks: list[Mark] = []
    blocks = [_lines(way, size - 4, look) for way in ways]
    tall = PICTURE * large + 1.35 * _TYPE_MM * look.scale * (
        max(map(len, blocks)) + 0.5 * look.words
    )
    for place, way in enumerate(ways):
        left = at[0] + place % in_line * (size + GAP)
        top = at[1] + place // in_line * (tall + GAP)
        marks.append(Boxes(((left, top, size, tall),), _FRAME, "hand box"))
        middle = (left + size / 2, top + 10.5 * large)
        marks += _hands(chart, middle, (low, high), way.holding, large)
        y = top + PICTURE * large + 2 * look.scale
        for row, line in enumerate(blocks[place]):
            foot, type_mm = y + 1.35 * _TYPE_MM * look.scale * row, _TYPE_MM * look.scale
            marks.append(Label((left + 2, foot), line, type_mm, bold=row == 0, name="hand words"))
    return marks, at[1] + lines * tall + (lines - 1) * GAP


def sides(plan: Strands, order: tuple[int, ...]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The round's yarns that are held as the under yarn, and those held as the over yarn."""
    low = tuple(y for y in order if y in plan.under)
    if not low or len(low) == len(order):
        low = order[:1]
    return low, tuple(y for y in order if y not in low)


def _lines(way: Way, width: float, look: SheetLook) -> list[str]:
    """What the way is called, and what the hands do; nothing where the look has no words."""
    if not look.words:
        return []
    size = _TYPE_MM * look.scale
    lines = wrap(clean(way.hold), size, width)
    return [fit(way.title, size, width, bold=True), *_at_most(lines, 4, size, width)]


def _at_most(lines: list[str], most: int, size: float, width: float) -> list[str]:
    """The first lines, the last of them marked when more would follow."""
    if len(lines) <= most:
        return lines
    return [*lines[: most - 1], fit(" ".join(lines[most - 1 :]), size, width)]


def _hands(
    chart: Chart,
    middle: Point,
    held: tuple[tuple[int, ...], tuple[int, ...]],
    holding: Holding,
    large: float,
) -> list[Mark]:
    """The hands with their yarns. `held`: the under and the over yarns."""
    (x, y), (low, high) = middle, held
    turn = 1.0 if chart.hand == "right" else -1.0
    if holding == "two hands":
        apart = 9.5 * large * turn
        return [
            *_hand(chart, (x - apart, y), low, (large * turn, large)),
            *_hand(chart, (x + apart, y), high, (-large * turn, large)),
        ]
    across = (-turn if holding == "throw" else turn) * large
    if holding == "one finger":
        return _hand(chart, middle, (*low, *high), (across, large))
    hand = _hand(chart, (x - 0.5 * across, y), high, (across, large))
    return [*hand, *_dropped(chart, (x, y), low, across, large)]


def _dropped(
    chart: Chart, middle: Point, yarns: tuple[int, ...], across: float, large: float
) -> list[Mark]:
    """Yarns that hang from the work until they are taken up."""
    marks: list[Mark] = []
    for place, yarn in enumerate(yarns):
        course = tuple(
            (middle[0] + across * (x + 1.6 * place), middle[1] + large * y) for x, y in _HANGING
        )
        colour = chart.yarns[yarn].colour
        marks += [
            Paths((course,), Style(stroke=shade(colour, 0.5), width=1.15 * large), "held edge"),
            Paths((course,), Style(stroke=colour, width=0.8 * large), f"held yarn-{yarn + 1}"),
        ]
    return marks


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
