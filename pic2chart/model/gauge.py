"""Gauge: stitches and rounds over a length, and what follows from it.

Sources. Munden 1959, quoted in Spencer, *Knitting Technology*, section 22.5 (seen second-hand):
courses per length = kc / l, wales per length = kw / l, stitch density S = ks / l², with l the loop
length in the same unit; fully relaxed ks = 23.1, kc = 5.5, kw = 4.2.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Self

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message

MUNDEN_KS = {"dry": 19.0, "wet": 21.6, "full": 23.1}
"""Munden's stitch-density constant for dry, wet and fully relaxed fabric."""

_RANGE = (3.0, 120.0)


@dataclass(frozen=True, slots=True)
class Gauge:
    """Stitches and rounds over `over_cm` centimetres of washed fabric.

    Raises SettingError when a count is not between 3 and 120 per 10 cm.
    """

    stitches: float = 28.0
    rounds: float = 30.0
    over_cm: float = 10.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.over_cm) and self.over_cm > 0):
            raise SettingError(message("gauge-bad-span", over_cm=self.over_cm))
        for word, count in (("stitches", self.stitches), ("rounds", self.rounds)):
            per_10 = count * 10 / self.over_cm
            if not _RANGE[0] <= per_10 <= _RANGE[1]:
                raise SettingError(
                    message(
                        "gauge-out-of-range", count=per_10, word=word, low=_RANGE[0], high=_RANGE[1]
                    )
                )

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read '28x31' (stitches x rounds in 10 cm)."""
        match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*[xX×]\s*(\d+(?:\.\d+)?)\s*", text)
        if not match:
            raise SettingError(message("gauge-unreadable", text=text))
        return cls(float(match[1]), float(match[2]))

    @property
    def stitch_width(self) -> float:
        """Width of one stitch, cm."""
        return self.over_cm / self.stitches

    @property
    def round_height(self) -> float:
        """Height of one round, cm."""
        return self.over_cm / self.rounds

    @property
    def aspect(self) -> float:
        """Height of a stitch over its width (below 1: wider than tall)."""
        return self.round_height / self.stitch_width

    def loop_length(self, state: str = "full") -> float:
        """Yarn in one stitch, cm: l = sqrt(ks·w·h), from Munden's S = ks / l² with S = 1 / (w·h)."""
        return math.sqrt(MUNDEN_KS[state] * self.stitch_width * self.round_height)

    def size_cm(self, stitches: int, rounds: int) -> tuple[float, float]:
        """Width and height in cm of that many stitches and rounds."""
        return stitches * self.stitch_width, rounds * self.round_height

    def rounds_for(self, stitches: int, shape: float) -> int:
        """Rounds that give `stitches` across a picture whose height over width is `shape`."""
        return max(1, round(stitches * shape / self.aspect))

    def float_limit(self, stitches: int, cm: float | None) -> int:
        """The float limit in stitches: the smaller of the count and the length at this gauge."""
        return stitches if cm is None else max(1, min(stitches, int(cm / self.stitch_width)))

    def __str__(self) -> str:
        return f"{self.stitches:g} stitches × {self.rounds:g} rounds in {self.over_cm:g} cm"
