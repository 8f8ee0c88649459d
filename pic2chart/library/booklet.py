"""The booklet: pages of small motifs, numbered, with an index by name and by size."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any, overload

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.library.alike import squares_of
from pic2chart.library.catalogue import Catalogue, natural
from pic2chart.library.difficulty import grade
from pic2chart.library.motif import MotifRecord, repeat_words
from pic2chart.model.chart import NO_STITCH
from pic2chart.sheets.chart.grid_layout import ABSENT, runs
from pic2chart.sheets.marks.page import (
    Boxes,
    Label,
    Lines,
    Mark,
    Rect,
    Sheet,
    Style,
    clean,
    fit,
    text_width,
)
from pic2chart.sheets.marks.paper import PAPERS
from pic2chart.sheets.marks.printed import unreadable
from pic2chart.sheets.writers.pdf import sheets_pdf

# A page of motifs, each with its chart, its name and its figures, in millimetres.

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


def plate(motifs: Sequence[MotifRecord], per_page: int) -> list[Mark]:
    """A page of at most `per_page` motifs, one of LAYOUTS."""
    columns, rows = LAYOUTS[per_page]
    width = (WIDTH - 2 * EDGE - (columns - 1) * GAP) / columns
    height = (HEIGHT - HEAD - FOOT - (rows - 1) * GAP) / rows
    marks: list[Mark] = []
    for place, motif in enumerate(motifs):
        row, column = divmod(place, columns)
        left, top = EDGE + column * (width + GAP), HEAD + row * (height + GAP)
        marks += _cell(motif, (left, top, width, height), 1.0 if columns < 4 else 0.75)
    return marks


def _cell(motif: MotifRecord, box: Rect, scale: float) -> list[Mark]:
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
    marks.append(Label((left, base), number, name_size, bold=True, colour=INK))
    marks.append(Label((left + indent, base), name, name_size, bold=True, colour=INK))
    base += 0.4
    for line, text in enumerate(words, 1):
        at = (left, base + step * line)
        marks.append(Label(at, fit(text, size, width), size, colour=SOFT))
    return marks + _yarns(motif, (left, base + step * (len(words) + 1)), size, width)


def printed_title(motif: MotifRecord) -> str:
    """The title as the type can show it; 'motif 7' where most of its letters are not in the type."""
    return f"motif {motif.number}" if unreadable(motif.title) else clean(motif.title)


def _words(motif: MotifRecord) -> list[str]:
    around = "in the round" if motif.worked == "round" else "flat"
    floats = f"floats to {motif.longest_float}, {motif.catches} " + (
        "catch" if motif.catches == 1 else "catches"
    )
    gauge = motif.gauge.replace(" stitches", "").replace(" rounds", "")
    return [
        f"{motif.stitches} × {motif.rounds}, {around}; {repeat_words(motif)}",
        f"{motif.width_cm:.1f} × {motif.height_cm:.1f} cm at {gauge}",
        f"{grade(motif.difficulty)} ({motif.difficulty:g}); {floats}",
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


# The booklet: every motif small, so many a page, numbered, with an index by name and by size.
#
# Pages are A4, drawn with the marks of sheets. They are laid out one at a time while the
# document is written, so the memory it takes grows with the document's bytes and not with its
# squares.

_LINES = 62
"""Lines in a column of the index."""
_COLUMNS = 2


@dataclass(frozen=True, slots=True)
class _Entry:
    """A line of the index: its words, and the number of the motif."""

    words: str
    number: int


class _Pages(Sequence[Sheet]):
    """The booklet's pages, each laid out when it is asked for."""

    def __init__(self, motifs: Sequence[MotifRecord], title: str, per_page: int) -> None:
        self._motifs, self._title, self._per_page = motifs, title, per_page
        self._index = [*_columns(motifs, "By name"), *_columns(motifs, "By stitches a repeat")]
        self._plates = ceil(len(motifs) / per_page)
        self._at = {motif.number: at for at, motif in enumerate(motifs)}

    def __len__(self) -> int:
        return 1 + self._plates + ceil(len(self._index) / _COLUMNS)

    @overload
    def __getitem__(self, at: int) -> Sheet: ...
    @overload
    def __getitem__(self, at: slice) -> Sequence[Sheet]: ...
    def __getitem__(self, at: Any) -> Any:
        if isinstance(at, slice):
            return [self[i] for i in range(*at.indices(len(self)))]
        if not 0 <= at < len(self):
            raise IndexError(at)
        if at == 0:
            return self._sheet(_front(self._motifs, self._title), None)
        if at <= self._plates:
            first = (at - 1) * self._per_page
            return self._sheet(
                plate(self._motifs[first : first + self._per_page], self._per_page), at
            )
        first = (at - 1 - self._plates) * _COLUMNS
        return self._sheet(_index_page(self._index[first : first + _COLUMNS], self._page_of), at)

    def _page_of(self, number: int) -> int:
        return self._at[number] // self._per_page + 2

    def _sheet(self, marks: list[Mark], at: int | None) -> Sheet:
        if at is not None:
            marks = [*_head(self._title, at + 1), *marks]
        return Sheet(WIDTH, HEIGHT, self._title, f"{len(self._motifs)} motifs", tuple(marks))


def booklet_pdf(motifs: Sequence[MotifRecord], title: str, per_page: int) -> bytes:
    """The booklet of motifs numbered from 1 in their order; raises SettingError for an odd count a page."""
    refuse_layout(per_page)
    pages = _Pages(motifs, clean(title), per_page)
    return sheets_pdf(pages, title=title, outline=tuple(_outline(motifs, pages, per_page)))


def booklet_of(catalogue: Catalogue, title: str, per_page: int, numbers: tuple[int, int]) -> bytes:
    """The booklet of a stretch of numbers of a library, without what is held or withdrawn."""
    where = "number BETWEEN ? AND ? AND state IN ('new', 'approved') ORDER BY number, size"
    motifs = {motif.number: motif for motif in reversed(list(catalogue.motifs(where, numbers)))}
    return booklet_pdf(list(motifs.values())[::-1], title, per_page)


def refuse_layout(per_page: int) -> None:
    """Raise SettingError unless so many motifs can be laid out on a page."""
    if per_page not in LAYOUTS:
        raise SettingError(
            message("no-such-layout", asked=per_page, known=tuple(LAYOUTS), options=("per_page",))
        )


def _outline(motifs: Sequence[MotifRecord], pages: _Pages, per_page: int) -> Iterator[str]:
    """A name for each page in the side bar."""
    yield "Front page"
    for first in range(0, len(motifs), per_page):
        part = motifs[first : first + per_page]
        yield f"{part[0].number}–{part[-1].number}  {part[0].title}"
    for number in range(len(pages) - 1 - ceil(len(motifs) / per_page)):
        yield "Index" if number == 0 else "Index, continued"


def _head(title: str, page: int) -> list[Mark]:
    line = HEIGHT - FOOT + 1
    return [
        Label((EDGE, line + 4), fit(title, 2.8, 120), 2.8, colour=SOFT),
        Label((WIDTH - EDGE, line + 4), str(page), 2.8, "end", colour=SOFT),
    ]


def _front(motifs: Sequence[MotifRecord], title: str) -> list[Mark]:
    """The front page: the title, what is inside, and a band of the first motifs."""
    marks: list[Mark] = [
        Label((EDGE, 52), fit(title, 13, WIDTH - 2 * EDGE, bold=True), 13, bold=True, colour=INK),
        Label((EDGE, 63), _contents(motifs), 4.2, colour=SOFT),
        Lines((((EDGE, 70), (WIDTH - EDGE, 70)),), Style(stroke=INK, width=0.4)),
    ]
    columns, rows, gap = 5, 5, 4.0
    side = (WIDTH - 2 * EDGE - (columns - 1) * gap) / columns
    step = max(1, len(motifs) // (columns * rows))
    for place, motif in enumerate(motifs[::step][: columns * rows]):
        row, column = divmod(place, columns)
        corner = (EDGE + column * (side + gap), 80 + row * (side + gap))
        marks += picture(motif, (*corner, side, side), ruled=False)[0]
    notes: tuple[str, ...] = (
        "Numbers count from 1. Every picture is the chart seen from the right side, read from the bottom up,",
        "at the proportions of its own gauge. Sizes are estimates: knit and wash a swatch first. Long floats",
        "inside mittens, socks and children's things catch fingers and toes: catch them every 3–4 stitches.",
    )
    unnamed = sum(printed_title(motif) != clean(motif.title) for motif in motifs)
    if unnamed:
        one = "One title is" if unnamed == 1 else f"{unnamed:,} titles are"
        notes += (
            f"{one} in letters that this type lacks, so the motif's number stands in its place.",
        )
    first = 272 - 4.6 * (len(notes) - 3)
    marks += [Label((EDGE, first + 4.6 * i), line, 3, colour=SOFT) for i, line in enumerate(notes)]
    return marks


def _contents(motifs: Sequence[MotifRecord]) -> str:
    if not motifs:
        return "No motifs"
    widths = [motif.stitches for motif in motifs]
    across = (
        f"{min(widths)} stitches"
        if len(set(widths)) == 1
        else f"{min(widths)} to {max(widths)} stitches"
    )
    yarns = len({(yarn.name, yarn.colour) for motif in motifs for yarn in motif.yarns})
    return f"{len(motifs):,} {'motif' if len(motifs) == 1 else 'motifs'}, {across} across, in {yarns:,} yarns"


def _columns(motifs: Sequence[MotifRecord], heading: str) -> list[tuple[str, list[_Entry]]]:
    """The index in columns of lines, under its heading."""
    if heading == "By name":
        ordered = sorted(motifs, key=lambda m: (natural(printed_title(m)), m.number))
        entries = [_Entry(printed_title(m), m.number) for m in ordered]
    else:
        ordered = sorted(motifs, key=lambda m: (m.repeat_stitches, m.rounds, m.number))
        entries = [
            _Entry(f"{m.repeat_stitches} stitches: {printed_title(m)}", m.number) for m in ordered
        ]
    parts = [entries[i : i + _LINES] for i in range(0, len(entries), _LINES)]
    return [(heading if i == 0 else f"{heading}, continued", part) for i, part in enumerate(parts)]


def _index_page(columns: Sequence[tuple[str, list[_Entry]]], page_of: Any) -> list[Mark]:
    width = (WIDTH - 2 * EDGE - GAP) / _COLUMNS
    marks: list[Mark] = []
    for place, (heading, entries) in enumerate(columns):
        left = EDGE + place * (width + GAP)
        name = fit(heading, 4.0, width - 24, bold=True)
        marks.append(Label((left, HEAD + 6), name, 4.0, bold=True, colour=INK))
        marks.append(Label((left + width - 12, HEAD + 6), "motif", 2.4, "end", colour=SOFT))
        marks.append(Label((left + width, HEAD + 6), "page", 2.4, "end", colour=SOFT))
        rule = HEAD + 8.2
        marks.append(Lines((((left, rule), (left + width, rule)),), Style(stroke=RULE, width=0.2)))
        for line, entry in enumerate(entries):
            base = rule + 4.2 + 4.0 * line
            text = fit(entry.words, 2.8, width - 26)
            marks.append(Label((left, base), text, 2.8, colour=INK))
            marks.append(
                Label((left + width - 12, base), str(entry.number), 2.8, "end", colour=INK)
            )
            page = str(page_of(entry.number))
            marks.append(Label((left + width, base), page, 2.8, "end", colour=SOFT))
    return marks
