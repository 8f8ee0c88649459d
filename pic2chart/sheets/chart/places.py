"""The names of a chart's places over its squares: BACK, PALM, where a picture stands."""

from __future__ import annotations

from pic2chart.sheets.chart.grid_layout import GridLayout
from pic2chart.sheets.chart.panels import Panel
from pic2chart.sheets.marks.page import Label, Mark, Paths, Style, clean, fit, text_width
from pic2chart.sheets.sheet_settings import SheetLook

_SIZE = 3.2
_LINE = Style(stroke="#1c1c1c", width=0.35)


def _shown(panel: Panel) -> list[tuple[int, int, str]]:
    """The places that a panel shows a part of, but for one that is all of it; stitches from 0."""
    if panel.unit is not None or panel.name or not panel.size[1]:
        return []
    low, high = panel.stitches
    found = [
        (max(low, p.stitch), min(high, p.past), p.name) for p in panel.chart.construction.places
    ]
    return [part for part in found if part[0] < part[1]]


def places_room(panel: Panel, look: SheetLook) -> float:
    """Height of the names over a panel's squares, mm."""
    return 2.1 * _SIZE * look.scale if _shown(panel) else 0.0


def place_marks(panel: Panel, layout: GridLayout) -> list[Mark]:
    """A bracket over each place with its name; in wordless sheets only where it begins and ends."""
    marks: list[Mark] = []
    scale = layout.look.scale
    y = layout.top - 1.6 * scale - 0.8
    for first, past, name in _shown(panel):
        ends = [layout.middle(0, s - panel.stitches[0])[0] for s in (first, past - 1)]
        half = layout.square[0] / 2 - 0.4
        left, right = min(ends) - half, max(ends) + half
        path = ((left, y + 1.4), (left, y), (right, y), (right, y + 1.4))
        marks.append(Paths((path,), _LINE, "place"))
        span = f"{first + 1}–{past}"
        words = f"{clean(name).upper()} {span}" if layout.look.words else span
        size = _SIZE * scale
        if text_width(words, size, bold=True) > right - left:
            words = fit(
                clean(name).upper() if layout.look.words else span, size, right - left, bold=True
            )
        at = ((left + right) / 2, y - 0.5 * scale)
        marks.append(Label(at, words, size, "middle", True, name="place"))
    return marks
