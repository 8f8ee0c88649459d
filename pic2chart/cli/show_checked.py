"""The charts of a folder, checked: one report of all."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text

from pic2chart.cli.screen import many, new_console, one_line, put
from pic2chart.cli.show import as_json, counted, show_findings, size_words

if TYPE_CHECKING:
    from pic2chart.design.checked import Checked


def print_charts(charts: Sequence[tuple[Path, Checked]]) -> None:
    """Print one JSON object: of every chart its file, its report and its findings."""
    entries = [{"file": str(file), **as_json(c.report, c.findings)} for file, c in charts]
    print(json.dumps({"charts": entries}, indent=2))


def show_charts(charts: Sequence[tuple[Path, Checked]]) -> None:
    """Print every chart's size and findings, and at the end what they come to."""
    console = new_console()
    with console.capture() as screen:
        for file, checked in charts:
            title = Text(one_line(checked.report.title), style="bold")
            console.print(title, Text(one_line(file.name), style="dim"), soft_wrap=True)
            console.print(Text(size_words(checked.report)))
            show_findings(console, checked.report, checked.findings, limit=None)
        console.print(Text(_summary([c for _, c in charts]), style="bold"))
    put(screen.get())


def _summary(charts: Sequence[Checked]) -> str:
    """'4 charts checked: 2 errors, 17 notes.'"""
    found = [(sum(getattr(c.report, f"{word}s") for c in charts), word) for word in _LEVELS]
    return f"{many(len(charts), 'chart')} checked: {counted(found) or 'every rule holds'}."


_LEVELS = ("error", "warning", "note")
