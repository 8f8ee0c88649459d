"""A jumper with a round yoke."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import ChestOptions, Kind


@dataclass(frozen=True, slots=True)
class YokeOptions(ChestOptions):
    """The round yoke of a jumper, worked up from the body."""

    ease_cm: float = option(
        8.0, "Ease at the chest (5 to 10 is usual).", unit="cm", low=-5, high=40, kind=float
    )
    body_length: float | None = option(
        None,
        "Length of the body below the yoke; when left out, two fifths of the chest, 38 at the most.",
        unit="cm",
        low=8,
        high=90,
        kind=float,
    )
    sleeve_length: float | None = option(
        None,
        "Length of the sleeve to the underarm; when left out, as arms are at such a chest.",
        unit="cm",
        low=8,
        high=80,
        kind=float,
    )


KIND = Kind(
    name="yoke",
    description="the round yoke of a jumper",
    noun="round yoke",
    options=YokeOptions,
    maker=f"{__name__}.drawing:draw_yoke",
    example="gull.png {option[size]:woman-m}",
    labels={
        "head": "Round the head",
        "ease_cm": "Ease",
    },
    sizes="pic2chart.garment.chests:CHESTS",
)
