"""Yarn weights: the classes of the Craft Yarn Council's Standard Yarn Weight System.

Gauge ranges and needles after the council (seen second-hand); metres in 100 g are the trade's common
ranges (common practice), those under 100 from memory, as are the needles from 12.75 mm on. They stand
in only where a label is not known.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Literal

from pic2chart.gauge import Gauge
from pic2chart.yarn.yarn import Yarn


@dataclass(frozen=True, slots=True)
class WeightClass:
    """A class: its number and name, the fewest stitches in 10 cm, metres in 100 g from low to high,
    and the usual needles in mm, thinnest and thickest.
    """

    number: int
    name: str
    fewest: float
    low: float
    high: float
    needles: tuple[float, float]

    @property
    def needle_words(self) -> str:
        """'2.25 to 3.25 mm', '12.75 mm and more'."""
        thin, thick = self.needles
        return f"{thin:g} mm and more" if thick == inf else f"{thin:g} to {thick:g} mm"


CLASSES = (
    WeightClass(0, "lace", 33, 600, 800, (1.5, 2.25)),
    WeightClass(1, "super fine", 27, 350, 450, (2.25, 3.25)),
    WeightClass(2, "fine", 23, 250, 350, (3.25, 3.75)),
    WeightClass(3, "light", 21, 200, 250, (3.75, 4.5)),
    WeightClass(4, "medium", 16, 120, 200, (4.5, 5.5)),
    WeightClass(5, "bulky", 12, 100, 130, (5.5, 8)),
    WeightClass(6, "super bulky", 7, 60, 100, (8, 12.75)),
    WeightClass(7, "jumbo", 0, 30, 60, (12.75, inf)),
)


def metres_in_100g(
    yarn: Yarn, gauge: Gauge
) -> tuple[float, float, Literal["label", "class", "gauge"]]:
    """Metres in 100 g, the doubt of it as a part, and whether the label, the class or the gauge says so."""
    if yarn.m_per_100g:
        return yarn.m_per_100g, 0.02, "label"
    named = class_named(yarn.weight or "")
    chosen = named or class_at(gauge)
    middle = (chosen.low + chosen.high) / 2
    return middle, (chosen.high - chosen.low) / 2 / middle, "class" if named else "gauge"


def class_named(text: str) -> WeightClass | None:
    """The class a shelf calls by its number or its name, or None."""
    plain = " ".join(text.casefold().replace("-", " ").split())
    return next((c for c in CLASSES if plain in (str(c.number), c.name)), None)


def class_at(gauge: Gauge) -> WeightClass:
    """The class usually knitted at this gauge."""
    stitches = 10 / gauge.stitch_width
    return next(c for c in CLASSES if stitches >= c.fewest)
