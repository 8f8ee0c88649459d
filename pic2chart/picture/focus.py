"""Spots of a picture that matter most, such as the eyes: they weigh more in every stitch near them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import Message, message
from pic2chart.picture.decode import Picture

MORE = 2.0
"""What a stitch in a spot weighs on top of its usual 1: eyes and faces 2 to 4 times (common practice
in tools that shrink pictures, from memory)."""

_NUMBERS = re.compile(r"\s*(\d{1,7})\s*,\s*(\d{1,7})\s*,\s*(\d{1,7})\s*", re.ASCII)


def unreadable(option: str, text: str) -> Message:
    """A spot of that option that cannot be read."""
    if option == "keep":
        return message("keep-unreadable", text=text, options=("keep",))
    if option == "leave":
        return message("leave-unreadable", text=text, options=("leave",))
    return message("spot-unreadable", text=text, options=("focus",))


@dataclass(frozen=True, slots=True)
class Spot:
    """A round spot: middle `x`, `y` and radius `r`, in pixels of the upright picture."""

    x: int
    y: int
    r: int

    @classmethod
    def parse(cls, text: str, option: str = "focus") -> Self:
        """Read 'x,y,radius' of that option; raises SettingError when the text says anything else."""
        match = _NUMBERS.fullmatch(text)
        if not match or int(match[3]) < 1:
            raise SettingError(unreadable(option, text[:80]))
        return cls(*(int(number) for number in match.groups()))


def focus_weight(
    spots: Sequence[Spot],
    picture: Picture,
    part: tuple[float, float, float, float],
    shape: tuple[int, int],
) -> NDArray[np.float64]:
    """How much each stitch matters, float [R, N] in knitting order: 1, and up to 1 + MORE in a spot.

    `part` is the part of the picture's window that the grid shows (see `Grid`), `shape` (R, N). Past
    its edge a spot fades away over half its radius. Raises SettingError for a spot that lies outside.
    """
    window = picture.window
    left, top, right, bottom = part
    across = window.x + window.w * np.linspace(left, right, 2 * shape[1] + 1)[1::2]
    down = window.y + window.h * np.linspace(top, bottom, 2 * shape[0] + 1)[1::2]
    weight = np.ones(shape)
    for spot in spots:
        away = np.hypot(down[::-1, None] - spot.y, across[None, ::-1] - spot.x) / spot.r
        if away.min() > 1.5:
            raise SettingError(
                message("spot-outside", x=spot.x, y=spot.y, r=spot.r, options=("focus",))
            )
        weight = np.maximum(weight, 1 + MORE * np.clip(3 - 2 * away, 0, 1))
    return weight
