"""A pair of mittens."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import SAFE_LIMIT, GarmentOptions, Kind


@dataclass(frozen=True, slots=True)
class MittenOptions(GarmentOptions):
    """A pair of mittens with pointed tops."""

    size: str = option(
        "7", "Glove size 6 to 11 (EN 420), or a child's age: 1-2y to 10-12y.", example="8"
    )
    girth: float | None = option(
        None, "Round the knuckles without the thumb.", unit="cm", low=8, high=40, kind=float
    )
    length: float | None = option(
        None, "Wrist to tip of the middle finger.", unit="cm", low=5, high=30, kind=float
    )
    ease: float = option(
        10.0, "Ease, per cent of the hand's girth.", unit="%", low=-5, high=40, kind=float
    )
    cuff: float = option(6.0, "Height of the ribbed cuff.", unit="cm", low=1, high=25, kind=float)
    thumb: str = option(
        "slit", "Thumb: opened on waste yarn, or with a gusset.", choices=("slit", "gusset")
    )
    left_motif: str = option(
        "mirrored",
        "Picture on the left mitten: mirrored, or the same way round (words, numbers).",
        choices=("mirrored", "same"),
    )
    repeat: bool = option(
        False, "Set the picture side by side over the whole back, not once.", kind=bool
    )
    place: str | None = option(
        None,
        "Let the picture fill the back of the hand, or fit whole into it with a filler round it; "
        "when left out, it fills if its subject is not marked and little of it would be cut off.",
        choices=("fill", "fit"),
    )


KIND = Kind(
    name="mitten",
    description="a pair of mittens with thumbs and pointed tops",
    noun="mittens",
    options=MittenOptions,
    maker=f"{__name__}.drawing:draw_mitten",
    example="cat.jpg --size 7 --thumb gusset",
    labels={
        "repeat": "Set it side by side",
        "left_motif": "Picture on the left hand",
        "place": "How the picture lies",
    },
    float_limit=SAFE_LIMIT,
    snags=True,
)
