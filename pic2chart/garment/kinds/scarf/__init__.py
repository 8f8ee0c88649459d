"""A scarf: a long tube that lies double, its strands inside."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import Kind, TubeOptions


@dataclass(frozen=True, slots=True)
class ScarfOptions(TubeOptions):
    """A scarf worked as a tube, so that no strand is seen or caught."""

    width: float = option(17.0, "Width laid flat.", unit="cm", low=6, high=60, kind=float)
    length: float = option(
        150.0, "Length without the edges.", unit="cm", low=30, high=280, kind=float
    )
    edge: float = option(
        3.0, "Height of the ribbing at each end.", unit="cm", low=0.5, high=10, kind=float
    )


KIND = Kind(
    name="scarf",
    description="a scarf worked as a tube",
    noun="scarf",
    options=ScarfOptions,
    maker=f"{__name__}.drawing:draw_scarf",
    example="lighthouse.png {option[width]:18} {option[length]:150}",
    labels={"repeat": "Set it all over"},
)
