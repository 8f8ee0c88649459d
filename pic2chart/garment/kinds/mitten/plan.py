"""The counts of a mitten, and the shape of its hand.

Common practice: the hand is the girth and 10%; the thumb is opened at 30 to 34% of the hand's
length above the cuff; without a gusset the opening takes 20% of the stitches and the thumb's round
is twice the opening and two more stitches; a gusset grows by two stitches every second or third
round to 36 to 39% of the hand's stitches; a cuff of 6 cm for a hand of 17 is in proportion for
every other; the top loses four stitches a round, two at each side of
an edge column, down to 8 to 12, which on nearly square stitches makes an edge of 45 degrees. A thumb
is about a third of the hand long (from memory). Mittens for babies have no thumb.

At most gauges a gusset that grows only every second round would reach 40% of the hand's length and
more, so that the thumb stood too high; it then grows in some rounds that follow each other, evenly
mixed, and is full at 34%.

The round begins at the little finger. Right mitten: back, then palm from the thumb's side on; the
left one is its mirror image.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.garment.cuff import Cuff
from pic2chart.garment.kinds.mitten import MittenOptions
from pic2chart.garment.shape import (
    Counts,
    Part,
    Shape,
    Sides,
    nearest_counts,
    on_columns,
    rounds_for,
    spread,
    straight,
    taper,
    up_to_tenth,
)
from pic2chart.garment.sizes import BABIES, HANDS, Body, body_of, in_half_cm
from pic2chart.model.construction import CAST_ON, HOLD, Opening, Shaping
from pic2chart.model.gauge import Gauge

LENGTH_EASE = 0.05
"""Length of the mitten over the hand's (from memory: half to one cm)."""
OPENING, LATEST, SLIT, GUSSET, THUMB = 0.32, 0.34, 0.20, 0.37, 1 / 3
FEWEST = 24
"""Stitches of the smallest hand whose thumb can be worked."""
FEWEST_BARE = 16
"""Stitches of the smallest hand without a thumb."""
CUFF, CUFF_CM = 0.35, (2.0, 8.0)
"""Height of the cuff over the hand's length, and its bounds in cm."""
_OVER_THUMB = 4
"""Fewest rounds between the thumb's opening and the top."""
_SQUARE = 0.8
"""Stitches flatter than this (height over width) get a top of more rounds, to keep it pointed."""


@dataclass(frozen=True, slots=True)
class MittenPlan:
    """All counts of a mitten. Rounds count from 0 at the first round above the cuff.

    `opening`: the round whose thumb stitches are opened later (slit), or the first round after the
    gusset. `slit` is 0 with a gusset, `gusset` 0 with a slit, both without a thumb. `grows`: the rounds in which the gusset
    gets two stitches more. `top`: the decreases of each round.
    """

    body: Body
    counts: Counts
    cuff: int
    straight: int
    top: tuple[Sides, ...]
    opening: int
    slit: int
    gusset: int
    grows: tuple[int, ...]
    thumb_rounds: int
    style: str = "ribbed"

    @property
    def ribbing(self) -> Cuff:
        """The cuff."""
        return Cuff(self.style, self.counts.stitches, self.cuff)

    @property
    def thumbed(self) -> bool:
        """Whether it has a thumb."""
        return bool(self.slit or self.gusset)

    @property
    def half(self) -> int:
        """Stitches of the back, and of the palm."""
        return self.counts.stitches // 2

    @property
    def rounds(self) -> int:
        return self.straight + len(self.top)

    @property
    def last(self) -> int:
        """Stitches left at the tip."""
        return 2 * (self.half - 2 * sum(right for right, _ in self.top))

    @property
    def slit_place(self) -> int:
        """Palm stitch (from 0 at the thumb's side) where the opening begins, or the gusset stands."""
        return 2

    @property
    def width(self) -> int:
        """Squares across the chart of the right hand."""
        return 2 * self.half + max(0, self.gusset - 1)

    @property
    def gusset_middle(self) -> int:
        """The square in the middle of the gusset, which always holds a stitch."""
        return self.half + self.slit_place + (self.gusset - 1) // 2

    def palm_columns(self, r: int = 0) -> list[int]:
        """The squares of the palm's stitches in a round, from the thumb's side on.

        Beside a gusset two of them lie at its other side; above it they lie together.
        """
        extra = max(0, self.gusset - 1)
        if r > self.opening:
            return [self.half + extra + j for j in range(self.half)]
        apart = self.slit_place
        shifts = [0] * apart + [extra // 2] + [extra] * (self.half - apart - 1)
        return [self.half + j + shift for j, shift in enumerate(shifts)]

    def gusset_stitches(self, r: int) -> int:
        """Stitches of the gusset in a round (one when it has not begun, or is set aside)."""
        if not self.gusset or r >= self.opening:
            return 1
        return 1 + 2 * sum(grown <= r for grown in self.grows)

    def shape(self) -> Shape:
        """The right hand: straight, thumb, then the top."""
        low = self.opening + 1
        around = np.ones(2 * self.half, bool)
        parts = [Part(self.half, 1, 1)] * 2
        upper = straight(self.straight - low, around).followed_by(taper(parts, self.top))
        pieces = [(straight(low, around), 0), (upper, low)]
        placed = [
            on_columns(piece, [*range(self.half), *self.palm_columns(first)], self.width)
            for piece, first in pieces
        ]
        hand = placed[0].followed_by(placed[1])
        return self._with_gusset(hand) if self.gusset else hand

    def _with_gusset(self, hand: Shape) -> Shape:
        live, shaping = hand.live.copy(), list(hand.shaping)
        for r in range(self.opening):
            reach = self.gusset_stitches(r) // 2
            low, high = self.gusset_middle - reach, self.gusset_middle + reach
            live[r, low : high + 1] = True
            if r in self.grows:
                shaping.append(Shaping(r, low, "increase-right"))
                shaping.append(Shaping(r, high, "increase-left"))
        first = self.gusset_middle - self.gusset // 2
        shaping.append(Shaping(self.opening, first, HOLD, self.gusset))
        shaping.append(Shaping(self.opening, self.gusset_middle, CAST_ON, 1))
        return Shape(live, tuple(sorted(shaping)))

    def opened(self) -> Opening | None:
        """Where waste yarn is knitted in, on the right hand."""
        if not self.slit:
            return None
        return Opening(self.opening, self.half + self.slit_place, self.slit)


def plan_mitten(options: MittenOptions, gauge: Gauge) -> MittenPlan:
    """All counts for the hand asked for. Raises SettingError when no mitten can be made of them."""
    body = body_of(HANDS, options.size, options.girth, options.length, options.for_child)
    thumb = options.thumb or ("none" if options.size in BABIES and body.name else "slit")
    bare = thumb == "none"
    counts = nearest_counts(
        body.eased(options.ease),
        gauge,
        lambda n: n % 2 == 0,
        "even and enough for a hand" if bare else "even and enough for a thumb",
        FEWEST_BARE if bare else FEWEST,
        "a finer gauge",
    )
    top = top_sides(counts.stitches // 2, gauge)
    gusset = 2 * round((GUSSET * counts.stitches - 1) / 2) + 1 if thumb == "gusset" else 0
    opening, above, grows = _heights(body.length, len(top), gusset, gauge)
    if above < opening + _OVER_THUMB:
        raise SettingError(
            message(
                "hand-too-short",
                long=body.length,
                top=len(top),
                stitches=counts.stitches,
                least=_least_length(body.length, len(top), gusset, gauge),
                options=("length",),
            )
        )
    return MittenPlan(
        body,
        counts,
        rounds_for(options.cuff or in_half_cm(CUFF * body.length, *CUFF_CM), gauge),
        above,
        top,
        opening,
        int(SLIT * counts.stitches) if thumb == "slit" else 0,
        gusset,
        grows,
        rounds_for(body.length * THUMB, gauge, 8),
        options.cuff_style,
    )


def _heights(
    length: float, top: int, gusset: int, gauge: Gauge
) -> tuple[int, int, tuple[int, ...]]:
    """For a hand of `length` cm and a top of so many rounds: the round in which the thumb is opened,
    the rounds below the top, and those in which a gusset of so many stitches grows.
    """
    hand = rounds_for(length, gauge)
    opening = max(2, round(OPENING * hand))
    grows = gusset_rounds(gusset // 2, round(LATEST * hand))
    if gusset:
        opening = max(opening, grows[-1] + 1)
    return opening, rounds_for(length * (1 + LENGTH_EASE), gauge) - top, grows


def _least_length(length: float, top: int, gusset: int, gauge: Gauge) -> float:
    """The shortest hand, in tenths of a cm from `length` up, with room for thumb and top."""
    tenth = up_to_tenth(length)
    while True:
        opening, above, _ = _heights(tenth, top, gusset, gauge)
        if above >= opening + _OVER_THUMB:
            return tenth
        tenth = up_to_tenth(tenth + 0.1)


def top_sides(half: int, gauge: Gauge) -> tuple[Sides, ...]:
    """Decreases at both edges of both halves until 4 or 5 stitches of each are left."""
    decreases = (half - 4) // 2
    rounds = decreases
    if gauge.aspect < _SQUARE:
        rounds = round(decreases / gauge.aspect)
    return tuple((d, d) for d in spread(decreases, rounds))


def gusset_rounds(steps: int, latest: int) -> tuple[int, ...]:
    """The rounds, from 1 on, in which a gusset grows, so that it can be set aside in round `latest`:
    every third or every second round, else evenly mixed with rounds that follow each other.
    """
    for apart in (3, 2):
        if 1 + apart * (steps - 1) < latest:
            return tuple(1 + apart * i for i in range(steps))
    span = max(latest - 2, steps - 1)
    return tuple(1 + span * i // max(1, steps - 1) for i in range(steps))
