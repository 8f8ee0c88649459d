"""A pair of mittens."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import CUFFS, SAFE_LIMIT, GarmentOptions, Kind


@dataclass(frozen=True, slots=True)
class MittenOptions(GarmentOptions):
    """A pair of mittens with pointed tops."""

    size: str = option(
        "7",
        "Glove size 6 to 11 (EN 420), woman or man, or a child's age: newborn, 6mo, 12mo, 1-2y to "
        "12-14y.",
        example="8",
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
    cuff: float | None = option(
        None,
        "Height of the ribbed cuff; when left out, about a third of the hand's length.",
        unit="cm",
        low=1,
        high=25,
        kind=float,
    )
    cuff_style: str = option(
        "ribbed",
        "The cuff: ribbed in one yarn, corrugated in two (less elastic), or ribbed with a lining.",
        choices=CUFFS,
    )
    thumb: str | None = option(
        None,
        "Thumb: opened on waste yarn, with a gusset, or none; when left out, opened, and none for "
        "babies under two.",
        choices=("slit", "gusset", "none"),
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
    example="cat.jpg {option[size]:7} {option[thumb]:gusset}",
    labels={
        "cuff_style": "How the cuff is worked",
        "repeat": "Repeat the picture side by side",
        "left_motif": "Picture on the left hand",
        "place": "How the picture lies",
    },
    float_limit=SAFE_LIMIT,
    snags=True,
    sizes="pic2chart.garment.sizes:HANDS",
)
