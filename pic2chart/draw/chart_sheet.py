"""The chart sheet: title, squares, numbers, key and notes, all placed in millimetres."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import Chart
from pic2chart.draw.counting import (
    beside,
    counting_lines,
    fine_lines,
    join_marks,
    number_size,
    numbers,
    reading_arrows,
    repeat_box,
)
from pic2chart.draw.heading import facts, heading, note_lines, notes, reading
from pic2chart.draw.key import key_marks
from pic2chart.draw.key_entries import Entry, sheet_entries
from pic2chart.draw.look import PLAIN, Look
from pic2chart.draw.overlays import catch_marks, changed_marks, finding_marks
from pic2chart.draw.page import Mark, Sheet, clean, text_width
from pic2chart.draw.shaping import shaping_marks
from pic2chart.draw.squares import Plan, absent_squares, coloured_squares
from pic2chart.errors import InputError, SettingError
from pic2chart.rules.finding import Finding

MARGIN = 9.0
SQUARE_MM = 4.0
_NARROWEST = 150.0


def chart_sheet(
    chart: Chart,
    *,
    square_mm: float = SQUARE_MM,
    changed: NDArray[np.bool_] | None = None,
    findings: Sequence[Finding] = (),
    look: Look = PLAIN,
) -> Sheet:
    """Lay out a chart on one sheet as large as it needs.

    `square_mm` is the width of a square; its height follows from the gauge, so shapes are true.
    `changed`: bool [rounds, stitches], outlined. `findings` are outlined and listed under the key.
    Raises InputError when `changed` does not have the chart's shape, SettingError on an odd size.
    """
    if changed is not None and changed.shape != chart.stitches.shape:
        raise InputError(
            f"The changed stitches have the shape {changed.shape}, the chart "
            f"{chart.stitches.shape}; compare charts of the same size."
        )
    if not 0.5 <= square_mm <= 50:
        raise SettingError(f"A square of {square_mm:g} mm cannot be drawn; choose 0.5 to 50 mm.")
    side = side_room(chart, look)
    across = chart.stitch_count * square_mm
    width = max(across + 2 * (MARGIN + side), _NARROWEST * look.scale)
    inner = width - 2 * MARGIN
    marks, top = heading(chart, look, (MARGIN, MARGIN), inner)
    square = (square_mm, square_mm * chart.gauge.aspect)
    plan = Plan(chart, (width - across) / 2, top + 2, square, look)
    marks += squares_marks(plan, changed, findings)
    entries = sheet_entries(chart, 0 if changed is None else int(changed.sum()), findings, look)
    foot = plan.bottom + 4 + 2.4 * number_size(plan)
    keys, bottom = key_marks(entries, plan.square, (MARGIN, foot), inner, look)
    told = note_lines(chart, findings) if look.words else []
    small, bottom = notes(told, (MARGIN, bottom + 2), inner, look.scale)
    title = clean(chart.title)
    words = describe(chart, entries, look)
    return Sheet(width, bottom + MARGIN, title, words, (*marks, *keys, *small))


def changes_sheet(before: Chart, after: Chart, *, square_mm: float = SQUARE_MM) -> Sheet:
    """The chart after, with every stitch outlined that differs from the chart before.

    Yarns are compared by colour and name, so charts that list them in another order still compare.
    """
    if before.stitches.shape != after.stitches.shape:
        raise InputError(
            f"The charts have the shapes {before.stitches.shape} and {after.stitches.shape} "
            "(rounds, stitches); compare charts of the same size."
        )
    return chart_sheet(after, square_mm=square_mm, changed=changed_stitches(before, after))


def changed_stitches(before: Chart, after: Chart) -> NDArray[np.bool_]:
    """Bool [rounds, stitches]: where two charts of one size differ in yarn or in having a stitch."""
    known = {(yarn.name, yarn.colour): index for index, yarn in enumerate(after.yarns)}
    table = np.full(256, 255, dtype=np.int16)
    for index, yarn in enumerate(before.yarns):
        table[index] = known.get((yarn.name, yarn.colour), 256 + index)
    return np.asarray(table[before.stitches] != after.stitches)


def squares_marks(
    plan: Plan, changed: NDArray[np.bool_] | None, findings: Sequence[Finding]
) -> list[Mark]:
    """Everything in and round the grid, in painting order."""
    return [
        *coloured_squares(plan),
        *fine_lines(plan),
        *absent_squares(plan),
        *catch_marks(plan),
        *shaping_marks(plan),
        *counting_lines(plan),
        *repeat_box(plan),
        *join_marks(plan),
        *([] if changed is None else changed_marks(plan, changed)),
        *finding_marks(plan, findings),
        *numbers(plan),
        *reading_arrows(plan, side_room(plan.chart, plan.look) - 3.6),
    ]


def describe(chart: Chart, entries: Sequence[Entry], look: Look = PLAIN) -> str:
    """The sheet in words, for those who cannot see it."""
    keys = "; ".join(f"{entry.name}: {entry.detail}" for entry in entries)
    return f"Knitting chart. {facts(chart, look)} {reading(chart)} Key: {keys}."


def side_room(chart: Chart, look: Look, last_round: int = 0) -> float:
    """Room for the round numbers and the arrow on each side of the grid, mm."""
    largest = str(max(chart.round_count, last_round))
    return 2.2 + beside(chart) + text_width(largest, 2.6 * look.scale) + 4.0
