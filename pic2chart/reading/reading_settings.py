"""The options of measuring a swatch and of reading a photographed chart, as data.

Flags and forms are made from them.
"""

from __future__ import annotations

from dataclasses import Field, dataclass, field, fields, replace
from typing import Any

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE, MAX_YARNS, Settings, check_options, option


@dataclass(frozen=True, slots=True)
class GaugeSettings:
    """Where the scale of a swatch photo comes from. Raises SettingError naming the option.

    With none of `card`, `between`, `coin_mm` and `ruler`, a card is looked for.
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
    coin_mm: float | None = option(
        None,
        "Diameter of a coin that lies beside the swatch instead of a card, such as 23.25 for one euro; "
        "the photo must then be taken straight from above.",
        unit="mm",
        low=10.0,
        high=60.0,
        kind=float,
    )
    ruler: bool = option(
        False,
        "A millimetre ruler or tape measure lies beside the swatch instead of a card: its ticks are found, "
        "those of 5 and 10 mm being longer.",
        kind=bool,
    )
    stitches_along: str | None = option(
        None,
        "Count for yourself: two points x,y,x,y in pixels, along one row, between which you counted "
        "{option[stitches_counted]}. Works for any fabric; the rounds are counted likewise.",
        example="420,900,1380,905",
    )
    stitches_counted: float | None = option(
        None, "Stitches between those points.", unit="stitches", low=4.0, high=400.0, kind=float
    )
    rounds_along: str | None = option(
        None,
        "Two points x,y,x,y in pixels, up one column, between which you counted "
        "{option[rounds_counted]}.",
        example="800,420,805,1390",
    )
    rounds_counted: float | None = option(
        None, "Rounds between those points.", unit="rounds", low=4.0, high=400.0, kind=float
    )

    @property
    def counted(self) -> bool:
        """Whether the person counted, and not the program."""
        return self.stitches_along is not None

    def __post_init__(self) -> None:
        check_options(self)
        names = ("stitches_along", "stitches_counted", "rounds_along", "rounds_counted")
        if len({getattr(self, name) is None for name in names}) > 1:
            raise SettingError(message("counts-belong-together", options=names))
        if (self.between is None) != (self.cm is None):
            raise SettingError(message("between-needs-cm", options=("between", "cm")))
        scales = ("card", "between", "coin_mm", "ruler")
        given = [n for n in scales if getattr(self, n) not in (None, False)]
        if len(given) > 1:
            raise SettingError(message("scales-given", options=tuple(given[:2])))


_KNOWN: dict[str, Field[Any]] = {f.name: f for f in fields(Settings)}


def _same(name: str) -> Any:
    """The option of that name as charts have it."""
    return field(default=_KNOWN[name].default, metadata=_KNOWN[name].metadata)


@dataclass(frozen=True, slots=True)
class ReadSettings:
    """How a photographed chart is read. Raises SettingError naming the option."""

    fabric: bool = option(
        False,
        "The photo shows stranded fabric laid flat, right side up, and not a chart on paper: its "
        "stitches are found and sorted by yarn.",
        kind=bool,
    )
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
    yarn: tuple[str, ...] = option(
        (),
        "A yarn of the chart, name=#rrggbb; repeat for each. Each takes the squares nearest its colour.",
        example="oat=#ece2d0",
    )
    shelf: str | None = option(
        None, "A CSV file of yarns to name those of the chart from.", example="shelf.csv"
    )
    region: str | None = option(
        None,
        "Part of the photo that holds the chart: x,y,width,height in pixels.",
        example="210,340,900,1200",
    )
    turn: str = option(
        "0",
        "Degrees clockwise to turn the photo by so that the chart stands upright.",
        choices=("0", "90", "180", "270"),
    )
    gauge: str = _same("gauge")
    per_round: int = _same("per_round")
    float_limit: int = _same("float_limit")
    flat: bool = _same("flat")
    left_handed: bool = _same("left_handed")
    title: str | None = _same("title")

    def __post_init__(self) -> None:
        check_options(self)
        if self.corners is not None and self.turn != "0":
            raise SettingError(message("turn-and-corners-given", options=("turn", "corners")))
        counts = tuple(n for n in ("corners", "stitches", "rounds") if getattr(self, n) is not None)
        if self.fabric and counts:
            raise SettingError(
                message("fabric-and-counts-given", options=("fabric", *counts, "region"))
            )

    @property
    def quarters(self) -> int:
        """Quarter turns clockwise that set the chart upright."""
        return int(self.turn) // 90

    @property
    def count(self) -> int | None:
        """How many yarns there are, when that is known."""
        return self.yarns if self.yarns is not None else len(self.yarn) or None

    @property
    def in_photo(self) -> ReadSettings:
        """The same with stitches and rounds as they lie in the photo, not turned yet."""
        if self.quarters % 2 == 0:
            return self
        return replace(self, stitches=self.rounds, rounds=self.stitches)

    @property
    def chart(self) -> Settings:
        """The part of it that charts know: gauge, rules, way of working, hand and title."""
        names = ("gauge", "per_round", "float_limit", "flat", "left_handed", "title")
        return Settings(**{name: getattr(self, name) for name in names})

    def changed(self) -> dict[str, Any]:
        """The options that differ from their defaults, as plain JSON data."""
        pairs = ((f, getattr(self, f.name)) for f in fields(self))
        return {f.name: list(v) if isinstance(v, tuple) else v for f, v in pairs if v != f.default}
