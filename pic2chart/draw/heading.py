"""The words of a chart sheet: title, author, facts and how to read it, notes under the key."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.chart import Chart
from pic2chart.draw.look import Look
from pic2chart.draw.page import Label, Mark, Point, clean, fit, wrap
from pic2chart.rules.cautions import cautions
from pic2chart.rules.finding import Finding
from pic2chart.rules.wording import round_word

_TITLE, _TYPE, _SMALL = 6.5, 3.3, 2.9
_LISTED = 20
FOUR_INCHES = 10.16


def heading(chart: Chart, look: Look, at: Point, width: float) -> tuple[list[Mark], float]:
    """Title, author and facts from `at` down; returns the marks and the height they end at."""
    title, kind = _TITLE * min(look.scale, 1.4), _TYPE * look.scale
    y = at[1] + 0.8 * title
    marks: list[Mark] = []
    for line in _title_lines(chart.title, title, width):
        marks.append(Label((at[0], y), line, title, bold=True, name="title"))
        y += 1.2 * title
    y += 1.5 - 1.2 * title
    if look.author:
        y += 1.4 * kind
        author = fit(clean(look.author), kind, width)
        marks.append(Label((at[0], y), author, kind, colour="#444444", name="author"))
    sentences = (facts(chart, look), reading(chart)) if look.words else (figures(chart, look),)
    for text in sentences:
        for line in wrap(text, kind, width):
            y += 1.4 * kind
            marks.append(Label((at[0], y), line, kind, name="facts"))
    return marks, y + 2.5


def _title_lines(title: str, size: float, width: float) -> list[str]:
    """The title in at most two lines."""
    lines = wrap(clean(title), size, width) or ["untitled"]
    return lines if len(lines) <= 2 else [lines[0], fit(" ".join(lines[1:]), size, width)]


def facts(chart: Chart, look: Look) -> str:
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


def figures(chart: Chart, look: Look) -> str:
    """The same in numbers and signs alone."""
    width, height = chart.gauge.size_cm(chart.usual_count, chart.round_count)
    stitches, up, over = _gauge(chart, look)
    return (
        f"{chart.stitch_count} × {chart.round_count}   ·   {stitches} × {up} / {over}   ·   "
        f"{look.length(width)} × {look.length(height)} {look.units}"
    )


def _gauge(chart: Chart, look: Look) -> tuple[str, str, str]:
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
    again = "" if chart.repeat is None else " Work what the heavy box holds again and again."
    return f"{hand}{way} One square is one stitch, seen from the right side.{again}"


def note_lines(chart: Chart, findings: Sequence[Finding] = ()) -> list[str]:
    """The findings in words, at most twenty, and the cautions."""
    told = [f"{f.level.capitalize()}: {f.message} {f.mend}" for f in findings[:_LISTED]]
    if len(findings) > _LISTED:
        told.append(f"… and {len(findings) - _LISTED} more findings.")
    return [*told, " ".join(cautions(chart))]


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
