"""The contact sheet of a picture's looks or frames: every fabric, side by side, with its figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pic2chart.core.messages import PYTHON, Door
from pic2chart.model.chart import Chart
from pic2chart.model.wording import many
from pic2chart.sheets.fabric.front import fabric_front
from pic2chart.sheets.marks.page import Label, Mark, Raster, Sheet, fit, wrap

_MARGIN, _GAP, _HEAD = 10.0, 8.0, 14.0
_WIDE, _TALL = 92.0, 130.0
_LINE = 4.6
_WORDS = 5 * _LINE
_PIXELS = 460


@dataclass(frozen=True, slots=True, eq=False)
class ChoiceCard:
    """One of the choices: its name, what it is, the chart drawn so, and lines of figures."""

    name: str
    description: str
    chart: Chart
    figures: tuple[str, ...]


def contact_sheet(
    option: str, cards: Sequence[ChoiceCard], title: str, door: Door = PYTHON
) -> Sheet:
    """Cards in two columns, the fabric of each as large as fits its place, true in proportion.

    `option`: the setting they are choices of, 'look' or 'frame'. Over each stands how to ask for
    it, in the words of a door.
    """
    sizes = [_size(card.chart) for card in cards]
    rows = [sizes[first : first + 2] for first in range(0, len(sizes), 2)]
    steps = [max(tall for _, tall in row) + _WORDS + _GAP for row in rows]
    heads = f"{title} in {many(len(cards), option)}"
    marks: list[Mark] = [
        Label((_MARGIN, _MARGIN + 5), fit(heads, 5.0, 180, bold=True), 5.0, bold=True)
    ]
    for number, (card, size) in enumerate(zip(cards, sizes, strict=True)):
        left = _MARGIN + number % 2 * (_WIDE + _GAP)
        top = _MARGIN + _HEAD + sum(steps[: number // 2])
        marks += _card(card, (option, door), (left, top), size)
    names = ", ".join(card.name for card in cards)
    height = _MARGIN + _HEAD + sum(steps)
    words = f"The fabric in the {option}s {names}, each with its figures."
    return Sheet(2 * (_MARGIN + _WIDE) + _GAP, height, title, words, tuple(marks))


def _size(chart: Chart) -> tuple[float, float]:
    """Width and height of the fabric on the sheet, mm."""
    width, height = chart.gauge.size_cm(chart.stitch_count, chart.round_count)
    scale = min(_WIDE / width, _TALL / height)
    return width * scale, height * scale


def _card(
    card: ChoiceCard, named: tuple[str, Door], place: tuple[float, float], size: tuple[float, float]
) -> list[Mark]:
    """`named`: the option and the door it is asked for by; `place` and `size` of the fabric, mm."""
    (option, door), (left, top) = named, place
    pixels = min(16, max(2, round(_PIXELS / card.chart.stitch_count)))
    front = fabric_front(card.chart, stitch_px=pixels)
    base = top + size[1] + _LINE
    marks: list[Mark] = [
        Raster((left, top, *size), front, f"The fabric in the {option} {card.name}"),
        Label((left, base), door.option(option, card.name), 4.0, bold=True),
    ]
    lines = [part for line in (card.description, *card.figures) for part in wrap(line, 3.2, _WIDE)]
    for number, line in enumerate(lines, 1):
        marks.append(Label((left, base + number * _LINE), line, 3.2))
    return marks
