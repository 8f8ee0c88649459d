"""Labels of kits to print, cut and put on the bags: ten on a page of A4."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.model.wording import many
from pic2chart.sheets.marks.page import Boxes, Label, Mark, Sheet, Style, clean, fit, wrap
from pic2chart.yarns.kits import Kit

_ACROSS, _DOWN = 2, 5
_WIDTH, _HEIGHT, _MARGIN = 95.0, 55.4, 10.0
_INSIDE = 5.0
_MOST_YARNS = 5
"""Yarns a label has room for."""


def kit_labels(
    kits: Sequence[Kit], lots: Sequence[Sequence[tuple[str, int]]] | None = None
) -> list[Sheet]:
    """A label for each kit in turn. `lots`: for each, the lot and balls of every yarn where they are
    known already, else the yarns alone."""
    pages = []
    for start in range(0, len(kits), _ACROSS * _DOWN):
        marks: list[Mark] = []
        for place, kit in enumerate(kits[start : start + _ACROSS * _DOWN]):
            left = _MARGIN + place % _ACROSS * _WIDTH
            top = _MARGIN + place // _ACROSS * _HEIGHT
            rows = None if lots is None else lots[start + place]
            marks += _label(kit, rows, (left, top))
        words = f"Labels of {many(len(kits), 'kit')}, to cut along the lines."
        pages.append(Sheet(210, 297, "Labels", words, tuple(marks)))
    return pages


def _label(kit: Kit, lots: Sequence[tuple[str, int]] | None, at: tuple[float, float]) -> list[Mark]:
    left, top = at
    x, y, room = left + _INSIDE, top + _INSIDE, _WIDTH - 2 * _INSIDE
    cut = Style(stroke="#b8b4ac", width=0.15)
    marks: list[Mark] = [Boxes(((left, top, _WIDTH, _HEIGHT),), cut, "cut")]
    y += 5
    title = fit(clean(kit.title), 6, room - 24, bold=True)
    marks.append(Label((x, y), title, 6, bold=True, name="title"))
    if kit.price is not None:
        marks.append(Label((x + room, y), f"{kit.price:.2f}", 5.4, "end", bold=True, name="price"))
    y += 6
    which = fit(clean(f"Size {kit.size} · {kit.colourway}"), 4.6, room)
    marks.append(Label((x, y), which, 4.6, name="size"))
    y += 3
    named = lots or [(yarn.name, yarn.balls) for yarn in kit.yarns]
    for (name, balls), yarn in list(zip(named, kit.yarns, strict=True))[:_MOST_YARNS]:
        frame = Style(fill=yarn.colour, stroke="#1c1c1c", width=0.15)
        marks.append(Boxes(((x, y, 3.8, 3.8),), frame, "yarn"))
        text = fit(f"{balls} × {clean(name)}", 3.4, room - 6)
        marks.append(Label((x + 5.6, y + 3.1), text, 3.4, name="balls"))
        y += 4.5
    rest = len(kit.yarns) - _MOST_YARNS
    also = [
        *([f"and {many(rest, 'more yarn')}"] if rest > 0 else []),
        "chart and pattern",
        *kit.needles,
    ]
    y += 1
    for line in wrap(clean(" · ".join(also)), 3, room)[:2]:
        y += 3.8
        marks.append(Label((x, y), line, 3, colour="#5a5a5a", name="also"))
    return marks
