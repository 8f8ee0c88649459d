"""A page of motifs in the booklet: each chart small, its number, its name and its figures, in mm."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.library.alike import squares_of
from pic2chart.library.difficulty import grade
from pic2chart.library.motif import MotifRecord, repeat_words
from pic2chart.library.pdf_page import Tagged
from pic2chart.model.chart import NO_STITCH
from pic2chart.sheets.chart.grid_layout import ABSENT, runs
from pic2chart.sheets.marks.page import (
    Boxes,
    Label,
    Lines,
    Mark,
    Rect,
    Style,
    clean,
    fit,
    text_width,
)
from pic2chart.sheets.marks.paper import PAPERS
from pic2chart.sheets.marks.printed import unreadable

LAYOUTS = {
    1: (1, 1),
    2: (1, 2),
    4: (2, 2),
    6: (2, 3),
    9: (3, 3),
    12: (3, 4),
    20: (4, 5),
    30: (5, 6),
}
"""Motifs on a page: (columns, rows)."""
WIDTH, HEIGHT = PAPERS["a4"]
EDGE, HEAD, FOOT, GAP = 14.0, 12.0, 12.0, 7.0
INK, SOFT, RULE = "#1c1c1c", "#5a5a5a", "#c9c9c9"
_FRAME = Style(stroke="#8a8a8a", width=0.15)
_GRID, _TENS = Style(stroke="#8a8a8a", width=0.06), Style(stroke="#8a8a8a", width=0.18)
_LEAST_SQUARE = 1.1
"""Squares of a chart smaller than this, mm, have lines at every tenth alone."""


def refuse_layout(per_page: int) -> None:
    """Raise SettingError unless so many motifs can be laid out on a page."""
    if per_page not in LAYOUTS:
        raise SettingError(
            message("no-such-layout", asked=per_page, known=tuple(LAYOUTS), options=("per_page",))
        )


def plate(motifs: Sequence[MotifRecord], per_page: int) -> list[Tagged]:
    """A page of at most `per_page` motifs, one of LAYOUTS."""
    columns, rows = LAYOUTS[per_page]
    width = (WIDTH - 2 * EDGE - (columns - 1) * GAP) / columns
    height = (HEIGHT - HEAD - FOOT - (rows - 1) * GAP) / rows
    parts: list[Tagged] = []
    for place, motif in enumerate(motifs):
        row, column = divmod(place, columns)
        left, top = EDGE + column * (width + GAP), HEAD + row * (height + GAP)
        parts += _cell(motif, (left, top, width, height), 1.0 if columns < 4 else 0.75)
    return parts


def _cell(motif: MotifRecord, box: Rect, scale: float) -> list[Tagged]:
    """One motif: its chart as large as it goes, and the words right under it."""
    left, top, width, height = box
    name_size, size = 3.6 * scale, 2.7 * scale
    step = 1.35 * size
    words = _words(motif)
    marks, bottom = picture(motif, (left, top, width, height - 7.2 - step * (len(words) + 1)))
    base = bottom + 4.6 * scale
    number = str(motif.number)
    indent = text_width(number, name_size, bold=True) + 2 * scale
    name = fit(printed_title(motif), name_size, width - indent, bold=True)
    heading = (
        Label((left, base), number, name_size, bold=True, colour=INK),
        Label((left + indent, base), name, name_size, bold=True, colour=INK),
    )
    base += 0.4
    lines: list[Mark] = []
    for line, text in enumerate(words, 1):
        at = (left, base + step * line)
        lines.append(Label(at, fit(text, size, width), size, colour=SOFT))
    lines += _yarns(motif, (left, base + step * (len(words) + 1)), size, width)
    chart = f"Chart of motif {number}, {printed_title(motif)}"
    return [
        Tagged("H2", heading),
        Tagged("Figure", tuple(marks), chart),
        Tagged("P", tuple(lines)),
    ]


def printed_title(motif: MotifRecord) -> str:
    """The title as the type can show it."""
    return shown_title(motif.title, motif.number)


@lru_cache(maxsize=10_000)
def shown_title(title: str, number: int) -> str:
    """A title as the type can show it; 'motif 7' where most of its letters are not in the type."""
    return f"motif {number}" if unreadable(title) else clean(title)


def _words(motif: MotifRecord) -> list[str]:
    around = "in the round" if motif.worked == "round" else "flat"
    floats = f"floats to {motif.longest_float}, {motif.catches} " + (
        "catch" if motif.catches == 1 else "catches"
    )
    gauge = motif.gauge.replace(" stitches", "").replace(" rounds", "")
    said = motif.rights.author or motif.rights.credit
    return [
        f"{motif.stitches} × {motif.rounds}, {around}; {repeat_words(motif)}",
        f"{motif.width_cm:.1f} × {motif.height_cm:.1f} cm at {gauge}",
        f"{grade(motif.difficulty)} ({motif.difficulty:g}); {floats}",
        *(
            [" · ".join(filter(None, (said, motif.rights.licence)))]
            if motif.rights.as_list()
            else []
        ),
    ]


def _yarns(motif: MotifRecord, at: tuple[float, float], size: float, width: float) -> list[Mark]:
    """A square of each yarn's colour and its name, side by side as far as there is room."""
    marks: list[Mark] = []
    x, base = at
    side = 0.8 * size
    for yarn in (yarn for yarn in motif.yarns if yarn.stitches):
        room = at[0] + width - x - 1.2 * size
        if room < 3 * size:
            break
        name = fit(yarn.colour if unreadable(yarn.name) else clean(yarn.name), size, room)
        chip = (x, base - side + 0.05 * size, side, side)
        marks.append(Boxes((chip,), Style(fill=yarn.colour, stroke=RULE, width=0.1), "yarn"))
        marks.append(Label((x + 1.2 * size, base), name, size, colour=SOFT))
        x += 2.4 * size + text_width(name, size)
    return marks


def _ruled(
    shape: tuple[int, int], left: float, top: float, size: tuple[float, float]
) -> list[Mark]:
    """Lines between the squares, heavier at every tenth from the right and from below."""
    rounds, stitches = shape
    right, foot = left + stitches * size[0], top + rounds * size[1]

    def lines(step: int) -> tuple[tuple[tuple[float, float], tuple[float, float]], ...]:
        across = (right - at * size[0] for at in range(step, stitches, step))
        up = (foot - at * size[1] for at in range(step, rounds, step))
        return (
            *(((x, top), (x, foot)) for x in across),
            *(((left, y), (right, y)) for y in up),
        )

    fine = [Lines(lines(1), _GRID, "grid")] if min(size) >= _LEAST_SQUARE else []
    return [*fine, Lines(lines(10), _TENS, "tens")]


def picture(motif: MotifRecord, box: Rect, *, ruled: bool = True) -> tuple[list[Mark], float]:
    """The chart's squares, as large as fit at their true proportions, and where they end below."""
    left, top, width, height = box
    squares = squares_of(motif.pixels)
    scale = min(width / motif.width_cm, height / motif.height_cm)
    size = (motif.width_cm * scale / squares.shape[1], motif.height_cm * scale / squares.shape[0])
    marks: list[Mark] = []
    ground = int(np.bincount(squares.ravel(), minlength=NO_STITCH + 1).argmax())
    whole = (left, top, motif.width_cm * scale, motif.height_cm * scale)
    marks.append(Boxes((whole,), Style(fill=_colour(motif, ground)), "ground"))
    found = runs(squares)
    for value in np.unique(squares).tolist():
        if value != ground:
            boxes = tuple(
                (left + a * size[0], top + row * size[1], (past - a) * size[0], size[1])
                for row, a, past, _ in found[found[:, 3] == value].tolist()
            )
            marks.append(Boxes(boxes, Style(fill=_colour(motif, value)), "squares"))
    if ruled:
        marks += _ruled((squares.shape[0], squares.shape[1]), left, top, size)
    marks.append(Boxes((whole,), _FRAME, "frame"))
    return marks, top + whole[3]


def _colour(motif: MotifRecord, value: int) -> str:
    return ABSENT if value == NO_STITCH else motif.yarns[value].colour
