"""The contact sheet of the looks: the fabric in every look, side by side, with its figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pic2chart.design.looks import Look
from pic2chart.model.chart import Chart
from pic2chart.sheets.fabric.front import fabric_front
from pic2chart.sheets.marks.page import Label, Mark, Raster, Sheet, fit, wrap

_MARGIN, _GAP, _HEAD = 10.0, 8.0, 14.0
_WIDE, _TALL = 92.0, 130.0
_LINE = 4.6
_WORDS = 5 * _LINE
_PIXELS = 460


@dataclass(frozen=True, slots=True, eq=False)
class LookCard:
    """One look: what it is, the chart drawn in it, and lines of figures."""

    look: Look
    chart: Chart
    figures: tuple[str, ...]


def looks_sheet(cards: Sequence[LookCard], title: str) -> Sheet:
    """Cards in two columns, the fabric of each as large as fits its place, true in proportion."""
    wide, tall = _size(cards[0].chart)
    step = tall + _WORDS + _GAP
    marks: list[Mark] = [
        Label(
            (_MARGIN, _MARGIN + 5),
            fit(f"{title} in {len(cards)} looks", 5.0, 180, bold=True),
            5.0,
            bold=True,
        )
    ]
    for number, card in enumerate(cards):
        left = _MARGIN + number % 2 * (_WIDE + _GAP)
        top = _MARGIN + _HEAD + number // 2 * step
        marks += _card(card, left, top, wide, tall)
    rows = -(-len(cards) // 2)
    names = ", ".join(card.look.name for card in cards)
    height = _MARGIN + _HEAD + rows * step
    words = f"The fabric in the looks {names}, with likeness, floats and catches."
    return Sheet(2 * (_MARGIN + _WIDE) + _GAP, height, title, words, tuple(marks))


def _size(chart: Chart) -> tuple[float, float]:
    """Width and height of the fabric on the sheet, mm."""
    width, height = chart.gauge.size_cm(chart.stitch_count, chart.round_count)
    scale = min(_WIDE / width, _TALL / height)
    return width * scale, height * scale


def _card(card: LookCard, left: float, top: float, wide: float, tall: float) -> list[Mark]:
    pixels = min(16, max(2, round(_PIXELS / card.chart.stitch_count)))
    front = fabric_front(card.chart, stitch_px=pixels)
    name, words = card.look.name, card.look.description
    base = top + tall + _LINE
    marks: list[Mark] = [
        Raster((left, top, wide, tall), front, f"The fabric in the look {name}"),
        Label((left, base), f"--look {name}", 4.0, bold=True),
    ]
    lines = [part for line in (words, *card.figures) for part in wrap(line, 3.2, _WIDE)]
    for number, line in enumerate(lines, 1):
        marks.append(Label((left, base + number * _LINE), line, 3.2))
    return marks
