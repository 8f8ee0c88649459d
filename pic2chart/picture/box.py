"""A box in a picture: whole pixels of the picture as it is seen, counted from its top left corner."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Self

from pic2chart.errors import InputError, SettingError

_NUMBERS = re.compile(r"\s*(\d{1,7})\s*,\s*(\d{1,7})\s*,\s*(\d{1,7})\s*,\s*(\d{1,7})\s*", re.ASCII)


@dataclass(frozen=True, slots=True)
class Box:
    """Left edge `x`, top edge `y`, width `w` and height `h`, in pixels of the upright picture.

    Raises SettingError when an edge is negative or a side is empty.
    """

    x: int
    y: int
    w: int
    h: int

    def __post_init__(self) -> None:
        if self.x < 0 or self.y < 0 or self.w < 1 or self.h < 1:
            raise SettingError(
                f"The box {self} must start at 0 or more and be at least 1 pixel wide and high."
            )

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read 'x,y,width,height'; raises SettingError when the text says anything else."""
        match = _NUMBERS.fullmatch(text)
        if not match:
            raise SettingError(
                f"The box '{text[:80]}' cannot be read; "
                "write x,y,width,height in whole pixels, like 40,10,300,280."
            )
        return cls(*(int(number) for number in match.groups()))

    @classmethod
    def whole(cls, size: tuple[int, int]) -> Self:
        """The box round a whole picture of (width, height) pixels."""
        return cls(0, 0, *size)

    def inside(self, size: tuple[int, int], name: str) -> Self:
        """This box, when it lies within a picture of (width, height); raises InputError if not."""
        if self.x + self.w > size[0] or self.y + self.h > size[1]:
            raise InputError(
                f"The box {self} reaches outside the picture '{name}', "
                f"which is {size[0]} pixels wide and {size[1]} high; choose a box within it."
            )
        return self

    def __str__(self) -> str:
        return f"{self.x},{self.y},{self.w},{self.h}"
