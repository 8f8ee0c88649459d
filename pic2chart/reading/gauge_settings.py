"""What may be asked when a swatch is measured, as data; flags and forms are made from it."""

from __future__ import annotations

from dataclasses import dataclass, fields

from pic2chart.errors import SettingError
from pic2chart.settings import check_option, option


@dataclass(frozen=True, slots=True)
class GaugeSettings:
    """Where the scale of a swatch photo comes from. Raises SettingError naming the option.

    With neither `card` nor `between`, a card is looked for.
    """

    card: str | None = option(
        None,
        "The card's corners in the photo when it is not found: x,y of four, clockwise from the "
        "left end of a long side, in pixels, where the straight edges would meet.",
        example="1210,300,1720,330,1700,655,1195,620",
    )
    between: str | None = option(
        None,
        "Two points of known distance instead of a card, x,y,x,y in pixels, such as two marks of a "
        "ruler; the photo must then be taken straight from above.",
        example="200,900,1400,905",
    )
    cm: float | None = option(
        None, "The distance between those points.", unit="cm", low=1.0, high=100.0, kind=float
    )

    def __post_init__(self) -> None:
        for f in fields(self):
            check_option(f.name, getattr(self, f.name), f.metadata)
        if (self.between is None) != (self.cm is None):
            raise SettingError("--between and --cm belong together: two points and their distance.")
        if self.card is not None and self.between is not None:
            raise SettingError("--card and --between are both given; the scale needs only one.")
