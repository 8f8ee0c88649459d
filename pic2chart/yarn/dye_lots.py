"""Do two dye lots match? The grey scale for assessing change in colour.

ISO 105-A02: the nine pairs of the scale differ by these ΔE*ab (CIE 1976), from grade 5 to grade 1.
Seen in the standard's public preview.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from pic2chart.colour import delta_e76, delta_e2000

GRADES = ("5", "4-5", "4", "3-4", "3", "2-3", "2", "1-2", "1")
DIFFERENCES = (0.0, 0.8, 1.7, 2.5, 3.4, 4.8, 6.8, 9.6, 13.6)


@dataclass(frozen=True, slots=True)
class LotMatch:
    """Two colours as two lots of one dye: ΔE*ab, ΔE2000 with kL 2 (ISO 105-J03), the grade."""

    first: str
    second: str
    delta_e: float
    delta_e2000: float
    grade: str
    words: str

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "first": self.first,
            "second": self.second,
            "delta_e_ab": round(self.delta_e, 2),
            "delta_e2000_kl2": round(self.delta_e2000, 2),
            "grade": self.grade,
            "words": self.words,
        }


def grey_scale_grade(delta_e: float) -> str:
    """The grade whose pair of the scale differs most nearly by `delta_e`."""
    nearest = int(np.argmin(np.abs(np.array(DIFFERENCES) - delta_e)))
    return GRADES[nearest]


def match_lots(first: str, second: str, lab1: ArrayLike, lab2: ArrayLike, doubt: float) -> LotMatch:
    """Judge two colours; differences within `doubt` (ΔE*ab) cannot be told from chance."""
    delta_e = float(delta_e76(lab1, lab2))
    grade = grey_scale_grade(delta_e)
    textile = float(delta_e2000(lab1, lab2, kL=2.0))
    return LotMatch(first, second, delta_e, textile, grade, _words(grade, delta_e <= doubt))


def _words(grade: str, within_doubt: bool) -> str:
    if within_doubt:
        return "no difference beyond what this photo can tell"
    step = GRADES.index(grade)
    if step <= 1:
        return "a match: knit them side by side"
    if step <= 2:
        return "close: change lots at a border, or knit rounds of both in turn"
    if step <= 4:
        return "the change will show: knit rounds of both in turn where they meet"
    return "plainly different: do not use them as one colour"
