"""All looks of one picture, charted under the same rules, to be picked from by eye."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import replace
from pathlib import Path
from typing import Any

from pic2chart.core.settings import Settings
from pic2chart.design.looks import LOOKS
from pic2chart.design.solution import Progress, silent
from pic2chart.pipeline import Made, make_chart


def compare_looks(
    picture: Path, settings: Settings, progress: Progress | None = None
) -> dict[str, Made]:
    """A chart in every look, by the look's name; the settings' own look is left out of account.

    Raises what `make_chart` raises. The picture is decoded, and its subject found, only once.
    """
    say, kept = progress or silent, dict[Hashable, Any]()

    def recall(key: Hashable, work: Callable[[], Any]) -> Any:
        if key not in kept:
            kept[key] = work()
        return kept[key]

    made = {}
    for number, name in enumerate(LOOKS):
        say(f"Drawing the look '{name}'", number / len(LOOKS))
        made[name] = make_chart(picture, replace(settings, look=name), recall=recall)
    return made


def looks_picture(made: dict[str, Made], dots_per_mm: float = 5.0) -> bytes:
    """The contact sheet of the looks as a PNG: fabric, likeness, floats and catches side by side."""
    from pic2chart.sheets.fabric.looks_sheet import LookCard, looks_sheet
    from pic2chart.sheets.writers.png import sheet_png

    cards = [LookCard(LOOKS[name], one.chart, look_words(one)) for name, one in made.items()]
    title = next(iter(made.values())).chart.title
    return sheet_png(looks_sheet(cards, title), dots_per_mm)


def look_words(made: Made) -> tuple[str, ...]:
    """What to weigh a look by, in two lines: likeness, then floats, catches and errors."""
    report = made.report
    kept = "" if report.likeness is None else f"Likeness {report.likeness.words}"
    floats = f"Longest float {report.longest_float} stitches, {report.catches} catches"
    trouble = f", {report.errors} errors" if report.errors else ""
    return kept, floats + trouble
