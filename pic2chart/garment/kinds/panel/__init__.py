"""A flat panel, or one worked in the round with a steek."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import GarmentOptions, Kind


@dataclass(frozen=True, slots=True)
class PanelOptions(GarmentOptions):
    """A flat panel, or one worked in the round and cut at a steek."""

    width: float = option(30.0, "Finished width.", unit="cm", low=3, high=200, kind=float)
    height: float | None = option(
        None,
        "Finished height; when left out, the picture's own shape decides.",
        unit="cm",
        low=3,
        high=200,
        kind=float,
    )
    repeat: bool = option(
        False, "Set the picture side by side and one above another, not once.", kind=bool
    )
    edges: int = option(2, "Edge stitches at each side.", unit="stitches", low=1, high=12, kind=int)
    steek: str | None = option(
        None,
        "Work it in the round with a steek to cut open: 7 stitches to crochet, 6 to sew.",
        choices=("crochet", "sewn"),
    )


KIND = Kind(
    name="panel",
    description="a flat panel, or one with a steek",
    noun="panel",
    options=PanelOptions,
    maker=f"{__name__}.drawing:draw_panel",
    example="dog.jpg {option[width]:40} {option[steek]:sewn}",
    labels={
        "repeat": "Repeat the picture side by side",
        "edges": "Edge stitches",
    },
)
