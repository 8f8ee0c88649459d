"""Body measures by named size, where they come from, and ease; hands, heads and feet.

Girth of the hand is taken over the knuckles of the open hand without the thumb, the head's above
the ears (wording after EN 13402-1 and ISO 8559), the foot's over the ball.

Hands. Glove numbers 6 to 11: EN 420 (now EN ISO 21420), circumference and length in mm, seen
second-hand; the number is the circumference in inches. Woman, man: measured, ANSUR II (Gordon et
al. 2014, 1986 women, 4082 men). Children from two on: length and breadth by age from Snyder et al.
1977 (UM-HSRI-77-17), medians of both sexes, seen second-hand; the girth is worked out, 2.4 x breadth,
the ratio of ANSUR II. Another table (PhenoTips, origin unnamed) has lengths 0.1 to 0.6 cm longer; the
measured one is taken. Retail size charts run 1 to 2 cm short of both. Under two years: from memory.

Heads. UK90 (Cole, Freeman and Preece 1998, Stat Med 17:407), mean of the girls' and the boys' median;
the WHO's standards are 0.6 to 2.0 cm smaller, and European heads exceed them (Wright et al. 2016).
Woman, man: ANSUR II; adult is their mean, large the 95th percentile of men. From the crown to the
base of the ear no measured table was at hand: depths follow the trade's size charts by girth (common
practice).

Feet. By age Snyder 1977, means of both sexes; woman, man: ANSUR II. EU sizes are worked out: 1.5 x the
last's length, which is the foot's and 1.2 cm (children) or 1.5 cm. The girth is 0.93 x the length, the
ratio of ANSUR II; for children worked out.

Ease is an option of each kind, with its own usual value (common practice). A stranded fabric stretches
little, so it wants less negative ease than a plain one.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message


@dataclass(frozen=True, slots=True)
class Body:
    """A body measure, cm: round the hand, head or foot, and the hand's or foot's length or the head's
    depth.

    `name` is empty when the knitter gave her own measures. `child`: the cautions for children hold.
    `spread`: what nine in ten of that age or sex measure, from and to, cm: of the girth, of feet the
    length; None where it is not known.
    """

    girth: float
    length: float
    name: str = ""
    child: bool = False
    spread: tuple[float, float] | None = None

    def eased(self, ease: float) -> float:
        """The girth with so many per cent of ease, cm."""
        return self.girth * (1 + ease / 100)


Points = Sequence[tuple[float, float]]
"""Pairs in ascending order, with a straight line from each to the next."""


def along(points: Points, at: float) -> float:
    """The value there; beyond the ends, the end's own."""
    if at <= points[0][0]:
        return points[0][1]
    for (x, y), (right, top) in itertools.pairwise(points):
        if at <= right:
            return y + (top - y) * (at - x) / (right - x)
    return points[-1][1]


_NINE_IN_TEN = 1.645
"""Standard deviations to either side of the mean that hold nine in ten (normal distribution)."""


def _around(middle: float, sd: float) -> tuple[float, float]:
    reach = _NINE_IN_TEN * sd
    return round(middle - reach, 1), round(middle + reach, 1)


BREADTH_TO_GIRTH = 2.4
_EN_420_MM = {
    6: (152, 160),
    7: (178, 171),
    8: (203, 182),
    9: (229, 192),
    10: (254, 204),
    11: (279, 215),
}
HAND_LENGTH: Points = (
    *((2, 10.0), (3, 10.9), (4, 11.5), (6, 12.7), (8, 13.8), (10, 15.0), (12, 16.2), (14, 17.6)),
)
HAND_BREADTH: Points = (
    *((2, 5.0), (3, 5.2), (4, 5.4), (6, 6.0), (8, 6.5), (10, 7.0), (12, 7.5), (14, 8.2)),
)
"""Years and cm: Snyder's ratios to stature times that sample's stature."""
_BABY_HANDS = {"newborn": (8.5, 6.5), "6mo": (10.0, 8.0), "12mo": (11.3, 9.0), "1-2y": (11.7, 9.5)}
_HAND_SPREAD = 0.06
"""Standard deviation of children's hand lengths over their median (Snyder: 0.059 to 0.061)."""
_CHILD_HANDS = {
    **{"2-3y": 2.5, "3-4y": 3.5, "4-6y": 5, "6-8y": 7, "8-10y": 9, "10-12y": 11, "12-14y": 13},
}


def _child_hand(name: str, age: float) -> Body:
    girth = round(BREADTH_TO_GIRTH * along(HAND_BREADTH, age), 1)
    length = round(along(HAND_LENGTH, age), 1)
    return Body(girth, length, name, True, _around(girth, _HAND_SPREAD * girth))


HANDS: Mapping[str, Body] = MappingProxyType(
    {name: Body(*hand, name, True) for name, hand in _BABY_HANDS.items()}
    | {name: _child_hand(name, age) for name, age in _CHILD_HANDS.items()}
    | {str(n): Body(girth / 10, length / 10, str(n)) for n, (girth, length) in _EN_420_MM.items()}
    | {
        "woman": Body(18.7, 18.1, "woman", spread=(17.3, 20.2)),
        "man": Body(21.2, 19.3, "man", spread=(19.5, 23.0)),
    }
)
"""Hands by size: children's by age, grown-ups' by EN 420 glove number or as measured."""

BABIES = frozenset(_BABY_HANDS)
"""Sizes of hands that are too young for a thumb of their own (common practice)."""

_UK90 = (
    *((0, 34.5, 35.2), (0.25, 40.3, 41.3), (0.5, 43.4, 44.5), (1, 46.5, 47.7), (2, 49.0, 50.2)),
    *((3, 50.3, 51.5), (4, 51.1, 52.2), (5, 51.7, 52.7), (6, 52.2, 53.2), (8, 53.0, 53.9)),
    *((10, 53.7, 54.5), (12, 54.4, 55.1), (14, 54.9, 55.9), (16, 55.3, 56.6)),
)
_HEAD_BY_AGE = tuple((age, (girl + boy) / 2) for age, girl, boy in _UK90)
_HEAD_SD = 1.4
"""Standard deviation of heads of one age, cm (UK90: girls 1.2 to 1.4, boys 1.2 to 1.7)."""
_HEAD_DEPTH = (
    *((35.5, 12.5), (40.5, 14.5), (45.5, 16.5), (50.5, 18.5), (56.0, 21.0), (61.0, 23.5)),
)
_HEAD_AGES = {
    **{"newborn": 0.0, "3mo": 0.25, "6mo": 0.5, "12mo": 1.0, "2y": 2.0, "child": 4.0, "6y": 6.0},
    **{"8y": 8.0, "10y": 10.0, "12y": 12.0, "14y": 14.0},
}


def head_depth(girth: float) -> float:
    """From the crown to the base of the ear, cm, of a head of that girth (common practice)."""
    if girth < _HEAD_DEPTH[0][0]:
        return _HEAD_DEPTH[0][1] * girth / _HEAD_DEPTH[0][0]
    return along(_HEAD_DEPTH, girth)


def _head(name: str, girth: float, child: bool, spread: tuple[float, float] | None) -> Body:
    return Body(round(girth, 1), round(head_depth(girth), 1), name, child, spread)


def head_at(age: float) -> float:
    """Round the head at that age in years, cm: the median of UK90."""
    return along(_HEAD_BY_AGE, age)


def _child_head(name: str, age: float) -> Body:
    girth = head_at(age)
    return _head(name, girth, True, _around(girth, _HEAD_SD))


HEADS: Mapping[str, Body] = MappingProxyType(
    {name: _child_head(name, age) for name, age in _HEAD_AGES.items()}
    | {
        "adult": _head("adult", (56.1 + 57.4) / 2, False, (53.2, 60.1)),
        "woman": _head("woman", 56.1, False, (53.2, 59.7)),
        "man": _head("man", 57.4, False, (54.8, 60.1)),
        "large": _head("large", 60.1, False, None),
    }
)
"""Heads by size; `length` is from the crown to the base of the ear. `child` is four years old."""

BALL = 0.93
"""Girth of the foot over its length."""
LAST_EASE = (1.2, 1.5)
"""How much longer the shoe's last is than the foot, cm: a child's, a grown-up's."""
GROWN_SHOE = 36
"""The smallest EU size taken for a grown-up's."""
_FEET_BY_AGE = {
    **{"1y": 12.1, "2y": 14.3, "3y": 15.5, "4y": 16.7, "5y": 17.4, "6y": 18.5, "7y": 19.3},
    **{"8y": 20.3, "9y": 21.2, "10y": 22.1, "11y": 22.8, "12y": 23.7},
}


def shoe_foot(size: int) -> float:
    """Length of the foot that wears that EU size, cm."""
    return size / 1.5 - LAST_EASE[size >= GROWN_SHOE]


def _foot(
    name: str, length: float, child: bool = False, spread: tuple[float, float] | None = None
) -> Body:
    return Body(round(BALL * length, 1), round(length, 1), name, child, spread)


FEET: Mapping[str, Body] = MappingProxyType(
    {name: _foot(name, length, True) for name, length in _FEET_BY_AGE.items()}
    | {str(n): _foot(str(n), shoe_foot(n), n < GROWN_SHOE) for n in range(20, 47, 2)}
    | {
        "woman": _foot("woman", 24.6, spread=(22.6, 26.8)),
        "man": _foot("man", 27.1, spread=(25.0, 29.3)),
    }
)
"""Feet by size: by age, by EU shoe size, or as measured."""

HALF_CM = 0.5


def in_half_cm(cm: float, low: float, high: float) -> float:
    """A height that follows the size, to half a centimetre, inside its bounds."""
    return min(max(round(cm / HALF_CM) * HALF_CM, low), high)


def body_of(
    table: Mapping[str, Body],
    size: str,
    girth: float | None,
    length: float | None,
    child: bool,
) -> Body:
    """The body measures of a named size, with the knitter's own in their place where given.

    A girth alone takes the length of the size nearest to it. Raises SettingError naming the sizes.
    """
    if size not in table:
        raise SettingError(
            message("no-such-size", size=size[:40], known=tuple(table), options=("size",))
        )
    base = table[size]
    if girth is not None:
        base = min(table.values(), key=lambda body: (abs(body.girth - girth), body.name))
    own = girth is not None or length is not None
    return Body(
        girth or base.girth,
        length or base.length,
        "" if own else size,
        child or (base.child and not own),
        None if own else base.spread,
    )
