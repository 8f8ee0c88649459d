"""A pair of wristlets, wider at the arm: an invented kind that the tests add to the table."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import SAFE_LIMIT, GarmentOptions, Kind


@dataclass(frozen=True, slots=True)
class WristletOptions(GarmentOptions):
    """A pair of wristlets."""

    size: str = option(
        "7", "Glove size 6 to 11, or a child's age: 1-2y to 10-12y.", example="8-10y"
    )
    height: float = option(
        13.0, "Height of the patterned part.", unit="cm", low=4, high=40, kind=float
    )
    flare: float = option(
        20.0, "How much wider it is at the arm.", unit="%", low=0, high=60, kind=float
    )


KIND = Kind(
    name="wristlet",
    description="a pair of wristlets, wider at the arm",
    noun="wristlets",
    options=WristletOptions,
    maker=f"{__name__}.drawing:draw_wristlet",
    example="dog.png --size 8 --flare 15",
    labels={"flare": "Wider at the arm by"},
    float_limit=SAFE_LIMIT,
    snags=True,
)
