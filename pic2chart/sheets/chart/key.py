"""The key of a sheet: what every colour, symbol and outline on it means."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from pic2chart.checks.finding import Finding, Level
from pic2chart.model.chart import Catches, Chart
from pic2chart.model.keys import KEYS
from pic2chart.model.wording import many, round_word
from pic2chart.sheets.chart.counting import JOIN, REPEAT
from pic2chart.sheets.chart.grid_layout import ABSENT, ground_of
from pic2chart.sheets.chart.overlays import (
    ALERT,
    SHAPES,
    alert_boxes,
    catch_stamps,
    changed_stamps,
    ladder_stamps,
    letters_catches,
    named,
    opening_lines,
    shape_stamps,
)
from pic2chart.sheets.marks.page import (
    Boxes,
    Label,
    Lines,
    Mark,
    Point,
    Style,
    clean,
    fit,
    text_width,
)
from pic2chart.sheets.marks.symbols import symbol_stamps
from pic2chart.sheets.sheet_settings import PLAIN, SheetLook

# What a sheet's key has to explain, as values.

LEVELS: tuple[Level, ...] = ("error", "warning", "note")

EntryKind = Literal[
    "yarn",
    "no-stitch",
    "catch",
    "ladder",
    "shaping",
    "opening",
    "aside",
    "join",
    "repeat",
    "changed",
    "error",
    "warning",
    "note",
]


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the key. `yarn` and `colour` are those of the block's yarn, if it has one.

    `sign` is the kind of shaping, drawn for that `hand`, or the letter in a catch mark.
    """

    kind: EntryKind
    name: str
    detail: str
    yarn: int = 0
    colour: str = ABSENT
    sign: str = ""
    hand: str = "right"


def sheet_entries(
    chart: Chart, changed: int, findings: Sequence[Finding], look: SheetLook = PLAIN
) -> tuple[Entry, ...]:
    """Every yarn in the chart's order, then each further mark that the sheet shows."""
    entries = list(yarn_entries(chart, look))
    if not chart.live.all():
        entries.append(Entry("no-stitch", "no stitch", "skip this square"))
    if chart.catches:
        first = int(Catches.of(chart.catches).table[:, 2].min())
        colour = chart.yarns[first].colour
        letter = KEYS[first] if letters_catches(chart) else ""
        lettered = " and letter" if letter else ""
        detail = f"{len(chart.catches):,}, in the caught yarn's colour{lettered}"
        entries.append(Entry("catch", "catch behind stitch", detail, colour=colour, sign=letter))
    if ladders := chart.construction.ladders:
        colour = chart.yarns[ladders[0].yarn].colour
        detail = f"{len(ladders):,}, in the ladder's colour"
        entries.append(
            Entry("ladder", "ladder behind stitch", detail, colour=colour, hand=chart.hand)
        )
    found = [shaping.kind for shaping in chart.shaped]
    for kind in (kind for kind in SHAPES if kind in found):
        detail = _count(found.count(kind), "place", "places")
        entries.append(
            Entry("shaping", named(kind, chart.hand), detail, sign=kind, hand=chart.hand)
        )
    entries += [
        Entry("opening", "opening", f"{_count(o.count, 'stitch', 'stitches')} on waste yarn")
        for o in chart.construction.openings[:1]
    ]
    entries += [
        Entry("aside", "set aside", f"{_count(s.count, 'stitch', 'stitches')} on waste yarn")
        for s in chart.construction.set_aside[:1]
    ]
    if chart.in_round:
        entries.append(Entry("join", "join", "the round closes: last stitch to first"))
    if chart.repeat:
        size = f"{_count(chart.repeat[0], 'stitch', 'stitches')} × {many(chart.repeat[1], round_word(chart))}"
        entries.append(Entry("repeat", "repeat", size))
    if changed:
        entries.append(Entry("changed", "changed stitch", _count(changed, "stitch", "stitches")))
    for level in LEVELS:
        number = sum(f.level == level and f.round is not None for f in findings)
        if number:
            entries.append(Entry(level, level, f"{_count(number, 'place', 'places')}, see below"))
    return tuple(entries)


def yarn_entries(chart: Chart, look: SheetLook = PLAIN) -> tuple[Entry, ...]:
    """One entry a yarn: its key letter and name, and how many stitches it knits."""
    counts = np.bincount(chart.stitches[chart.live], minlength=len(chart.yarns))
    return tuple(
        Entry(
            "yarn",
            _called(KEYS[index], clean(yarn.name)),
            _count(int(counts[index]), "stitch", "stitches") if counts[index] else "not used",
            index,
            ground_of(yarn.colour, look),
        )
        for index, yarn in enumerate(chart.yarns)
    )


def _called(key: str, name: str) -> str:
    """'A oat'; 'yarn A' where the key is all its name."""
    return name if name == f"yarn {key}" else f"{key} {name}"


def _count(number: int, one: str, many: str) -> str:
    return f"{number:,} {one if number == 1 else many}"


_NAME, _DETAIL = 3.4, 2.9
_BLOCK = 6.5
_ROW = 9.2
_GAP = 7.0
_FRAME = Style(stroke="#1c1c1c", width=0.2)
_MOST_ROW, _LEAST_ROW = 26.0, 1.2
"""Height above which the key in lines is set smaller, mm, and the least scale of its type."""


def key_marks(
    entries: Sequence[Entry],
    square: tuple[float, float],
    at: Point,
    width: float,
    look: SheetLook = PLAIN,
) -> tuple[list[Mark], float]:
    """The key in as many columns as fit `width`; returns the marks and the height they end at."""
    if not entries:
        return [], at[1]
    scale = look.scale
    side = _BLOCK * scale / max(square)
    block = (square[0] * side, square[1] * side)
    shown = [entry if look.words else _wordless(entry) for entry in entries]
    widest = max(_entry_width(entry, scale) for entry in shown)
    column = min(width, widest + block[0] + 2 + _GAP)
    columns = max(1, int((width + _GAP) // column))
    rows = -(-len(shown) // columns)
    marks: list[Mark] = []
    for place, entry in enumerate(shown):
        corner = (at[0] + place // rows * column, at[1] + place % rows * _ROW * scale)
        marks += _entry_marks(entry, block, corner, column - block[0] - 2, look)
    return marks, at[1] + rows * _ROW * scale


def key_row(
    entries: Sequence[Entry],
    square: tuple[float, float],
    at: Point,
    width: float,
    look: SheetLook = PLAIN,
) -> tuple[list[Mark], float]:
    """The key again in few lines, small blocks and names alone; the marks and where they end.

    In large print it is set smaller where it would take much of the page.
    """
    marks, bottom = _key_row(entries, square, at, width, look)
    while bottom - at[1] > _MOST_ROW and look.scale > _LEAST_ROW:
        look = replace(look, scale=max(_LEAST_ROW, 0.9 * look.scale))
        marks, bottom = _key_row(entries, square, at, width, look)
    return marks, bottom


def _key_row(
    entries: Sequence[Entry], square: tuple[float, float], at: Point, width: float, look: SheetLook
) -> tuple[list[Mark], float]:
    size, line = 2.9 * look.scale, 5.6 * look.scale
    side = 4.2 * look.scale / max(square)
    block = (square[0] * side, square[1] * side)
    marks: list[Mark] = []
    x, y = at
    for entry in entries if look.words else map(_wordless, entries):
        name = fit(entry.name, size, width / 3 - block[0] - 2)
        wide = block[0] + 1.5 + text_width(name, size) + 4
        if x > at[0] and x + wide > at[0] + width + 4:
            x, y = at[0], y + line
        marks += block_marks(entry, block, (x, y), look)
        base = (x + block[0] + 1.5, y + block[1] / 2 + 0.36 * size)
        marks.append(Label(base, name, size, name=f"key {entry.kind}"))
        x += wide
    return marks, y + line


def _wordless(entry: Entry) -> Entry:
    """The entry with its count alone; a yarn keeps its name, which is the knitter's own word."""
    detail = " ".join(re.findall(r"\d[\d,]*\d|\d|×", entry.detail))
    return replace(entry, name=entry.name if entry.kind == "yarn" else "", detail=detail)


def _entry_width(entry: Entry, scale: float) -> float:
    name = text_width(entry.name, _NAME * scale, bold=True)
    return max(name, text_width(entry.detail, _DETAIL * scale))


def _entry_marks(
    entry: Entry, block: tuple[float, float], at: Point, room: float, look: SheetLook
) -> list[Mark]:
    x = at[0] + block[0] + 2
    middle = at[1] + block[1] / 2
    name, detail = _NAME * look.scale, _DETAIL * look.scale
    return [
        *block_marks(entry, block, at, look),
        Label(
            (x, middle - 0.4 * look.scale),
            fit(entry.name, name, room, bold=True),
            name,
            bold=True,
            name=f"key {entry.kind}",
        ),
        Label(
            (x, middle + 3.1 * look.scale),
            fit(entry.detail, detail, room),
            detail,
            name="key detail",
        ),
    ]


def block_marks(
    entry: Entry, block: tuple[float, float], at: Point, look: SheetLook = PLAIN
) -> list[Mark]:
    """The block that stands for an entry, drawn just as on the chart."""
    middle = (at[0] + block[0] / 2, at[1] + block[1] / 2)
    filled = {"yarn": entry.colour, "no-stitch": ABSENT}.get(entry.kind, "#ffffff")
    marks: list[Mark] = [Boxes(((*at, *block),), Style(fill=filled), f"block {entry.kind}")]
    if entry.kind == "yarn" and look.symbols != "colour":
        stamps = symbol_stamps(entry.yarn, entry.colour, (middle,), min(block))
        marks += [stamps] if stamps else []
    elif entry.kind == "catch":
        marks += catch_stamps(entry.colour, entry.sign, (middle,), block, "block catch")
    elif entry.kind == "ladder":
        marks += ladder_stamps(entry.colour, (middle,), block, entry.hand, "block ladder")
    elif entry.kind == "shaping":
        marks += shape_stamps(entry.sign, (middle,), block, entry.hand)
    elif entry.kind in ("opening", "aside"):
        y = at[1] + (block[1] if entry.kind == "opening" else 0)
        marks += opening_lines((((at[0], y), (at[0] + block[0], y)),), 0.2 * min(block))
    elif entry.kind == "join":
        x = at[0] + block[0] - 0.8
        marks.append(Lines((((x, at[1] + 0.6), (x, at[1] + block[1] - 0.4)),), JOIN, "block join"))
    elif entry.kind == "changed":
        marks += changed_stamps((middle,), block)
    elif entry.kind in ALERT:
        return [*marks, *alert_boxes(((*at, *block),), entry.kind)]
    heavy = Style(stroke=REPEAT, width=0.8)
    return [*marks, Boxes(((*at, *block),), heavy if entry.kind == "repeat" else _FRAME, "block")]
