"""A yarn: a name, a colour, and what the label says."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from pic2chart.core.english.grammar import JOINERS
from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MAX_NAME = 60
MOST_SHADES = 8
LEAST_M_PER_100G = 0.1
"""No yarn is a kilogram a metre; smaller figures are slips that would ask for endless balls."""


@dataclass(frozen=True, slots=True)
class Yarn:
    """One yarn. `colour` is '#rrggbb' in sRGB; the label's facts may be missing.

    `shades`: the colours of a yarn of several (variegated, gradient, heather), '#rrggbb' each, two to
    MOST_SHADES, in the order they come; `colour` is then what they mix to. `within`: L* within which the
    colour's lightness is known 19 times in 20, None where nobody has said.

    Raises SettingError on an empty or overlong name, a colour that is not '#rrggbb', or a negative amount.
    """

    name: str
    colour: str
    weight: str | None = None
    m_per_100g: float | None = None
    grams: float | None = None
    price: float | None = None
    lot: str | None = None
    note: str | None = None
    within: float | None = None
    shades: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        name = " ".join(self.name.split())
        printed = "".join(letter for letter in name if letter not in JOINERS)
        if not printed or len(name) > MAX_NAME or not printed.isprintable():
            raise SettingError(message("yarn-bad-name", name=repr(self.name[:80]), most=MAX_NAME))
        for colour in (self.colour, *self.shades):
            if not re.fullmatch(r"#[0-9a-fA-F]{6}", colour):
                raise SettingError(message("yarn-bad-colour", colour=colour[:20], name=name))
        if len(self.shades) == 1 or len(self.shades) > MOST_SHADES:
            raise SettingError(
                message("yarn-bad-shades", name=name, shades=len(self.shades), most=MOST_SHADES)
            )
        for word in ("m_per_100g", "grams", "price", "within"):
            amount = getattr(self, word)
            if amount is not None and not 0 <= amount < 1e7:
                raise SettingError(
                    message("yarn-amount-out-of-range", field=word, name=name, amount=amount)
                )
        if self.m_per_100g and self.m_per_100g < LEAST_M_PER_100G:
            raise SettingError(
                message("yarn-too-heavy", name=name, amount=self.m_per_100g, least=LEAST_M_PER_100G)
            )
        object.__setattr__(self, "name", name)
        object.__setattr__(self, "colour", self.colour.lower())
        object.__setattr__(self, "shades", tuple(shade.lower() for shade in self.shades))

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read 'name=#rrggbb', split at the last '='; several colours as 'name=#rrggbb+#rrggbb'."""
        name, equals, colour = text.rpartition("=")
        if not equals:
            raise SettingError(message("yarn-unreadable", text=text[:80]))
        shades = tuple(part.strip() for part in colour.split("+"))
        if len(shades) == 1:
            return cls(name.strip(), shades[0])
        return cls(name.strip(), _mixed(shades, name), shades=shades)

    @property
    def text(self) -> str:
        """The yarn as `parse` reads it."""
        return f"{self.name}={'+'.join(self.shades) or self.colour}"

    @property
    def rgb(self) -> tuple[int, int, int]:
        """The colour as three numbers 0–255."""
        return (int(self.colour[1:3], 16), int(self.colour[3:5], 16), int(self.colour[5:7], 16))


def _mixed(shades: Sequence[str], name: str) -> str:
    """What the shades mix to; raises SettingError when one of them is no colour."""
    from pic2chart.core.colour import mixed  # here, as below

    try:
        return mixed(shades)
    except ValueError as error:
        raise SettingError(
            message("yarn-bad-colour", colour="+".join(shades)[:20], name=name)
        ) from error


def yarn_lab(yarns: Sequence[Yarn]) -> NDArray[np.float64]:
    """Lab of every yarn, float64 [K, 3]."""
    import numpy as np  # here, so that naming a yarn loads nothing of weight

    from pic2chart.core.colour import srgb_to_lab

    return srgb_to_lab(np.array([yarn.rgb for yarn in yarns], np.uint8))


def nearest_yarns(before: Sequence[Yarn], now: Sequence[Yarn]) -> NDArray[np.intp]:
    """For each yarn of `before` the one of `now` (index) of its name, or else of the nearest colour."""
    away = ((yarn_lab(before)[:, None] - yarn_lab(now)) ** 2).sum(axis=2)
    for old, one in enumerate(before):
        for new, other in enumerate(now):
            if one.name.casefold() == other.name.casefold():
                away[old, new] = -1.0
    nearest: NDArray[np.intp] = away.argmin(axis=1)
    return nearest
