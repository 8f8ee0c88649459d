"""What one document is of: a garment with its pieces and pattern, or a single chart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pic2chart.model.chart import Chart
from pic2chart.model.construction import StepSection
from pic2chart.sheets.marks.page import Point, Sheet


@dataclass(frozen=True, slots=True)
class Item:
    """One piece: its name ('right-hand'; empty where it is the whole thing), its chart, the name of
    its files without their endings.
    """

    name: str
    chart: Chart
    stem: str


@dataclass(frozen=True, slots=True)
class FlatShape:
    """A line round a part of a view, points in cm, x to the right and y upwards; `rib`: of ribbing."""

    points: tuple[Point, ...]
    rib: bool = False


@dataclass(frozen=True, slots=True)
class FlatView:
    """One side of a thing laid flat: its caption, what it measures, and the lines of its parts."""

    caption: str
    facts: tuple[str, ...]
    shapes: tuple[FlatShape, ...]


@dataclass(frozen=True, slots=True)
class Thing:
    """`sections`: the written pattern, empty where there is none. `picture`: the thing as knitted,
    drawn, or the PNG that was drawn of it before; None where only the fabric can be shown.
    """

    title: str
    stem: str
    items: tuple[Item, ...]
    sections: tuple[StepSection, ...] = ()
    views: tuple[FlatView, ...] = ()
    picture: Sheet | bytes | None = None

    @property
    def charts(self) -> tuple[Chart, ...]:
        return tuple(item.chart for item in self.items)

    @property
    def main(self) -> Chart:
        """The first piece's chart."""
        return self.items[0].chart

    def with_charts(self, charts: Sequence[Chart]) -> Thing:
        """The thing with other charts for its pieces, in their order."""
        items = tuple(
            replace(item, chart=chart) for item, chart in zip(self.items, charts, strict=True)
        )
        return replace(self, items=items)


def thing_of_chart(chart: Chart, stem: str) -> Thing:
    """A single chart as a thing of its own, with the pattern that it carries."""
    return Thing(chart.title, stem, (Item("", chart, stem),), chart.construction.steps)


def thing_of_pieces(items: Sequence[Item], stem: str) -> Thing:
    """Pieces that carry one pattern, without the picture of the whole."""
    sections = max((item.chart.construction.steps for item in items), key=len)
    titles = [item.chart.title for item in items]
    same = 0
    while all(title[: same + 1] == titles[0][: same + 1] and same < len(title) for title in titles):
        same += 1
    return Thing(titles[0][:same].rstrip(" :·-") or titles[0], stem, tuple(items), sections)
