"""A cowl: a tube, or a doubled one whose strands lie inside."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import Kind, TubeOptions


@dataclass(frozen=True, slots=True)
class CowlOptions(TubeOptions):
    """A tube for the neck, which goes over the head."""

    size: str = option(
        "adult",
        "Head it goes over: newborn, 3mo, 6mo, 12mo, 2y, child (4 years), 6y to 14y, woman, man, "
        "adult or large.",
        example="child",
    )
    girth: float | None = option(
        None, "Round the head above the ears.", unit="cm", low=25, high=120, kind=float
    )
    height: float = option(
        24.0, "Height of the patterned part.", unit="cm", low=4, high=80, kind=float
    )
    ease: float = option(
        8.0, "Ease, per cent of the head's girth.", unit="%", low=-5, high=150, kind=float
    )
    edge: float = option(
        2.0, "Height of the ribbing at each edge.", unit="cm", low=0.5, high=10, kind=float
    )
    doubled: bool = option(
        False, "Line it: a plain tube as high, folded in and grafted to it.", kind=bool
    )


KIND = Kind(
    name="cowl",
    description="a cowl, single or lined",
    noun="cowl",
    options=CowlOptions,
    maker=f"{__name__}.drawing:draw_cowl",
    example="kelp.png {option[repeat]} {option[doubled]}",
    labels={"repeat": "Repeat the picture side by side", "doubled": "Line it"},
    sizes="pic2chart.garment.sizes:HEADS",
)
