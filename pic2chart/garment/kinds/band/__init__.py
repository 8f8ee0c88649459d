"""A band: a tube with ribbing at both edges."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import Kind, TubeOptions


@dataclass(frozen=True, slots=True)
class BandOptions(TubeOptions):
    """A tube: headband, cowl or cuff."""

    size: str = option(
        "adult",
        "Head size (newborn to 12mo, 2y, child, 6y to 14y, woman, man, adult or large), or for a cuff "
        "the hand's: glove size 6 to 11, or a child's age, 1-2y to 12-14y.",
        example="child",
    )
    girth: float | None = option(
        None, "Round the body where it is worn.", unit="cm", low=8, high=200, kind=float
    )
    height: float = option(
        11.0, "Height of the patterned part.", unit="cm", low=2, high=120, kind=float
    )
    ease: float = option(
        -2.0,
        "Ease, per cent of the girth; below 0 it stretches.",
        unit="%",
        low=-25,
        high=60,
        kind=float,
    )
    edge: float = option(
        2.0, "Height of the ribbing at each edge.", unit="cm", low=0.5, high=10, kind=float
    )


KIND = Kind(
    name="band",
    description="a tube: headband, cowl or cuff",
    noun="band",
    options=BandOptions,
    maker=f"{__name__}.drawing:draw_band",
    example="waves.png {option[repeat]} {option[girth]:56}",
    labels={
        "repeat": "Repeat the picture side by side",
    },
    sizes="pic2chart.garment.sizes:HEADS",
)
