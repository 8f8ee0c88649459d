"""Substitutes on the screen: a table with what changes, or one JSON object."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text

from pic2chart.cli.screen import block, new_console, new_table, one_line, put, section
from pic2chart.cli.words import SHELL, worded
from pic2chart.core.messages import Message

if TYPE_CHECKING:
    from pic2chart.yarns.substitute import Substitute


def print_substitutes(
    name: str, found: Sequence[Substitute], remarks: Sequence[Message], out: Path | None
) -> None:
    """Print everything as one JSON object."""
    plain = {
        "missing": name,
        "substitutes": [one.to_dict(SHELL) for one in found],
        "remarks": [worded(remark) for remark in remarks],
        "file": None if out is None else str(out),
    }
    print(json.dumps(plain, indent=2, ensure_ascii=False))


def show_substitutes(
    name: str,
    grams: float | None,
    found: Sequence[Substitute],
    remarks: Sequence[Message],
    out: Path | None,
) -> None:
    """Print the yarns, best first, and what changes with each."""
    console = new_console()
    with console.capture() as screen:
        need = "" if grams is None else f", {grams:.0f} g with the reserve"
        console.print(Text(one_line(f"In the place of {name}{need}"), style="bold"))
        if not found:
            console.print(Text("Nothing on the shelf can take its place."))
        headings = ("yarn", "ΔE", "lighter by", "grams", "m/100 g")
        table = new_table("<", ">", ">", ">", ">", headings=headings)
        notes = new_table("<", "<")
        for one in found:
            table.add_row(
                block(one.yarn.name, one.yarn.colour, console.color_system is not None),
                Text(f"{one.delta_e:.0f}"),
                Text(f"{one.delta_L:+.0f} L*"),
                Text("not known" if one.yarn.grams is None else f"{one.yarn.grams:.0f} g"),
                Text("not known" if one.weight is None else f"{one.weight:+.0%}"),
            )
            words = [worded(remark) for remark in one.remarks] or ["Nothing changes."]
            notes.add_row(Text(one_line(one.yarn.name)), Text(one_line(" ".join(words))))
        if found:
            section(console, "Best first", table)
            section(console, "What changes", notes)
        for remark in remarks:
            console.print(Text(one_line(worded(remark))))
        if out is not None:
            console.print(Text(f"\nWritten  {one_line(str(out))}"), soft_wrap=True)
    put(screen.get())
