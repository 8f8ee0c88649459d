"""Keys with the names of their yarns, printed in several faces or written letter by letter by a hand.

The names are invented words of colours, plants and stones, some of two words, some with a number.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import reportlab
from PIL import Image, ImageDraw, ImageFont

from tests.helpers.places import PACKAGE

_WORDS = [
    "oat",
    "rust",
    "ink",
    "moss",
    "plum",
    "heather",
    "slate",
    "fennel",
    "ochre",
    "dusk",
    "barley",
    "copper",
    "thistle",
    "pewter",
    "brick",
    "cream",
    "fog",
    "juniper",
    "lichen",
    "madder",
    "midnight",
    "bracken",
    "clay",
    "cobalt",
    "teal",
    "walnut",
    "willow",
    "amber",
    "sorrel",
    "granite",
    "quartz",
    "bilberry",
    "cloud",
    "birch",
    "ember",
    "mustard",
    "navy",
    "olive",
    "poppy",
    "sage",
    "sand",
    "storm",
    "violet",
    "wheat",
    "zinc",
    "apricot",
    "fjord",
]
_BEFORE = ("pale", "dark", "warm", "old", "deep", "light")
_FACES = (
    Path(reportlab.__file__).with_name("fonts") / "Vera.ttf",
    Path(reportlab.__file__).with_name("fonts") / "VeraBd.ttf",
    Path(reportlab.__file__).with_name("fonts") / "VeraIt.ttf",
    PACKAGE / "sheets" / "marks" / "fonts" / "Roboto-Regular.ttf",
    None,
)
"""Bitstream Vera as reportlab ships it, this program's own face, and Pillow's."""


def names_by_lot(count: int, rng: np.random.Generator) -> list[str]:
    """Different names; some begin with a capital, as a whole key does."""
    words = [str(word) for word in rng.permutation(_WORDS)[:count]]
    for n, word in enumerate(words):
        if rng.random() < 0.25:
            words[n] = word = f"{rng.choice(_BEFORE)} {word}"
        if rng.random() < 0.15:
            words[n] = f"{word} {rng.integers(2, 400)}"
    how = rng.integers(4)
    return [str.capitalize(w) if how == 0 else str.upper(w) if how == 1 else w for w in words]


def draw_named_key(big, at, shape, square, over, shows, rng) -> list[str]:
    """A key of squares, each shown by `shows(draw, x, y, side, number)`, and a name right of each or
    below it, in a column or a row; what the names are."""
    draw, rows, columns = ImageDraw.Draw(big), *shape
    count, side = len(shows), float(rng.choice([0.8, 1.0, 1.0, 1.3]))
    names, write = names_by_lot(count, rng), _Writing(big, square * over * side, rng)
    gap, away = float(rng.uniform(1.5, 3)), float(rng.uniform(0.3, 0.8))
    wide = [write.width(name) / (square * over) for name in names]
    beside, step = rng.random() < 0.5, side * float(rng.choice([1.0, 1.25, 1.6, 2.0]))
    how = str(rng.choice(["column", "column", "row", "below"]))
    if how == "column":
        u0, v0 = (columns + gap, 0.0) if beside else (0.0, rows + gap)
        places = [(u0, v0 + n * step) for n in range(count)]
    else:
        steps = (
            [side * (1 + away) + w + 1.2 for w in wide]
            if how == "row"
            else [max(max(wide), side) + 1.0] * count
        )
        first = max(0.0, max(wide) / 2 - side / 2) if how == "below" else 0.0
        places = [(first + sum(steps[:n]), rows + gap) for n in range(count)]
    for n, (u, v) in enumerate(places):
        (x, y), length = at(u, v), side * square * over
        shows[n](draw, x, y, length)
        if how == "below":
            left = x + length / 2 - write.width(names[n]) / 2
            write.write(names[n], left, y + 1.2 * length + write.size / 2)
        else:
            write.write(names[n], x + (1 + away) * length, y + length / 2)
    return names


class _Writing:
    """One face, size, ink and hand for all names of a key."""

    def __init__(self, big: Image.Image, side: float, rng: np.random.Generator) -> None:
        self.big, self.rng, self.size = big, rng, side * rng.uniform(0.6, 0.9)
        face = _FACES[int(rng.integers(len(_FACES)))]
        self.font = (
            ImageFont.load_default(size=self.size)
            if face is None
            else ImageFont.truetype(str(face), self.size)
        )
        self.hand = float(rng.uniform(0.5, 1)) if rng.random() < 0.35 else 0.0
        inks = [(30, 30, 30), (70, 70, 70), (25, 40, 110)]
        self.ink = inks[int(rng.integers(3))]

    def width(self, text: str) -> float:
        return float(self.font.getlength(text))

    def write(self, text: str, x: float, y: float) -> None:
        """A line whose middle lies at height y; a hand turns, shifts and sizes every letter by lot."""
        if not self.hand:
            ImageDraw.Draw(self.big).text((x, y), text, fill=self.ink, font=self.font, anchor="lm")
            return
        pad = int(self.size)
        lean = self.rng.uniform(-0.05, 0.25)
        for letter in text:
            tile = Image.new("L", (4 * pad, 4 * pad))
            ImageDraw.Draw(tile).text((pad, 2 * pad), letter, fill=255, font=self.font, anchor="lm")
            turn = np.deg2rad(self.hand * self.rng.normal(0, 4))
            scale = 1 + self.hand * self.rng.normal(0, 0.06)
            c, s = np.cos(turn) / scale, np.sin(turn) / scale
            mid, low = pad + self.width(letter) / 2, 2 * pad
            way = (
                c,
                s + lean * c,
                mid - c * mid - (s + lean * c) * low,
                -s,
                c,
                low + s * mid - c * low,
            )
            tile = tile.transform(tile.size, Image.Transform.AFFINE, way, Image.Resampling.BICUBIC)
            off = self.hand * self.rng.normal(0, 0.04, 2) * self.size
            place = (round(x + off[0]) - pad, round(y + off[1]) - 2 * pad)
            self.big.paste(self.ink, place, tile)
            x += self.width(letter)
