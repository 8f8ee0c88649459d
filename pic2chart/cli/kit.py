"""`pic2chart kit`, `kit pack` and `kit undo`: what goes into each bag, and the stock taken off for it."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import Json

EXAMPLE = "pic2chart kit mittens.toml --shelf shelf.csv --out labels"
PACK_EXAMPLE = "pic2chart kit pack mittens.toml S/winter --count 2 --shelf shelf.csv --out labels"
UNDO_EXAMPLE = "pic2chart kit undo --shelf shelf.csv"

KitFile = Annotated[
    Path, typer.Argument(metavar="KIT", help="A kit file (TOML): sizes, colourways, costs, margin.")
]
ShelfFile = Annotated[Path, typer.Option("--shelf", metavar="FILE", help="The shelf.")]
Out = Annotated[
    Path | None, typer.Option("--out", metavar="DIR", help="Folder for labels to print, as PDF.")
]


def kit(plan: KitFile, shelf: ShelfFile, out: Out = None, json: Json = False) -> None:
    """Plan kits: what goes into each bag, its cost and price.

    For each size and colourway. Says how many the shelf allows of each. Every yarn of a bag is of one lot.
    The file's form stands in pic2chart/yarns/README.md.
    """
    from pic2chart.cli.show_kits import print_kits, show_kits
    from pic2chart.core.files import write_folder
    from pic2chart.sheets.labels import kit_labels
    from pic2chart.sheets.writers.pdf import sheets_pdf
    from pic2chart.yarns.kits import kits_of, read_kit_plan
    from pic2chart.yarns.shelf import Shelf

    read, stock = read_kit_plan(plan), Shelf.read(shelf)
    found = kits_of(read, plan.parent, stock)
    files = []
    if out is not None:
        labels = sheets_pdf(kit_labels(found), title=f"Labels: {read.title}")
        files = write_folder({"labels.pdf": labels}, out)
    (print_kits if json else show_kits)(read.title, found, stock.remarks, files)


def pack(
    plan: KitFile,
    which: Annotated[
        str, typer.Argument(metavar="SIZE/COLOURWAY", help="The kit to pack, like S/winter.")
    ],
    shelf: ShelfFile,
    count: Annotated[
        int, typer.Option("--count", metavar="N", help="How many bags. 1 to 1000.")
    ] = 1,
    out: Out = None,
    json: Json = False,
) -> None:
    """Pack kits: take their yarn off the shelf.

    The change is logged beside the shelf, and `kit undo` takes it back.
    """
    from pic2chart.cli.show_kits import print_packed, show_packed
    from pic2chart.core.files import write_folder
    from pic2chart.sheets.labels import kit_labels
    from pic2chart.sheets.writers.pdf import sheets_pdf
    from pic2chart.yarns.kits import kit_named, kits_of, pack_kits, read_kit_plan
    from pic2chart.yarns.shelf import Shelf

    read = read_kit_plan(plan)
    size, _, colourway = which.partition("/")
    chosen = kit_named(kits_of(read, plan.parent, Shelf.read(shelf)), size, colourway)
    done = pack_kits(chosen, count, read.ball, shelf, date.today().isoformat())
    files = []
    if out is not None:
        sheets = kit_labels([chosen] * count, done.bags)
        files = write_folder({"labels.pdf": sheets_pdf(sheets, title="Labels")}, out)
    (print_packed if json else show_packed)(done, files)


def undo(shelf: ShelfFile, json: Json = False) -> None:
    """Undo the last change of a shelf.

    Changes are those that `kit pack` and `shade` made; they lie in a log beside the shelf.
    """
    from pic2chart.cli.show_kits import print_undone, show_undone
    from pic2chart.yarns.stock_log import undo_change

    change = undo_change(shelf, date.today().isoformat())
    (print_undone if json else show_undone)(change)
