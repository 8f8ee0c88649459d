"""The chart sheet: title, squares, numbers, key and notes, all placed in millimetres."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import Chart
from pic2chart.draw.key import Entry, key_marks, sheet_entries
from pic2chart.draw.overlays import catch_marks, changed_marks, finding_marks
from pic2chart.draw.page import Label, Mark, Sheet, clean, fit, text_width, wrap
from pic2chart.draw.squares import (
    Plan,
    absent_squares,
    coloured_squares,
    counting_lines,
    fine_lines,
    numbers,
    reading_arrows,
    repeat_box,
)
from pic2chart.errors import InputError, SettingError
from pic2chart.rules.finding import Finding

MARGIN = 9.0
SQUARE_MM = 4.0
_NARROWEST = 150.0
_TITLE, _TYPE, _SMALL = 6.5, 3.3, 2.9
_LISTED = 20


def chart_sheet(
    chart: Chart,
    *,
    square_mm: float = SQUARE_MM,
    changed: NDArray[np.bool_] | None = None,
    findings: Sequence[Finding] = (),
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
    side = _side(chart)
    across = chart.stitch_count * square_mm
    width = max(across + 2 * (MARGIN + side), _NARROWEST)
    inner = width - 2 * MARGIN
    marks, top = _heading(chart, inner)
    plan = Plan(chart, (width - across) / 2, top + 2, (square_mm, square_mm * chart.gauge.aspect))
    marks += squares_marks(plan, changed, findings)
    entries = sheet_entries(chart, 0 if changed is None else int(changed.sum()), findings)
    keys, bottom = key_marks(entries, plan.square, (MARGIN, plan.bottom + 10), inner)
    notes, bottom = _notes(_note_lines(findings), bottom + 2, inner)
    title = clean(chart.title)
    return Sheet(width, bottom + MARGIN, title, describe(chart, entries), (*marks, *keys, *notes))


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
        *counting_lines(plan),
        *repeat_box(plan),
        *([] if changed is None else changed_marks(plan, changed)),
        *finding_marks(plan, findings),
        *numbers(plan),
        *reading_arrows(plan, _side(plan.chart) - 3.6),
    ]


def describe(chart: Chart, entries: Sequence[Entry]) -> str:
    """The sheet in words, for those who cannot see it."""
    keys = "; ".join(f"{entry.name}: {entry.detail}" for entry in entries)
    return f"Knitting chart. {_facts(chart)} {_reading(chart)} Key: {keys}."


def _side(chart: Chart) -> float:
    """Room for the round numbers and the arrow on each side of the grid, mm."""
    return 2.2 + text_width(str(chart.round_count), 2.6) + 4.0


def _facts(chart: Chart) -> str:
    width, height = chart.gauge.size_cm(chart.stitch_count, chart.round_count)
    rounds = "rounds" if chart.in_round else "rows"
    gauge = f"{chart.gauge.stitches:g} stitches × {chart.gauge.rounds:g} {rounds}"
    return (
        f"{chart.stitch_count} stitches × {chart.round_count} {rounds}. "
        f"Gauge {gauge} in {chart.gauge.over_cm:g} cm. "
        f"Finished size {width:.1f} × {height:.1f} cm (width × height)."
    )


def _reading(chart: Chart) -> str:
    first, back = ("right", "left") if chart.hand == "right" else ("left", "right")
    hand = "" if chart.hand == "right" else "For a left-handed knitter. "
    if chart.in_round:
        way = f"Worked in the round: read from the bottom up, every round from {first} to {back}."
    else:
        way = (
            f"Worked flat: read from the bottom up, right-side (odd) rows from {first} to {back}, "
            f"wrong-side (even) rows from {back} to {first}, worked in purl."
        )
    return f"{hand}{way} One square is one stitch, seen from the right side."


def _heading(chart: Chart, width: float) -> tuple[list[Mark], float]:
    """Title and facts; returns the marks and the height they end at."""
    y = MARGIN + 0.8 * _TITLE
    marks: list[Mark] = []
    for line in _title_lines(chart.title, width):
        marks.append(Label((MARGIN, y), line, _TITLE, bold=True, name="title"))
        y += 1.2 * _TITLE
    y += 1.5 - 1.2 * _TITLE
    for text in (_facts(chart), _reading(chart)):
        for line in wrap(text, _TYPE, width):
            y += 1.4 * _TYPE
            marks.append(Label((MARGIN, y), line, _TYPE, name="facts"))
    return marks, y + 2.5


def _title_lines(title: str, width: float) -> list[str]:
    """The title in at most two lines."""
    lines = wrap(clean(title), _TITLE, width) or ["untitled"]
    return lines if len(lines) <= 2 else [lines[0], fit(" ".join(lines[1:]), _TITLE, width)]


def _note_lines(findings: Sequence[Finding]) -> list[str]:
    told = [f"{f.level.capitalize()}: {f.message} {f.mend}" for f in findings[:_LISTED]]
    if len(findings) > _LISTED:
        told.append(f"… and {len(findings) - _LISTED} more findings.")
    told.append(
        "Sizes follow from the gauge and are estimates: knit and wash a swatch first. Catch long "
        "floats; inside mittens, socks and children's things every 3–4 stitches, so that nothing snags."
    )
    return told


def _notes(lines: Sequence[str], top: float, width: float) -> tuple[list[Mark], float]:
    marks: list[Mark] = []
    y = top
    for text in lines:
        for line in wrap(clean(text), _SMALL, width):
            y += 1.4 * _SMALL
            marks.append(Label((MARGIN, y), line, _SMALL, colour="#444444", name="note"))
        y += 0.6
    return marks, y
