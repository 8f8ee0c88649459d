"""Shadings on the screen: the sequences, the yarns round by round, and ends; or one JSON object."""

from __future__ import annotations

import json
from collections.abc import Sequence
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.table import Table
from rich.text import Text

from pic2chart.cli.screen import block, many, new_console, new_table, one_line, put, section
from pic2chart.cli.words import SHELL, worded
from pic2chart.core.colour import lightness
from pic2chart.core.messages import Message

if TYPE_CHECKING:
    from pic2chart.yarns.amounts import Amounts
    from pic2chart.yarns.shading import Shaded


def print_shading(
    shaded: Sequence[Shaded],
    amounts: Sequence[Amounts],
    remarks: Sequence[Message],
    files: Sequence[Path],
) -> None:
    """Print everything as one JSON object."""
    plain: dict[str, Any] = {
        "shadings": [
            one.shades.to_dict()
            | {
                "ends": one.ends,
                "ends_before": one.ends_before,
                "rounds": [[one.chart.yarns[i].name for i in pair] for pair in one.rounds.tolist()],
            }
            for one in shaded
        ],
        "amounts": [found.to_dict(SHELL) for found in amounts],
        "remarks": [worded(remark) for remark in remarks],
        "files": [str(file) for file in files],
    }
    print(json.dumps(plain, ensure_ascii=False))


def show_shading(
    shaded: Sequence[Shaded],
    amounts: Sequence[Amounts],
    remarks: Sequence[Message],
    files: Sequence[Path],
) -> None:
    """Print the sequences, and the best one round by round."""
    console = new_console()
    with console.capture() as screen:
        if not shaded:
            words = (
                "No shades of this shelf keep that difference wherever they meet. Ask for fewer."
            )
            console.print(Text(words))
        for place, one in enumerate(shaded):
            console.print(Text(f"{place + 1}. never less than {one.shades.least_L:.0f} L* apart"))
            for what, yarns in (("ground", one.shades.ground), ("motif", one.shades.motif)):
                names = ", ".join(f"{y.name} ({float(lightness(y.rgb)):.0f})" for y in yarns)
                console.print(Text(f"   {what}: {one_line(names)}"))
            console.print(
                Text(f"   {many(one.ends, 'end')} of yarn ({one.ends_before} in two yarns)")
            )
        if shaded:
            table = _rounds(shaded[0], console.color_system is not None)
            section(console, "The first, from the first round knitted", table)
        for found in amounts:
            section(console, "Yarn it takes, with the reserve", _amounts(found))
        for remark in remarks:
            console.print(Text(one_line(worded(remark))))
        for file in files:
            console.print(Text(f"\nWritten  {one_line(str(file))}"), soft_wrap=True)
    put(screen.get())


def _rounds(one: Shaded, coloured: bool) -> Table:
    """Rounds that have the same two yarns as one line."""
    table = new_table("<", "<", "<", ">", headings=("rounds", "ground", "motif", "L* apart"))
    yarns, first = one.chart.yarns, 1
    for (ground, motif), same in groupby(map(tuple, one.rounds.tolist())):
        count = len(list(same))
        apart = abs(float(lightness(yarns[ground].rgb)) - float(lightness(yarns[motif].rgb)))
        table.add_row(
            Text(f"{first}" if count == 1 else f"{first} to {first + count - 1}"),
            *(block(yarns[i].name, yarns[i].colour, coloured) for i in (ground, motif)),
            Text(f"{apart:.0f}"),
        )
        first += count
    return table


def _amounts(found: Amounts) -> Table:
    table = new_table("<", ">", ">")
    for yarn in found.yarns:
        short = f"{yarn.short_g:.0f} g short" if yarn.short_g else ""
        table.add_row(Text(one_line(yarn.name)), Text(f"{yarn.with_reserve:.0f} g"), Text(short))
    return table
