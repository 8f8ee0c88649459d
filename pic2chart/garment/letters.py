"""Knitted letters: Latin, Greek and Cyrillic capitals and numerals in three sizes, for bands.

Every letter is drawn once, in five rows of cells; a size says how many stitches and rounds a cell is
thick. Each row of a letter holds a stitch of the figure's yarn, never more than two stitches from
either side of the letter, and letters stand one stitch apart: so no strand of the figure's yarn runs
behind more than five stitches, whatever the text says. Words and signs are parted by a zigzag, since a
gap would be longer than that.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from unicodedata import normalize

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message

SIZES = ("small", "medium", "large")
MOST_LETTERS = 40
_ROWS = {"small": (1, 1, 1, 1, 1), "medium": (1, 2, 1, 2, 1), "large": (2, 2, 2, 3, 2)}
"""Rounds of each row of cells, from the top."""
_COLUMNS: Mapping[str, Mapping[str, tuple[int, ...]]] = {
    "medium": {
        **{"c": (2, 2, 2), "l": (2, 1, 1), "r": (1, 1, 2), "i": (2,), "1": (1, 2)},
        **{"4": (2, 1, 1, 2), "5": (2, 1, 1, 1, 2)},
    },
    "large": {
        **{"c": (2, 3, 2), "l": (3, 1, 1), "r": (1, 1, 3), "i": (3,), "1": (1, 3)},
        **{"4": (2, 2, 2, 2), "5": (2, 1, 3, 1, 2)},
    },
}
"""Stitches of each column of cells: of letters alike at both sides, with a stem at the left or at the
right, of one stem, of four and five columns."""

_DRAWN = """
A c .#. #.# ### #.# #.#
B c ##. #.# ##. #.# ##.
C l ### #.. #.. #.. ###
D c ##. #.# #.# #.# ##.
E l ### #.. ##. #.. ###
F l ### #.. ##. #.. #..
G l ### #.. #.# #.# ###
H c #.# #.# ### #.# #.#
I i # # # # #
J r ..# ..# ..# #.# .##
K c #.# #.# ##. #.# #.#
L l #.. #.. #.. #.. ###
M 5 #...# ##.## #.#.# #...# #...#
N 4 #..# ##.# #.## #..# #..#
O c .#. #.# #.# #.# .#.
P l ##. #.# ##. #.. #..
Q c .#. #.# #.# ### .##
R c ##. #.# ##. #.# #.#
S c .## ##. .#. .## ##.
T c ### .#. .#. .#. .#.
U c #.# #.# #.# #.# ###
V c #.# #.# #.# #.# .#.
W 5 #...# #...# #.#.# ##.## #...#
X c #.# #.# .#. #.# #.#
Y c #.# #.# .#. .#. .#.
Z c ### .## .#. ##. ###
0 c ### #.# #.# #.# ###
1 1 .# ## .# .# .#
2 c ##. .## .#. ##. ###
3 r ### ..# .## ..# ###
4 r #.# #.# ### ..# ..#
5 c ### ##. .#. .## ##.
6 l ### #.. ### #.# ###
7 r ### ..# ..# ..# ..#
8 c ### #.# ### #.# ###
9 r ### #.# ### ..# .##
Γ l ### #.. #.. #.. #..
Δ c .#. .#. #.# #.# ###
Θ c .#. #.# ### #.# .#.
Λ c .#. .#. #.# #.# #.#
Ξ c ### .#. ### .#. ###
Π c ### #.# #.# #.# #.#
Σ c ### ##. .#. ##. ###
Φ c .#. ### ### .#. .#.
Ψ c #.# #.# ### .#. .#.
Ω c .#. #.# #.# .#. ###
Б l ### #.. ### #.# ###
Д c .#. #.# #.# ### #.#
Ж 5 #.#.# #.#.# .###. #.#.# #.#.#
И 4 #..# #..# #.## ##.# #..#
Й 4 .##. #..# #.## ##.# #..#
Л c .## #.# #.# #.# #.#
У c #.# #.# .## .#. ##.
Ц c #.# #.# #.# ### .##
Ш 5 #.#.# #.#.# #.#.# #.#.# #####
Щ 5 #.#.# #.#.# #.#.# ##### .####
Ъ c ##. .#. .## .## .##
Ы 5 #...# #...# ##..# #.#.# ##..#
Ь l #.. #.. ##. #.# ##.
Э r ### ..# ### ..# ###
Ю 5 #.### #.#.# ###.# #.#.# #.###
Я c .## #.# .## #.# #.#
Є l ### #.. ### #.. ###
"""
_DRAWN_SMALL = """
S c .## #.. .#. ..# ##.
Z c ### ..# .#. #.. ###
2 c ##. ..# .#. #.. ###
5 c ### #.. ##. ..# ##.
Σ c ### #.. .#. #.. ###
У c #.# #.# .## ..# ##.
G c .## #.. #.# #.# .##
C c .## #.. #.. #.. .##
"""
"""Letters that one stitch a cell draws better otherwise."""
_ALIKE = str.maketrans(
    "ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ" + "АВГЕЗКМНОПРСТФХЧІЇЈҐЎ",
    "ABEZHIKMNOPTYX" + "ABΓE3KMHOΠPCTΦX4IIJΓУ",
)
"""Greek and Cyrillic letters that look like one that is drawn."""
_SPELLED = {
    **{"Ä": "AE", "Ö": "OE", "Ü": "UE", "ẞ": "SS", "Å": "AA", "Æ": "AE", "Ø": "OE", "Œ": "OE"},
    **{"Þ": "TH", "Ð": "D", "Ł": "L", "Đ": "D", "Ё": "E"},
}
"""Letters that are spelled otherwise where their signs have no room."""
_PARTING = frozenset(" .,:;-–—/'’·&+_\t")
"""Signs that become a zigzag."""


def _read(drawn: str) -> dict[str, tuple[str, NDArray[np.uint8]]]:
    letters = {}
    for line in drawn.strip().splitlines():
        name, shape, *rows = line.split()
        cells = np.array([[cell == "#" for cell in row] for row in rows], np.uint8)
        letters[name] = (shape, cells)
    return letters


LETTERS: Mapping[str, tuple[str, NDArray[np.uint8]]] = MappingProxyType(_read(_DRAWN))
"""Every letter: how its columns are, and its cells, uint8 [5, columns], from the top."""
_SMALL = _read(_DRAWN_SMALL)


def letter(name: str, size: str) -> NDArray[np.uint8]:
    """One drawn letter in a size, uint8 [rounds, stitches] of 0 and 1, from the top."""
    if size == "small":
        return _SMALL.get(name, LETTERS[name])[1]
    shape, cells = LETTERS[name]
    columns = _COLUMNS[size][shape]
    return np.repeat(np.repeat(cells, _ROWS[size], axis=0), columns, axis=1)


def zigzag(size: str) -> NDArray[np.uint8]:
    """What parts words, uint8 [rounds, 2]."""
    rounds = sum(_ROWS[size])
    drawn = np.zeros((rounds, 2), np.uint8)
    drawn[np.arange(rounds), np.arange(rounds) % 2] = 1
    return drawn


def lettered(text: str, size: str) -> NDArray[np.uint8]:
    """A text with a zigzag after it, uint8 [rounds, stitches] of 0 and 1, read from the left and from
    the top; a stitch of ground after every letter. Raises SettingError for what cannot be drawn.
    """
    if not text.strip() or len(text) > MOST_LETTERS:
        raise SettingError(message("text-too-long", most=MOST_LETTERS, options=("text",)))
    parts = [zigzag(size) if sign is None else letter(sign, size) for sign in _signs(text)]
    gap = np.zeros((sum(_ROWS[size]), 1), np.uint8)
    return np.hstack([piece for part in (*parts, zigzag(size)) for piece in (part, gap)])


def _signs(text: str) -> list[str | None]:
    """The names of the letters to draw; None for a zigzag, of which there is one at a time."""
    signs: list[str | None] = []
    for sign in _plain(text):
        if sign in _PARTING:
            signs += [None] if signs and signs[-1] is not None else []
        elif sign in LETTERS:
            signs.append(sign)
        else:
            raise SettingError(message("letter-not-drawn", letter=sign, options=("text",)))
    while signs and signs[-1] is None:
        signs.pop()
    if not signs:
        raise SettingError(message("text-too-long", most=MOST_LETTERS, options=("text",)))
    return signs


def _plain(text: str) -> str:
    """Capitals as they are drawn: accents left out, some letters spelled in two."""
    capitals = normalize("NFC", text.strip()).replace("ß", "ẞ").upper()
    capitals = "".join(_SPELLED.get(sign, sign) for sign in capitals)
    bare = "".join(sign if sign in LETTERS else normalize("NFD", sign)[0] for sign in capitals)
    return bare.translate(_ALIKE)
