"""Fillers: small patterns to knit behind a subject, free of long floats by design.

Every tile keeps each stretch of either colour to MAX_FLOAT stitches or fewer when it is set side by
side, so a filler never asks for a catch, even under the cautious rule of four for mittens and
children's things (common practice). Rounds of a single colour have no float at all. All tiles are
drawn for this project.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message

MAX_FLOAT = 4
"""Longest float of any filler, in stitches."""

Bits = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Filler:
    """One pattern. `tile`: uint8 [rounds, stitches] in knitting order, 0 background, 1 motif, read-only.

    `isolated` says that the pattern's own look is made of single stitches, which tidying must spare.
    """

    name: str
    description: str
    tile: Bits
    isolated: bool = False

    def __post_init__(self) -> None:
        self.tile.setflags(write=False)

    @property
    def width(self) -> int:
        """Stitches of one repeat."""
        return int(self.tile.shape[1])

    @property
    def height(self) -> int:
        """Rounds of one repeat."""
        return int(self.tile.shape[0])


def _filler(name: str, description: str, drawing: str, isolated: bool = False) -> Filler:
    """A filler from its drawing, seen from the right side: top line knitted last, '#' motif."""
    page = np.array([[sign == "#" for sign in line] for line in drawing.split()], dtype=np.uint8)
    return Filler(name, description, np.ascontiguousarray(page[::-1, ::-1]), isolated)


_ALL = (
    _filler("sand", "single stitches in staggered rows", "..#. .... #... ....", isolated=True),
    _filler("buoys", "single stitches one above another", "..#. .... ....", isolated=True),
    _filler("rain", "short upright strokes, staggered", "..#. ..#. .... #... #... ...."),
    _filler("drizzle", "short upright strokes in every round, staggered", "..#. ..#. #... #..."),
    _filler("tide", "narrow stripes of one colour a round", "# . ."),
    _filler("cobbles", "squares of two by two, like a draughtboard", "##.. ##.. ..## ..##"),
    _filler("bricks", "courses of bricks with staggered joints", "#### ...# ...# #### .#.. .#.."),
    _filler("current", "slanting lines climbing to the left", "##... .##.. ..##. ...## #...#"),
    _filler("net", "a net of small diamonds", "##.... ..#..# ...##. ..#..#"),
    _filler("ladder", "pairs of posts with rungs between", "#..#.. #..#.. ####.."),
    _filler("ripples", "low waves in lines", "..##.. .#..#. #....# ......"),
)

FILLERS: Mapping[str, Filler] = MappingProxyType({filler.name: filler for filler in _ALL})
"""Every filler by name, in the order they are shown."""


def find_filler(name: str) -> Filler:
    """The filler of that name; raises SettingError naming those there are."""
    if name not in FILLERS:
        raise SettingError(message("no-such-filler", name=name[:40], known=tuple(FILLERS)))
    return FILLERS[name]


def fit(name: str, stitches: int) -> tuple[int, int]:
    """The nearest stitch counts, not above and not below `stitches`, that the pattern divides.

    The first is never below one repeat. Both equal `stitches` when it fits already.
    """
    width = find_filler(name).width
    return max(width, stitches // width * width), max(width, -(-stitches // width) * width)


def fill(name: str, rounds: int, stitches: int, offset: tuple[int, int] = (0, 0)) -> Bits:
    """The pattern over a whole chart: uint8 [rounds, stitches], 0 background, 1 motif.

    `offset`: (rounds, stitches) by which the pattern is moved on. Where the stitch count cuts a
    repeat short, a float across the join could pass MAX_FLOAT: it is broken with one stitch, set
    beside others of its colour where there are any. Every round keeps to the limit on the circle.
    """
    tile = find_filler(name).tile
    up = (np.arange(rounds) + offset[0]) % tile.shape[0]
    across = (np.arange(stitches) + offset[1]) % tile.shape[1]
    filled = tile[np.ix_(up, across)]
    for line in range(rounds):
        _mend_join(filled, line)
    return filled


def _mend_join(filled: Bits, line: int) -> None:
    """Break the float that runs across the join of one round, if it is too long."""
    row = filled[line]
    changes = np.flatnonzero(row != row[0])
    if changes.size == 0:
        return
    before, after = len(row) - 1 - int(changes[-1]), int(changes[0])
    if row[0] != row[-1] or before + after <= MAX_FLOAT:
        return
    places = [place for place in range(-before, after) if _keeps_limit(row, place)]
    best = min(places, key=lambda place: (_alone(filled, line, place), abs(place + 0.5)))
    row[best] = 1 - row[best]


def _keeps_limit(row: Bits, place: int) -> bool:
    """Whether the round keeps to MAX_FLOAT once the stitch at `place` changes colour."""
    changed = row.copy()
    changed[place] = 1 - changed[place]
    edges = np.flatnonzero(changed != np.roll(changed, 1))
    runs = np.diff(edges, append=edges[0] + len(row))
    return bool(runs.max() <= MAX_FLOAT)


def _alone(filled: Bits, line: int, place: int) -> bool:
    """Whether the stitch at `place`, changed, would have none of its colour around it."""
    columns = [(place + step) % filled.shape[1] for step in (-1, 0, 1)]
    around = filled[max(0, line - 1) : line + 2, columns]
    return not bool((around == 1 - filled[line, place]).any())
