"""The options of measuring a swatch and of reading a photographed chart, as data.

Flags and forms are made from them.
"""

from __future__ import annotations

from dataclasses import Field, dataclass, field, fields
from typing import Any

from pic2chart.core.errors import SettingError
from pic2chart.core.settings import MAX_SIDE, MAX_YARNS, Settings, check_options, option


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
        check_options(self)
        if (self.between is None) != (self.cm is None):
            raise SettingError("--between and --cm belong together: two points and their distance.")
        if self.card is not None and self.between is not None:
            raise SettingError("--card and --between are both given; the scale needs only one.")


_KNOWN: dict[str, Field[Any]] = {f.name: f for f in fields(Settings)}


def _same(name: str) -> Any:
    """The option of that name as charts have it."""
    return field(default=_KNOWN[name].default, metadata=_KNOWN[name].metadata)


@dataclass(frozen=True, slots=True)
class ReadSettings:
    """How a photographed chart is read. Raises SettingError naming the option."""

    corners: str | None = option(
        None,
        "The chart's corners in the photo when they are not found: x,y of the top left one, then "
        "clockwise, in pixels.",
        example="102,80,1410,95,1392,1180,88,1160",
    )
    stitches: int | None = option(
        None, "Squares across, when known.", unit="squares", low=2, high=MAX_SIDE, kind=int
    )
    rounds: int | None = option(
        None, "Squares up, when known.", unit="squares", low=2, high=MAX_SIDE, kind=int
    )
    yarns: int | None = option(
        None, "Yarns in the chart, when known.", unit="yarns", low=1, high=MAX_YARNS, kind=int
    )
    gauge: str = _same("gauge")
    per_round: int = _same("per_round")
    float_limit: int = _same("float_limit")
    flat: bool = _same("flat")
    left_handed: bool = _same("left_handed")
    title: str | None = _same("title")

    def __post_init__(self) -> None:
        check_options(self)

    @property
    def chart(self) -> Settings:
        """The part of it that charts know: gauge, rules, way of working, hand and title."""
        names = ("gauge", "per_round", "float_limit", "flat", "left_handed", "title")
        return Settings(**{name: getattr(self, name) for name in names})

    def changed(self) -> dict[str, Any]:
        """The options that differ from their defaults, as plain JSON data."""
        return {f.name: v for f in fields(self) if (v := getattr(self, f.name)) != f.default}
