"""Body measures by named size, where they come from, and ease.

Hands: EN 420 (now EN ISO 21420), circumference and length in mm for glove sizes 6 to 11; seen
second-hand. The circumference in inches is the glove number. Children's hands: retail charts
(common practice), in inches; the middle of each range is used. Heads: common practice, in cm.
Girth of the hand is taken over the knuckles of the open hand without the thumb, the head's above
the ears (wording after EN 13402-1 and ISO 8559).

Ease is an option of each kind, with its own usual value (common practice). A stranded fabric stretches
little, so it wants less negative ease than a plain one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from pic2chart.core.errors import SettingError

CM_PER_INCH = 2.54


@dataclass(frozen=True, slots=True)
class Body:
    """A body measure, cm: round the hand or head, and the hand's length or the head's depth.

    `name` is empty when the knitter gave her own measures. `child`: the cautions for children hold.
    """

    girth: float
    length: float
    name: str = ""
    child: bool = False

    def eased(self, ease: float) -> float:
        """The girth with so many per cent of ease, cm."""
        return self.girth * (1 + ease / 100)


_EN_420_MM = {
    6: (152, 160),
    7: (178, 171),
    8: (203, 182),
    9: (229, 192),
    10: (254, 204),
    11: (279, 215),
}
_CHILD_HANDS_IN = {
    "1-2y": ((4.5, 5), (3, 3.5)),
    "2-3y": ((5, 5.5), (3.5, 4)),
    "4-6y": ((5.5, 6), (4, 4.5)),
    "6-8y": ((6, 6.5), (4.5, 5)),
    "8-10y": ((6.5, 7), (5, 5.5)),
    "10-12y": ((7, 7.5), (5.5, 6)),
}
_HEADS_CM = {
    "newborn": (35.5, 12.5),
    "6mo": (40.5, 14.5),
    "12mo": (45.5, 16.5),
    "child": (50.5, 18.5),
    "adult": (56.0, 21.0),
    "large": (61.0, 23.5),
}
_CHILD_HEADS = frozenset({"newborn", "6mo", "12mo", "child"})


def _middle_cm(inches: tuple[float, float]) -> float:
    return round(sum(inches) / 2 * CM_PER_INCH, 2)


HANDS: Mapping[str, Body] = MappingProxyType(
    {
        name: Body(_middle_cm(girth), _middle_cm(length), name, True)
        for name, (girth, length) in _CHILD_HANDS_IN.items()
    }
    | {str(n): Body(girth / 10, length / 10, str(n)) for n, (girth, length) in _EN_420_MM.items()}
)
"""Hands by size: children's by age, grown-ups' by EN 420 glove number."""

HEADS: Mapping[str, Body] = MappingProxyType(
    {
        name: Body(girth, depth, name, name in _CHILD_HEADS)
        for name, (girth, depth) in _HEADS_CM.items()
    }
)
"""Heads by size; `length` is from the crown to the base of the ear."""


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
        raise SettingError(f"--size is '{size[:40]}'; the sizes are {', '.join(table)}.")
    base = table[size]
    if girth is not None:
        base = min(table.values(), key=lambda body: (abs(body.girth - girth), body.name))
    own = girth is not None or length is not None
    return Body(
        girth or base.girth,
        length or base.length,
        "" if own else size,
        child or (base.child and not own),
    )
