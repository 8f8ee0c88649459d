"""A hat: ribbed brim, body, and a crown of wedges."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import CUFFS, GarmentOptions, Kind


@dataclass(frozen=True, slots=True)
class HatOptions(GarmentOptions):
    """A hat with a crown of wedges."""

    size: str = option(
        "adult",
        "Head size: newborn, 3mo, 6mo, 12mo, 2y, child (4 years), 6y to 14y, woman, man, adult or "
        "large.",
        example="child",
    )
    girth: float | None = option(
        None, "Round the head above the ears.", unit="cm", low=25, high=80, kind=float
    )
    depth: float | None = option(
        None, "From the crown to the base of the ear.", unit="cm", low=8, high=40, kind=float
    )
    ease: float = option(
        -2.0,
        "Ease, per cent of the girth (stranded: 0 to -4).",
        unit="%",
        low=-20,
        high=20,
        kind=float,
    )
    brim: float | None = option(
        None,
        "Height of the ribbed brim; when left out, 4 cm for a grown-up's head and less for a smaller one.",
        unit="cm",
        low=1,
        high=15,
        kind=float,
    )
    brim_style: str = option(
        "ribbed",
        "The brim: ribbed in one yarn, corrugated in two (less elastic), or ribbed with a lining.",
        choices=CUFFS,
    )
    crown: str = option(
        "paired",
        "The crown's decreases: in pairs beside a spine, or centred double ones on it.",
        choices=("paired", "centred"),
    )
    repeat: bool = option(False, "Set the picture side by side all round, not once.", kind=bool)


KIND = Kind(
    name="hat",
    description="a hat with a ribbed brim and a crown of wedges",
    noun="hat",
    options=HatOptions,
    maker=f"{__name__}.drawing:draw_hat",
    example="dog.png {option[size]:adult} {option[gauge]:28x31}",
    labels={
        "brim_style": "How the brim is worked",
        "repeat": "Repeat the picture side by side",
    },
    first=True,
    sizes="pic2chart.garment.sizes:HEADS",
)
