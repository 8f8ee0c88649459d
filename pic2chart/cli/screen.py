"""What every command that prints shares: safe text, the console, plain tables, sections, blocks."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from pic2chart.core.english.grammar import one_line as one_line

# Small helpers for what is printed: nothing a file says may steer the terminal.


def many(count: int, one: str, more: str | None = None) -> str:
    """'1 stitch', '1,920 stitches'."""
    return f"{count:,} {one if count == 1 else more or one + 's'}"


MOST_WIDTH = 100


def new_console() -> Console:
    """Plain text of a steady width when the output is piped, colour on a terminal."""
    console = Console(file=sys.stdout, highlight=False, markup=False, emoji=False)
    console.width = min(console.width, MOST_WIDTH) if console.is_terminal else MOST_WIDTH
    return console


def new_table(*sides: str, headings: tuple[str, ...] = ()) -> Table:
    """A table without lines; `sides` gives a '<' or '>' for every column."""
    table = Table(box=None, show_header=bool(headings), pad_edge=False, padding=(0, 2, 0, 0))
    for column, side in enumerate(sides):
        heading = headings[column] if headings else ""
        justify: Any = "right" if side == ">" else "left"
        table.add_column(heading, justify=justify, overflow="fold", header_style="dim")
    return table


def section(console: Console, title: str, table: Table) -> None:
    """A heading and a table set in under it."""
    console.print(Text(f"\n{title}", style="bold"))
    console.print(Padding(table, (0, 0, 0, 2)))


def block(name: str, colour: str, coloured: bool, cells: int = 6) -> Text:
    """A yarn's name, after a block of its colour where the terminal has colours."""
    words = Text(one_line(name))
    return Text.assemble((" " * cells, f"on {colour}"), " ", words) if coloured else words


def put(screen: str) -> None:
    """Print what was captured, without spaces at the ends of lines."""
    for line in screen.splitlines():
        print(line.rstrip())


def written(files: Sequence[Path], pdf: str) -> list[str]:
    """Lines that tell of written files: PDFs first, with what they are, and single drawings as a number."""
    from pic2chart.sheets.thing_file import PARTS

    drawings = [file for file in files if file.parent.name == PARTS]
    whole = sorted((f for f in files if f not in drawings), key=lambda file: file.suffix != ".pdf")
    lines = [f"{f}  ({pdf})" if f.suffix == ".pdf" else str(f) for f in whole]
    if drawings:
        counted = f"{many(len(drawings), 'drawing')} in {drawings[0].parent}"
        lines.append(f"and {counted}" if whole else counted)
    return [("         " if n else "Written  ") + one_line(line) for n, line in enumerate(lines)]
