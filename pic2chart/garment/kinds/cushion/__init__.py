"""A cushion cover, or with a strap a bag: a tube with a front and a back."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import GarmentOptions, Kind


@dataclass(frozen=True, slots=True)
class CushionOptions(GarmentOptions):
    """A cover for a pad, or a bag, worked round without side seams."""

    width: float = option(
        40.0, "Width of the pad, or of the bag.", unit="cm", low=10, high=90, kind=float
    )
    height: float | None = option(
        None,
        "Height of the pad, or of the bag; when left out, as its width.",
        unit="cm",
        low=10,
        high=90,
        kind=float,
    )
    back: str = option(
        "motif", "The back: the picture again, or the filler.", choices=("motif", "filler")
    )
    strap: float | None = option(
        None, "Make it a bag with a strap of that length.", unit="cm", low=20, high=180, kind=float
    )


KIND = Kind(
    name="cushion",
    description="a cushion cover, or a bag with a strap",
    noun="cushion",
    options=CushionOptions,
    maker=f"{__name__}.drawing:draw_cushion",
    example="dog.jpg {option[width]:40} {option[back]:filler}",
    labels={"back": "The back", "strap": "Strap, for a bag"},
)
