"""How a sheet looks: what the knitter or teacher chooses, whatever the chart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Symbols = Literal["both", "colour", "plain"]
Units = Literal["cm", "in"]

CM_PER_INCH = 2.54
LARGE_PRINT = 1.75
"""Scale of the type in large print: 3.3 mm becomes 5.8 mm, over 16 points (from memory, the least
that guides to large print ask for)."""


@dataclass(frozen=True, slots=True)
class Look:
    """The look of every sheet of a set.

    `symbols`: 'both' colours and symbols, 'colour' alone, or 'plain' symbols on white, for copying
    in black and white. `heavy`: a heavier line every 10 or 5. `scale`: of the type, 1 as it comes.
    `words`: False leaves only numbers and signs beside the title and the names of the yarns.
    `square_mm`: the width of a square; None is as large as fits the page, or 4 mm where it is free.
    """

    author: str = ""
    units: Units = "cm"
    symbols: Symbols = "both"
    heavy: int = 10
    scale: float = 1.0
    words: bool = True
    square_mm: float | None = None

    def length(self, cm: float, digits: int = 1) -> str:
        """A length as this look writes it, without the unit."""
        return f"{cm if self.units == 'cm' else cm / CM_PER_INCH:.{digits}f}"


PLAIN = Look()
