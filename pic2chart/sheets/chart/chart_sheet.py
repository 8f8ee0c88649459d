"""The chart sheet: its words (title, facts, how to read it, notes) and its parts, placed in mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.cautions import cautions
from pic2chart.checks.finding import Finding
from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import message
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.wording import many, round_word, rounds_named
from pic2chart.sheets.chart.counting import (
    beside,
    counting_lines,
    fine_lines,
    join_marks,
    number_size,
    numbers,
    reading_arrows,
    repeat_box,
)
from pic2chart.sheets.chart.grid_layout import GridLayout, absent_squares, coloured_squares
from pic2chart.sheets.chart.key import Entry, key_marks, sheet_entries
from pic2chart.sheets.chart.overlays import catch_marks, changed_marks, finding_marks, shaping_marks
from pic2chart.sheets.marks.page import Label, Mark, Point, Sheet, clean, fit, text_width, wrap
from pic2chart.sheets.sheet_settings import PLAIN, SheetLook

# The words of a chart sheet: title, author, facts and how to read it, notes under the key.

_TITLE, _TYPE_MM, _SMALL = 6.5, 3.3, 2.9
_LISTED = 20
FOUR_INCHES = 10.16


def heading(chart: Chart, look: SheetLook, at: Point, width: float) -> tuple[list[Mark], float]:
    """Title, author and facts from `at` down; returns the marks and the height they end at."""
    title, type_mm = _TITLE * min(look.scale, 1.4), _TYPE_MM * look.scale
    y = at[1] + 0.8 * title
    marks: list[Mark] = []
    for line in _title_lines(chart.title, title, width):
        marks.append(Label((at[0], y), line, title, bold=True, name="title"))
        y += 1.2 * title
    y += 1.5 - 1.2 * title
    if look.author:
        y += 1.4 * type_mm
        author = fit(clean(look.author), type_mm, width)
        marks.append(Label((at[0], y), author, type_mm, colour="#444444", name="author"))
    sentences = (facts(chart, look), reading(chart)) if look.words else (figures(chart, look),)
    for text in sentences:
        for line in wrap(text, type_mm, width):
            y += 1.4 * type_mm
            marks.append(Label((at[0], y), line, type_mm, name="facts"))
    return marks, y + 2.5


def _title_lines(title: str, size: float, width: float) -> list[str]:
    """The title in at most two lines."""
    lines = wrap(clean(title), size, width, bold=True) or ["untitled"]
    if len(lines) > 2:
        lines[1:] = [fit(" ".join(lines[1:]), size, width, bold=True)]
    return lines


def facts(chart: Chart, look: SheetLook) -> str:
    """Stitches, rounds, gauge and finished size as sentences."""
    width, height = chart.gauge.size_cm(chart.usual_count, chart.round_count)
    rounds = round_word(chart, chart.round_count)
    size = f"{look.length(width)} × {look.length(height)} {look.units}"
    stitches, up, over = _gauge(chart, look)
    usual, across = chart.usual_count, chart.stitch_count
    squares = "" if usual == across else f" ({across} squares)"
    return (
        f"{usual} stitches{squares} × {chart.round_count} {rounds}. "
        f"Gauge {stitches} stitches × {up} {round_word(chart, 2)} in {over}. "
        f"Finished size {size} (width × height)."
    )


def figures(chart: Chart, look: SheetLook) -> str:
    """The same in numbers and signs alone."""
    width, height = chart.gauge.size_cm(chart.usual_count, chart.round_count)
    stitches, up, over = _gauge(chart, look)
    return (
        f"{chart.stitch_count} × {chart.round_count}   ·   {stitches} × {up} / {over}   ·   "
        f"{look.length(width)} × {look.length(height)} {look.units}"
    )


def _gauge(chart: Chart, look: SheetLook) -> tuple[str, str, str]:
    """Stitches and rounds, and the length they are counted over."""
    gauge = chart.gauge
    if look.units == "cm":
        return f"{gauge.stitches:g}", f"{gauge.rounds:g}", f"{gauge.over_cm:g} cm"
    times = FOUR_INCHES / gauge.over_cm
    return f"{gauge.stitches * times:.1f}", f"{gauge.rounds * times:.1f}", "4 in"


def reading(chart: Chart) -> str:
    """How the chart is read, for its hand and way of working."""
    first, back = ("right", "left") if chart.hand == "right" else ("left", "right")
    hand = "" if chart.hand == "right" else "For a left-handed knitter. "
    if chart.in_round:
        way = f"Worked in the round: read from the bottom up, every round from {first} to {back}."
    else:
        way = (
            f"Worked flat: read from the bottom up, right-side (odd) rows from {first} to {back}, "
            f"wrong-side (even) rows from {back} to {first}, worked in purl."
        )
    if chart.rows:
        rows = rounds_named(chart, [row.round for row in chart.rows])
        way += f" Short rows turn before the end ({rows}): read each from its number's side."
    again = "" if chart.repeat is None else " Work what the heavy box holds again and again."
    return f"{hand}{way} One square is one stitch, seen from the right side.{again}"


def note_lines(chart: Chart, findings: Sequence[Finding] = ()) -> list[str]:
    """The findings in words, at most twenty, and the cautions."""
    lines = [f"{f.level.capitalize()}: {f.message} {f.mend}" for f in findings[:_LISTED]]
    if len(findings) > _LISTED:
        lines.append(f"… and {many(len(findings) - _LISTED, 'more finding')}.")
    return [*lines, " ".join(cautions(chart))]


def notes(
    lines: Sequence[str], at: Point, width: float, scale: float = 1.0
) -> tuple[list[Mark], float]:
    """Small type from `at` down; returns the marks and the height they end at."""
    size = _SMALL * scale
    marks: list[Mark] = []
    y = at[1]
    for text in lines:
        for line in wrap(clean(text), size, width):
            y += 1.4 * size
            marks.append(Label((at[0], y), line, size, colour="#444444", name="note"))
        y += 0.6
    return marks, y


MARGIN = 9.0
SQUARE_MM = 4.0
_NARROWEST = 150.0


def chart_sheet(
    chart: Chart,
    *,
    square_mm: float = SQUARE_MM,
    changed: NDArray[np.bool_] | None = None,
    findings: Sequence[Finding] = (),
    look: SheetLook = PLAIN,
) -> Sheet:
    """Lay out a chart on one sheet as large as it needs.

    `square_mm` is the width of a square; its height follows from the gauge, so shapes are true.
    `changed`: bool [rounds, stitches], outlined. `findings` are outlined and listed under the key.
    Raises InputError when `changed` does not have the chart's shape, SettingError on an odd size.
    """
    if changed is not None and changed.shape != chart.stitches.shape:
        raise InputError(
            message(
                "changes-of-another-size", shape=str(changed.shape), own=str(chart.stitches.shape)
            )
        )
    if not 0.5 <= square_mm <= 50:
        raise SettingError(message("square-out-of-range", width=square_mm))
    side = side_room(chart, look)
    across = chart.stitch_count * square_mm
    width = max(across + 2 * (MARGIN + side), _NARROWEST * look.scale)
    inner = width - 2 * MARGIN
    marks, top = heading(chart, look, (MARGIN, MARGIN), inner)
    square = (square_mm, square_mm * chart.gauge.aspect)
    layout = GridLayout(chart, (width - across) / 2, top + 2, square, look)
    marks += squares_marks(layout, changed, findings)
    entries = sheet_entries(chart, 0 if changed is None else int(changed.sum()), findings, look)
    foot = layout.bottom + 4 + 2.4 * number_size(layout)
    keys, bottom = key_marks(entries, layout.square, (MARGIN, foot), inner, look)
    lines = note_lines(chart, findings) if look.words else []
    small, bottom = notes(lines, (MARGIN, bottom + 2), inner, look.scale)
    title = clean(chart.title)
    words = describe(chart, entries, look)
    return Sheet(width, bottom + MARGIN, title, words, (*marks, *keys, *small))


def changes_sheet(before: Chart, after: Chart, *, square_mm: float = SQUARE_MM) -> Sheet:
    """The chart after, with every stitch outlined that differs from the chart before.

    Yarns are compared by colour and name, so charts that list them in another order still compare.
    """
    if before.stitches.shape != after.stitches.shape:
        raise InputError(
            message(
                "charts-of-two-sizes",
                before=str(before.stitches.shape),
                after=str(after.stitches.shape),
            )
        )
    return chart_sheet(after, square_mm=square_mm, changed=changed_stitches(before, after))


def changed_stitches(before: Chart, after: Chart) -> NDArray[np.bool_]:
    """Bool [rounds, stitches]: where two charts of one size differ in yarn or in having a stitch."""
    known = {(yarn.name, yarn.colour): index for index, yarn in enumerate(after.yarns)}
    table = np.full(NO_STITCH + 1, NO_STITCH, dtype=np.int16)
    for index, yarn in enumerate(before.yarns):
        table[index] = known.get((yarn.name, yarn.colour), NO_STITCH + 1 + index)
    return np.asarray(table[before.stitches] != after.stitches)


def squares_marks(
    layout: GridLayout, changed: NDArray[np.bool_] | None, findings: Sequence[Finding]
) -> list[Mark]:
    """Everything in and round the grid, in painting order."""
    return [
        *coloured_squares(layout),
        *fine_lines(layout),
        *absent_squares(layout),
        *catch_marks(layout),
        *shaping_marks(layout),
        *counting_lines(layout),
        *repeat_box(layout),
        *join_marks(layout),
        *([] if changed is None else changed_marks(layout, changed)),
        *finding_marks(layout, findings),
        *numbers(layout),
        *reading_arrows(layout, side_room(layout.chart, layout.look) - 3.6),
    ]


def describe(chart: Chart, entries: Sequence[Entry], look: SheetLook = PLAIN) -> str:
    """The sheet in words, for those who cannot see it."""
    keys = "; ".join(f"{entry.name}: {entry.detail}" for entry in entries)
    return f"Knitting chart. {facts(chart, look)} {reading(chart)} Key: {keys}."


def side_room(chart: Chart, look: SheetLook, last_round: int = 0) -> float:
    """Room for the round numbers and the arrow on each side of the grid, mm."""
    largest = str(max(chart.round_count, last_round))
    return 2.2 + beside(chart) + text_width(largest, 2.6 * look.scale, bold=True) + 4.0
