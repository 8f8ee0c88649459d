"""The garments there are, in one table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pic2chart.garment.options import (
    BandOptions,
    GarmentOptions,
    HatOptions,
    MittenOptions,
    PanelOptions,
    YokeOptions,
)


@dataclass(frozen=True, slots=True)
class Kind:
    """A garment: its name, what it is, and the class of its options."""

    name: str
    description: str
    options: type[GarmentOptions]


GARMENTS: Mapping[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("band", "a tube: headband, cowl or cuff", BandOptions),
        Kind("hat", "a hat with a ribbed brim and a crown of wedges", HatOptions),
        Kind("mitten", "a pair of mittens with thumbs and pointed tops", MittenOptions),
        Kind("yoke", "the round yoke of a jumper", YokeOptions),
        Kind("panel", "a flat panel, or one with a steek", PanelOptions),
    )
}
"""Every garment by name, in the order they are shown."""
