"""Body measures of those who wear jumpers, by named chest or by the chest alone.

Chests. Women and men: EN 13402-3 names sizes by the chest in cm, in steps of 4 to 102 and of 6 from 107
on (seen second-hand); its letters stand for ranges of them, whose middle is taken (ranges from
memory). Children from two to seven: measured, Snyder et al. 1977, medians seen second-hand; older
ones worked out, nine tenths of the Craft Yarn Council's body sizes (2018), which is what those run
over the measured ones at two to seven.

Other measures follow the chest, on straight lines between published pairs. Upper arm: Snyder (15.7 at
49.7, 16.4 at 53.7, 17.3 at 58.0), the council's women (25 at 73.5 to 49.5 at 155, from memory but for
the smallest). Wrist: Snyder (11.2, 11.6, 12.2 at those chests), ANSUR II (15.5 at 94.7 for women, 17.6 at
105.9 for men); beyond, worked out. Sleeve to the underarm: the council's children and women (partly
from memory). Head: UK90 and ANSUR II at the ages of those chests.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.garment.sizes import HEADS, Points, along, head_at

_STEPS = (74, 78, 82, 86, 90, 94, 98, 102, 107, 113, 119, 125, 131)
_LETTERS = {
    **{"woman-xs": 78.0, "woman-s": 86.0, "woman-m": 94.0, "woman-l": 102.5, "woman-xl": 113.0},
    **{"woman-2xl": 125.0, "man-s": 90.0, "man-m": 98.0, "man-l": 106.0, "man-xl": 114.0},
    **{"man-2xl": 123.5},
}
CHILD_CHESTS: Points = (
    *((2.5, 49.7), (4.5, 53.7), (6.5, 58.0), (8.5, 61.2), (10.5, 65.0), (12.5, 69.5), (14.5, 72.5)),
)
"""Age in years and chest, cm."""
_CHILD_AGES = {"2y": 2.5, "4y": 4.5, "6y": 6.5, "8y": 8.5, "10y": 10.5, "12y": 12.5, "14y": 14.5}

UPPER_ARM: Points = (
    *((40.5, 14.0), (49.7, 15.7), (53.7, 16.4), (58.0, 17.3), (65.0, 20.0), (73.5, 25.0)),
    *((83.5, 26.0), (94.0, 28.0), (104.0, 30.5), (114.3, 34.5), (124.5, 39.5), (134.5, 43.0)),
    *((144.5, 47.0), (155.0, 49.5)),
)
WRIST: Points = (
    *((40.5, 10.0), (49.7, 11.2), (53.7, 11.6), (58.0, 12.2), (72.0, 13.7), (94.7, 15.5)),
    *((105.9, 17.0), (130.0, 18.5), (160.0, 20.0)),
)
SLEEVE: Points = (
    *((40.5, 15.5), (44.0, 18.0), (49.7, 22.5), (53.7, 27.0), (58.0, 29.5), (61.2, 32.0)),
    *((65.0, 35.0), (69.5, 38.5), (73.5, 41.0), (86.0, 43.0), (94.0, 43.0), (104.0, 44.5)),
    *((124.5, 45.5), (144.5, 47.0)),
)
"""Chest and measure, both cm."""


@dataclass(frozen=True, slots=True)
class Wearer:
    """Who wears a jumper: the chest in cm, and what follows from it. `name`: the size, or empty."""

    chest: float
    name: str = ""
    child: bool = False

    @property
    def upper_arm(self) -> float:
        return along(UPPER_ARM, self.chest)

    @property
    def wrist(self) -> float:
        return along(WRIST, self.chest)

    @property
    def sleeve(self) -> float:
        """From the wrist to the underarm."""
        return along(SLEEVE, self.chest)

    @property
    def head(self) -> float:
        """Round the head: a child's is that of children of such a chest."""
        if not self.child:
            return HEADS["adult"].girth
        ages = tuple((chest, age) for age, chest in CHILD_CHESTS)
        return round(head_at(along(ages, self.chest)), 1)


CHESTS: Mapping[str, Wearer] = MappingProxyType(
    {
        name: Wearer(round(along(CHILD_CHESTS, age), 1), name, True)
        for name, age in _CHILD_AGES.items()
    }
    | {name: Wearer(chest, name) for name, chest in _LETTERS.items()}
    | {str(step): Wearer(float(step), str(step)) for step in _STEPS}
)
"""Chests by size: children's by age, grown-ups' by letter or by EN 13402-3's step."""


def wearer_of(size: str | None, chest: float | None, usual: float, child: bool) -> Wearer:
    """Who wears a jumper of that size, or of that chest, which goes before; `usual` without either.

    Raises SettingError naming the sizes.
    """
    if size is not None and size not in CHESTS:
        raise SettingError(
            message("no-such-size", size=size[:40], known=tuple(CHESTS), options=("size",))
        )
    if chest is not None or size is None:
        return Wearer(chest or usual, "", child)
    named = CHESTS[size]
    return Wearer(named.chest, size, child or named.child)
