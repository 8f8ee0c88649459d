"""Measured shades on the screen: a table with blocks of their colours, or one JSON object."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from pic2chart.cli.screen import block, new_console, new_table, one_line, put, section
from pic2chart.cli.words import SHELL, worded
from pic2chart.core.colour import lab_to_srgb, to_hex

if TYPE_CHECKING:
    from pic2chart.yarns.yarn_photo import Measured


_WHAT = (
    "Colour is the fibre's own, in even light; 'as wound' is what shadows between strands make of it "
    "from afar. 19 times in 20 the colour lies within the ΔE*ab, and its lightness within the L*, that is stated."
)


def print_shades(measured: Measured, changes: Sequence[str], files: Sequence[Path]) -> None:
    """Print everything as one JSON object."""
    more = {"shelf": list(changes), "files": [str(file) for file in files]}
    print(json.dumps(measured.to_dict(SHELL) | more, indent=2, ensure_ascii=False))


def show_shades(
    measured: Measured, changes: Sequence[str], shelf: Path | None, files: Sequence[Path]
) -> None:
    """Print the shades, how the light was corrected, the dye lots, and what the shelf now says."""
    console = new_console()
    with console.capture() as screen:
        console.print(Text(one_line(measured.photo), style="bold"))
        section(console, "Shades", _shades(measured, console.color_system is not None))
        console.print(Padding(Text(_WHAT, style="dim"), (0, 0, 0, 2)))
        section(
            console,
            "The light and the patches",
            _lines([worded(remark) for remark in measured.remarks]),
        )
        if measured.lots:
            section(console, "As dye lots (grey scale of ISO 105-A02, 5 best)", _lots(measured))
        if shelf is not None:
            section(console, f"Shelf {one_line(str(shelf))}", _lines(changes))
        console.print(Text("\nCheck the colours against the yarn in daylight before you buy."))
        for file in files:
            console.print(Text(f"\nWritten  {one_line(str(file))}"), soft_wrap=True)
    put(screen.get())


def _shades(measured: Measured, coloured: bool) -> Table:
    headings = ("yarn", "colour", "L*", "a*", "b*", "within", "as wound")
    table = new_table("<", "<", ">", ">", ">", ">", "<", headings=headings)
    rows = zip(measured.shades, measured.uncertainties, measured.within_L, strict=True)
    for shade, uncertainty, light in rows:
        table.add_row(
            block(shade.name, shade.colour, coloured),
            Text(shade.colour),
            *(Text(f"{value:.1f}") for value in shade.lab),
            Text("not known" if uncertainty is None else f"{uncertainty:.0f} ΔE, {light:.0f} L*"),
            block(to_hex(lab_to_srgb(shade.seen)), to_hex(lab_to_srgb(shade.seen)), coloured),
        )
    return table


def _lots(measured: Measured) -> Table:
    table = new_table("<", ">", "<", "<")
    for lot in measured.lots:
        table.add_row(
            Text(one_line(f"{lot.first} and {lot.second}")),
            Text(f"ΔE {lot.delta_e:.1f}"),
            Text(f"grade {lot.grade}"),
            Text(lot.words),
        )
    return table


def _lines(lines: Sequence[str]) -> Table:
    table = new_table("<")
    for line in lines:
        table.add_row(Text(one_line(line)))
    return table
