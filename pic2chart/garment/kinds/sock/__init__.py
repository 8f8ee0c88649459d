"""A pair of socks, worked from the cuff down."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import CUFFS, Kind, TubeOptions

SOCK_LIMIT = 3
"""Longest loose strand, in stitches, where toes go through (common practice: every three to four)."""


@dataclass(frozen=True, slots=True)
class SockOptions(TubeOptions):
    """A pair of socks with the motif on the legs, heels and feet in one yarn."""

    size: str = option(
        "woman",
        "Foot size: woman, man, an EU shoe size (20 to 46, even), or a child's age, 1y to 12y.",
        example="28",
    )
    girth: float | None = option(
        None, "Round the ball of the foot.", unit="cm", low=9, high=40, kind=float
    )
    length: float | None = option(
        None, "Heel to the longest toe.", unit="cm", low=9, high=36, kind=float
    )
    ease: float = option(
        -5.0,
        "Ease, per cent of the foot's girth (stranded: about -5).",
        unit="%",
        low=-20,
        high=20,
        kind=float,
    )
    leg: float | None = option(
        None,
        "Height of the patterned leg; when left out, half the foot's length, or as much more as its "
        "bands need, up to the whole.",
        unit="cm",
        low=3,
        high=50,
        kind=float,
    )
    cuff: float | None = option(
        None,
        "Height of the ribbed cuff; when left out, a sixth of the foot's length.",
        unit="cm",
        low=1,
        high=15,
        kind=float,
    )
    cuff_style: str = option(
        "ribbed",
        "The cuff: ribbed in one yarn, corrugated in two (less elastic), or ribbed with a lining.",
        choices=CUFFS,
    )
    left_motif: str = option(
        "mirrored",
        "Picture on the left sock: mirrored, or the same way round (words, numbers).",
        choices=("mirrored", "same"),
    )


KIND = Kind(
    name="sock",
    description="a pair of socks, cuff down, motif on the legs",
    noun="socks",
    options=SockOptions,
    maker=f"{__name__}.drawing:draw_sock",
    example="waves.png {option[repeat]} {option[size]:38}",
    labels={
        "cuff_style": "How the cuff is worked",
        "repeat": "Repeat the picture side by side",
        "left_motif": "Picture on the left leg",
    },
    float_limit=SOCK_LIMIT,
    snags=True,
    safe_limit=SOCK_LIMIT,
    sizes="pic2chart.garment.sizes:FEET",
)
