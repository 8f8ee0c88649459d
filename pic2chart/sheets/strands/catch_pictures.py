"""How either yarn is caught, as pictures without words: three moments of one stitch, for each way.

Each picture looks at the needle from the front: its tip points to the yarns, which come from where they
run, the over yarn above and the under yarn below; the stitches are behind it. What lies on top is drawn
last. For a left-handed knitter it is the mirror image.
"""

from __future__ import annotations

from pic2chart.sheets.fabric.strokes import shade
from pic2chart.sheets.marks.page import Boxes, Mark, Paths, Point, Style
from pic2chart.stranding.ways import Holding

WIDE, TALL = 24.0, 17.0
"""A picture's own units, across and down."""
_CAUGHT, _KNITTED, _NEEDLE, _ARROW = "caught", "knitted", "needle", "arrow"
Course = tuple[str, tuple[Point, ...]]
Moment = tuple[Course, ...]

_TIP: tuple[Point, ...] = ((8.5, 8.5), (22.6, 8.5))
_REST_LOW: tuple[Point, ...] = ((1.6, 13.0), (9.0, 13.0), (14.0, 11.5), (17.5, 10.0))
_REST_HIGH: tuple[Point, ...] = ((1.6, 4.0), (9.0, 4.0), (14.0, 5.5), (17.5, 7.0))
_WRAP_HIGH: tuple[Point, ...] = ((1.6, 4.0), (8.0, 4.2), (11.0, 6.0), (11.8, 11.0), (14.2, 6.0))
_WRAP_LOW: tuple[Point, ...] = ((1.6, 13.0), (8.0, 12.8), (11.0, 11.0), (11.8, 6.0), (14.2, 11.0))
_ACROSS: tuple[Point, ...] = ((1.6, 13.0), (4.5, 7.0), (8.0, 2.6), (12.5, 3.6), (17.5, 10.0))
_OVER_TIP: tuple[Point, ...] = ((1.6, 13.0), (6.0, 11.0), (10.0, 6.2), (14.0, 8.0), (17.5, 10.0))
_BEHIND_TIP: tuple[Point, ...] = ((1.6, 4.0), (6.0, 5.0), (10.0, 9.6), (14.0, 8.6), (17.5, 7.0))
_DROP: tuple[Point, ...] = ((5.5, 7.5), (3.6, 9.8), (4.0, 13.0))
_LIFT: tuple[Point, ...] = ((5.5, 9.5), (3.6, 7.2), (4.0, 4.0))

_ACROSS_UNDER: tuple[Moment, ...] = (
    ((_NEEDLE, _TIP), (_KNITTED, _REST_HIGH), (_CAUGHT, _ACROSS)),
    ((_CAUGHT, _ACROSS), (_NEEDLE, _TIP), (_KNITTED, _WRAP_HIGH)),
    ((_NEEDLE, _TIP), (_KNITTED, _WRAP_HIGH), (_CAUGHT, _REST_LOW), (_ARROW, _DROP)),
)
_MOMENTS: dict[Holding, tuple[tuple[Moment, ...], tuple[Moment, ...]]] = {}


def _upside_down(moments: tuple[Moment, ...]) -> tuple[Moment, ...]:
    """The same with the yarns' places changed; the needle lies in the middle."""
    return tuple(
        tuple((what, tuple((x, TALL - y) for x, y in line)) for what, line in moment)
        for moment in moments
    )


_MOMENTS["throw"] = _MOMENTS["pick"] = (_ACROSS_UNDER, _upside_down(_ACROSS_UNDER))
_MOMENTS["two hands"] = (
    (
        ((_NEEDLE, _TIP), (_KNITTED, _REST_HIGH), (_CAUGHT, _OVER_TIP)),
        ((_NEEDLE, _TIP), (_CAUGHT, _OVER_TIP), (_KNITTED, _WRAP_HIGH)),
        ((_NEEDLE, _TIP), (_KNITTED, _WRAP_HIGH), (_CAUGHT, _REST_LOW), (_ARROW, _DROP)),
    ),
    (
        ((_KNITTED, _REST_LOW), (_NEEDLE, _TIP), (_CAUGHT, _WRAP_HIGH)),
        ((_NEEDLE, _TIP), (_CAUGHT, _WRAP_HIGH), (_KNITTED, _WRAP_LOW)),
        ((_NEEDLE, _TIP), (_KNITTED, _WRAP_LOW), (_CAUGHT, _REST_HIGH), (_ARROW, _LIFT)),
    ),
)
_MOMENTS["one finger"] = (
    _MOMENTS["two hands"][0],
    (
        ((_CAUGHT, _BEHIND_TIP), (_KNITTED, _REST_LOW), (_NEEDLE, _TIP)),
        ((_CAUGHT, _BEHIND_TIP), (_NEEDLE, _TIP), (_KNITTED, _WRAP_LOW)),
        ((_NEEDLE, _TIP), (_KNITTED, _WRAP_LOW), (_CAUGHT, _REST_HIGH), (_ARROW, _LIFT)),
    ),
)
_WOOD, _FRAME = "#d9c9a8", Style(stroke="#c9cdd3", width=0.2)
_SIGN = "#b00020"


def catch_pictures(
    holding: Holding, *, under: bool, colours: tuple[str, str], at: Point, wide: float, hand: str
) -> list[Mark]:
    """Three moments side by side, `wide` mm in all; they are `picture_height` high.

    `colours`: of the caught and the knitted yarn. `under`: the caught one is the under yarn.
    """
    gap = 1.2
    each = (wide - 2 * gap) / 3
    marks: list[Mark] = []
    for n, moment in enumerate(_MOMENTS[holding][0 if under else 1]):
        left = at[0] + n * (each + gap)
        marks += _moment(moment, colours, (left, at[1]), each / WIDE, mirrored=hand == "left")
    return marks


def picture_height(wide: float) -> float:
    """The height of the pictures that are so wide in all, mm."""
    return (wide - 2.4) / 3 / WIDE * TALL


def _moment(
    moment: Moment, colours: tuple[str, str], at: Point, unit: float, *, mirrored: bool
) -> list[Mark]:
    box = (at[0], at[1], WIDE * unit, TALL * unit)
    marks: list[Mark] = [Boxes((box,), _FRAME, "catch picture")]
    for what, line in moment:
        course = tuple(
            (at[0] + unit * (WIDE - x if mirrored else x), at[1] + unit * y) for x, y in line
        )
        marks += _drawn(what, course, colours, unit)
    return marks


def _drawn(
    what: str, course: tuple[Point, ...], colours: tuple[str, str], unit: float
) -> list[Mark]:
    if what == _NEEDLE:
        return _stroke(course, _WOOD, 2.6 * unit, "catch needle")
    if what == _ARROW:
        return [
            Paths((_smooth(course),), Style(stroke=_SIGN, width=0.8 * unit), "arrow"),
            Paths((_head(course, unit),), Style(fill=_SIGN), "arrow head", closed=True),
        ]
    colour = colours[0 if what == _CAUGHT else 1]
    return _stroke(_smooth(course), colour, 1.9 * unit, f"{what} yarn")


def _stroke(course: tuple[Point, ...], colour: str, width: float, name: str) -> list[Mark]:
    """A thick line with a rim, so that what crosses it is told apart."""
    return [
        Paths((course,), Style(stroke="#ffffff", width=1.9 * width), f"{name} clear"),
        Paths((course,), Style(stroke=shade(colour, 0.45), width=1.3 * width), f"{name} edge"),
        Paths((course,), Style(stroke=colour, width=width), name),
    ]


def _head(course: tuple[Point, ...], unit: float) -> tuple[Point, ...]:
    """The triangle at an arrow's end, which points up or down."""
    (_, before), (x, y) = course[-2:]
    way = 1.0 if y > before else -1.0
    half, long = 1.3 * unit, 2.2 * unit * way
    return (x - half, y), (x + half, y), (x, y + long)


def _smooth(course: tuple[Point, ...], steps: int = 6) -> tuple[Point, ...]:
    """A curve through the points (Catmull-Rom)."""
    points = (course[0], *course, course[-1])
    found: list[Point] = []
    for a, b, c, d in zip(points, points[1:], points[2:], points[3:], strict=False):
        for i in range(steps):
            t = i / steps
            found.append((_between(a[0], b[0], c[0], d[0], t), _between(a[1], b[1], c[1], d[1], t)))
    return (*found, course[-1])


def _between(a: float, b: float, c: float, d: float, t: float) -> float:
    return 0.5 * (
        2 * b
        + (c - a) * t
        + (2 * a - 5 * b + 4 * c - d) * t * t
        + (3 * b - a - 3 * c + d) * t * t * t
    )
