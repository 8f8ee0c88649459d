"""Kits on the screen: bags, cost, price and how many there can be; what was packed or undone."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text

from pic2chart.cli.screen import many, new_console, new_table, one_line, put
from pic2chart.cli.words import worded
from pic2chart.core.messages import Message

if TYPE_CHECKING:
    from pic2chart.yarns.kits import Kit, Packed
    from pic2chart.yarns.stock_log import StockChange


def print_kits(
    title: str, kits: Sequence[Kit], remarks: Sequence[Message], files: Sequence[Path]
) -> None:
    """Print everything as one JSON object."""
    plain = {
        "title": title,
        "kits": [kit.to_dict() for kit in kits],
        "remarks": [worded(remark) for remark in remarks],
        "files": [str(file) for file in files],
    }
    print(json.dumps(plain, indent=2, ensure_ascii=False))


def show_kits(
    title: str, kits: Sequence[Kit], remarks: Sequence[Message], files: Sequence[Path]
) -> None:
    """Print a line for each kit, with what goes into the bag."""
    console = new_console()
    headings = ("size", "colourway", "in the bag", "cost", "price", "the shelf allows")
    table = new_table("<", "<", "<", ">", ">", ">", headings=headings)
    for kit in kits:
        balls = ", ".join(f"{yarn.balls} × {yarn.name}" for yarn in kit.yarns)
        table.add_row(
            Text(one_line(kit.size)),
            Text(one_line(kit.colourway)),
            Text(one_line(balls)),
            Text("not known" if kit.cost is None else f"{kit.cost:.2f}"),
            Text("" if kit.price is None else f"{kit.price:.2f}"),
            Text(many(kit.kits, "kit")),
        )
    with console.capture() as screen:
        console.print(Text(one_line(title), style="bold"))
        console.print(table)
        for needle in kits[0].needles if kits else ():
            console.print(Text(f"  {one_line(f'and in every bag: {needle}')}"))
        words = "  Each number of kits is for that kit alone; they draw on the same yarns."
        console.print(Text(words, style="dim"))
        for remark in remarks:
            console.print(Text(one_line(worded(remark))))
        for file in files:
            console.print(Text(f"\nWritten  {one_line(str(file))}"), soft_wrap=True)
    put(screen.get())


def print_packed(done: Packed, files: Sequence[Path]) -> None:
    """Print what was packed as one JSON object."""
    plain = {
        "packed": done.change.what,
        "number": done.change.number,
        "bags": [[{"yarn": name, "balls": balls} for name, balls in bag] for bag in done.bags],
        "files": [str(file) for file in files],
    }
    print(json.dumps(plain, indent=2, ensure_ascii=False))


def show_packed(done: Packed, files: Sequence[Path]) -> None:
    """Print what was packed, and of which lots."""
    taken: Counter[str] = Counter()
    for bag in done.bags:
        taken.update(dict(bag))
    console = new_console()
    with console.capture() as screen:
        console.print(Text(one_line(f"Change {done.change.number}: {done.change.what}")))
        for name, balls in taken.items():
            console.print(Text(f"  {many(balls, 'ball')} of {one_line(name)}"))
        for file in files:
            console.print(Text(f"\nWritten  {one_line(str(file))}"), soft_wrap=True)
    put(screen.get())


def print_undone(change: StockChange) -> None:
    """Print what was undone as one JSON object."""
    print(json.dumps({"undone": change.undoes, "what": change.what}, ensure_ascii=False))


def show_undone(change: StockChange) -> None:
    """Print what was undone."""
    console = new_console()
    with console.capture() as screen:
        console.print(Text(one_line(f"Change {change.number}: {change.what}")))
    put(screen.get())
