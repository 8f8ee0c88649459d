"""The sheet of colourways: one chart in the pairs of a shelf, in colour and in grey, with verdicts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.folds import Unit, folds_of
from pic2chart.model.wording import many
from pic2chart.model.yarn import Yarn, yarn_lab
from pic2chart.sheets.fabric.front import fabric_front
from pic2chart.sheets.fabric.swatches import BADGES, in_grey, printed_name
from pic2chart.sheets.marks.page import Boxes, Label, Mark, Raster, Sheet, Style, clean, fit
from pic2chart.sheets.marks.paper import EDGE, FOOT, page_size
from pic2chart.sheets.sheet_settings import SheetLook
from pic2chart.yarns.pairs import Pair, measure_pairs

MOST = 12
"""Colourways on the sheet."""
_AGAIN = 3
"""How often one yarn of the shelf comes, where there are enough others."""
_ACROSS = 48
"""Stitches of a repeat that are shown, about."""
_PX_PER_MM = 8.0
_TITLE, _NAME, _VERDICT = 5.0, 3.1, 2.9
_GAP = 4.0


def colourways_sheet(chart: Chart, shelf: Sequence[Yarn], paper: str, look: SheetLook) -> Sheet:
    """The chart in up to 12 pairs of the shelf's yarns, the best first, no yarn more than three times
    where others do. The lighter yarn of a pair takes the place of the chart's lighter one.

    Raises SettingError for a chart that does not have two yarns, or a shelf of fewer.
    """
    if len(chart.yarns) != 2:
        raise SettingError(
            message("colourways-need-two", yarns=len(chart.yarns), options=("shelf",))
        )
    if len(shelf) < 2:
        raise SettingError(message("colourways-shelf-small", options=("shelf",)))
    pairs = chosen_pairs(chart, shelf)
    size = page_size(paper, on_side=False)
    shown = _shown(chart)
    title = _TITLE * min(look.scale, 1.4)
    head = f"{clean(chart.title)} · colourways" if look.words else clean(chart.title)
    marks: list[Mark] = [
        Label(
            (EDGE, EDGE + 0.8 * title),
            fit(head, title, size[0] - 2 * EDGE, bold=True),
            title,
            bold=True,
            name="title",
        )
    ]
    top = EDGE + title + 4.0
    room = (size[0] - 2 * EDGE, size[1] - EDGE - FOOT - top)
    ways = [_Cards(shown, look, len(pairs), c, room, stack) for c in (2, 3) for stack in (0, 1)]
    cards = max(ways[: 2 if look.scale > 1 else 4], key=lambda way: way.scale)
    for n, pair in enumerate(pairs):
        marks += cards.marks(pair, n, (EDGE, top))
    words = f"{many(len(pairs), 'colourway')}, each in colour and in grey."
    return Sheet(*size, clean(chart.title), words, tuple(marks))


def chosen_pairs(chart: Chart, shelf: Sequence[Yarn]) -> tuple[Pair, ...]:
    """The best pairs of a shelf, at most 12, for the chart's gauge and rules."""
    measured = measure_pairs(shelf, chart.rules.min_delta_L, chart.gauge.stitch_width / 100)
    used: Counter[int] = Counter()
    first: list[int] = []
    for place, (a, b) in enumerate(zip(measured.first, measured.second, strict=True)):
        if used[int(a)] < _AGAIN and used[int(b)] < _AGAIN:
            used.update((int(a), int(b)))
            first.append(place)
        if len(first) == MOST:
            break
    rest = [place for place in range(len(measured)) if place not in set(first)]
    kept = sorted([*first, *rest[: MOST - len(first)]])
    return measured.where(np.array(kept, int)).rows()


def _shown(chart: Chart) -> Chart:
    """The part of a chart that a card shows: of repeats a few, of places the one with the picture."""
    units = folds_of(chart)
    places = {place.name: place for place in chart.construction.places}
    place = places.get("picture") or places.get("back")
    if units:
        unit = max(units, key=lambda u: (_is_pattern(_squares(chart, u)), u.rounds))
        times = max(1, min(unit.times, round(_ACROSS / unit.count)))
        squares = np.tile(_squares(chart, unit), (1, times))
    elif place is not None:
        squares = chart.stitches[:, max(0, place.stitch) : place.past]
    else:
        squares = chart.stitches
    if not (squares != NO_STITCH).any():
        squares = chart.stitches
    return Chart(squares, chart.yarns, chart.gauge, chart.title, hand=chart.hand)


def _is_pattern(squares: NDArray[np.uint8]) -> bool:
    """Whether squares hold a stitch each, of more than one yarn."""
    return len(np.unique(squares)) > 1 and NO_STITCH not in squares


def _squares(chart: Chart, unit: Unit) -> NDArray[np.uint8]:
    rounds = slice(unit.round, unit.round + unit.rounds)
    return chart.stitches[rounds, unit.stitch : unit.stitch + unit.count]


@dataclass(frozen=True, slots=True)
class _Cards:
    """Cards in so many columns of a room, mm; colour over grey where `stacked`, else side by side."""

    chart: Chart
    look: SheetLook
    count: int
    columns: int
    room: tuple[float, float]
    stacked: int

    @property
    def cell(self) -> tuple[float, float]:
        """Width and height of a card."""
        lines = -(-self.count // self.columns)
        wide = (self.room[0] - (self.columns - 1) * _GAP) / self.columns
        return wide, self.room[1] / lines - _GAP

    @property
    def words(self) -> float:
        return (1.5 * _NAME + 1.4 * _VERDICT) * self.look.scale

    @property
    def scale(self) -> float:
        """Millimetres a centimetre of the fabric."""
        w, h = self.chart.gauge.size_cm(self.chart.stitch_count, self.chart.round_count)
        wide, high = self.cell[0], self.cell[1] - self.words
        across, up = (1, 2) if self.stacked else (2, 1)
        return min((wide - 1.5 * (across - 1)) / across / w, (high - 1.5 * (up - 1)) / up / h)

    def marks(self, pair: Pair, number: int, corner: tuple[float, float]) -> list[Mark]:
        """The fabric in colour and in grey, the names, the verdict."""
        size, small = _NAME * self.look.scale, _VERDICT * self.look.scale
        wide, high = self.cell
        left = corner[0] + number % self.columns * (wide + _GAP)
        top = corner[1] + number // self.columns * (high + _GAP)
        w, h = self.chart.gauge.size_cm(self.chart.stitch_count, self.chart.round_count)
        drawn = (w * self.scale, h * self.scale)
        step = (0.0, drawn[1] + 1.5) if self.stacked else (drawn[0] + 1.5, 0.0)
        left += (wide - drawn[0] - step[0]) / 2
        names = f"{printed_name(pair.first)} + {printed_name(pair.second)}"
        px = max(2, min(16, round(drawn[0] * _PX_PER_MM / self.chart.stitch_count)))
        marks: list[Mark] = []
        for n, (kind, yarns) in enumerate(_dressed(self.chart, pair)):
            place = (left + n * step[0], top + n * step[1], *drawn)
            png = fabric_front(self.chart.with_(yarns=yarns), stitch_px=px)
            marks.append(Raster(place, png, f"{names} in {kind}", f"colourway {kind}"))
        foot, room = top + step[1] + drawn[1] + 1.4 * size, drawn[0] + step[0]
        text = fit(names, size, room, bold=True)
        marks.append(Label((left, foot), text, size, bold=True, name="name"))
        foot += 1.4 * small
        verdict, colour = BADGES[pair.verdict]
        apart = f"L* {pair.delta_L:.0f}"
        said = f"{verdict.lower()} · {apart} apart" if self.look.words else apart
        side = 0.8 * small
        marks.append(Boxes(((left, foot - side, side, side),), Style(fill=colour), "verdict"))
        text = fit(said, small, room - 2 * side)
        return [
            *marks,
            Label((left + 1.6 * side, foot), text, small, colour=colour, name="verdict"),
        ]


def _dressed(chart: Chart, pair: Pair) -> list[tuple[str, tuple[Yarn, Yarn]]]:
    """The pair in the chart's order of light and dark, in colour and in grey."""
    light = yarn_lab(chart.yarns)[:, 0]
    first, second = (pair.first, pair.second) if light[0] >= light[1] else (pair.second, pair.first)
    return [("colour", (first, second)), ("grey", (in_grey(first), in_grey(second)))]
