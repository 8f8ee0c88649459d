"""Words for yarns: the classes of their weight, and plain words for their colours."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from math import inf
from typing import Literal

from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn

# Yarn weights: the classes of the Craft Yarn Council's Standard Yarn Weight System.
#
# Gauge ranges and needles after the council (seen second-hand); metres in 100 g are the trade's common
# ranges (common practice), those under 100 from memory, as are the needles from 12.75 mm on. They stand
# in only where a label is not known.


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
    """Metres in 100 g, its relative uncertainty, and what says so: label, class or gauge."""
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


# Plain words for colours, worked out from L*, chroma and hue; a vocabulary of our own.

_GREY_CHROMA, _GREYISH_CHROMA, _VIVID_CHROMA = 7.0, 13.0, 75.0
# Words that say how light they are, or how dull.
_SINGLE = ("black", "cream", "beige", "tan", "rust")
# Upper bound of L*, and the word below it.
_GREYS = ((20, "black"), (45, "dark grey"), (70, "grey"), (88, "pale grey"), (101, "white"))
_SHADES = ((20, "very dark "), (38, "dark "), (66, ""), (82, "light "), (101, "pale "))
# Upper bound of the Lab hue in degrees, and the word below it.
_HUES = (
    (42, "red"),
    (75, "orange"),
    (110, "yellow"),
    (175, "green"),
    (215, "teal"),
    (308, "blue"),
    (337, "purple"),
    (361, "plum"),
)


def colour_words(labs: Iterable[tuple[float, float, float]]) -> tuple[str, ...]:
    """A different name for each colour, like 'dark brown', 'pale grey', 'blue', 'blue 2'."""
    seen: dict[str, int] = {}
    names: list[str] = []
    for lab in labs:
        word = colour_word(lab)
        seen[word] = seen.get(word, 0) + 1
        names.append(word if seen[word] == 1 else f"{word} {seen[word]}")
    return tuple(names)


def colour_word(lab: tuple[float, float, float]) -> str:
    """The plain word for a colour in Lab (D65)."""
    L, a, b = lab
    chroma, hue = math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360
    if chroma < _GREY_CHROMA:
        return _below(_GREYS, L)
    word = _hue_word(L, chroma, hue)
    if chroma < _GREYISH_CHROMA and word not in _SINGLE:
        word += "-grey"
    # A vivid colour is called by its bare name: pure blue is dark, yet nobody calls it so.
    return word if chroma > _VIVID_CHROMA else _shade(word, L) + word


def _hue_word(L: float, chroma: float, hue: float) -> str:
    word = _below(_HUES, hue)
    if L < 18 and chroma < 11:
        return "black"
    if word in ("orange", "yellow"):
        return _warm_word(word, L, chroma, hue)
    if word in ("red", "plum"):
        return _rosy_word(L, chroma, hue)
    if word == "green" and hue < 122 and L < 65:
        return "olive"
    return "lilac" if word == "purple" and L >= 66 else word


def _rosy_word(L: float, chroma: float, hue: float) -> str:
    """Reds on the blue side are plum, light ones pink, dull ones on the yellow side brown."""
    bluish = hue > 180 or hue < 18
    if L >= 64 or (bluish and L >= 48 and chroma >= 40):
        return "pink"
    if chroma < 28:
        return "plum" if bluish else "brown"
    return "plum" if hue > 180 else "red"


def _warm_word(word: str, L: float, chroma: float, hue: float) -> str:
    """Oranges and yellows have names of their own when they are dark or dull."""
    if L >= 85 and chroma < 32:
        return "cream"
    if L >= 66 and chroma < 38:
        return "beige"
    if hue > 92 and L < 64:
        return "olive"
    if hue < 62 and 30 <= L < 56 and 42 <= chroma < 70:
        return "rust"
    brown_below = 48 if word == "orange" else 60
    if chroma < 38 or brown_below > L:
        return "tan" if L >= 56 else "brown"
    return word


def _shade(word: str, L: float) -> str:
    """Dark, light or pale; a word that is light in itself is called so only beyond its own."""
    if word in _SINGLE:
        return ""
    shade = _below(_SHADES, L)
    if word in ("pink", "lilac", "yellow") and shade == "light ":
        return ""
    return "" if word == "yellow" and shade == "pale " and L < 98 else shade


def _below(table: tuple[tuple[int, str], ...], value: float) -> str:
    return next((word for bound, word in table if value < bound), table[-1][1])


_WORDS = frozenset(
    {word for table in (_GREYS, _SHADES, _HUES) for _, words in table for word in words.split()}
    | {*_SINGLE, "olive", "lilac", "pink", "brown"}
)


def is_colour_word(name: str) -> bool:
    """Whether a yarn's name is but a plain word for a colour, with a number or not: 'dark blue 2'."""
    words = name.casefold().replace("-", " ").split()
    return bool(words) and all(word in _WORDS or word.isdecimal() for word in words)
