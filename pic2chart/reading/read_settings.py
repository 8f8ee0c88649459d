"""What may be asked when a photographed chart is read, as data; flags and forms are made from it."""

from __future__ import annotations

from dataclasses import Field, dataclass, field, fields
from typing import Any

from pic2chart.settings import MAX_SIDE, MAX_YARNS, Settings, check_option, option

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
        for f in fields(self):
            check_option(f.name, getattr(self, f.name), f.metadata)

    @property
    def chart(self) -> Settings:
        """The part of it that charts know: gauge, rules, way of working, hand and title."""
        names = ("gauge", "per_round", "float_limit", "flat", "left_handed", "title")
        return Settings(**{name: getattr(self, name) for name in names})

    def changed(self) -> dict[str, Any]:
        """The options that differ from their defaults, as plain JSON data."""
        return {f.name: v for f in fields(self) if (v := getattr(self, f.name)) != f.default}
