"""`pic2chart sheet`: print, teach and knit from a chart."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import Json, with_settings
from pic2chart.cli.words import SHELL
from pic2chart.sheets.sheet_settings import SheetSettings

EXAMPLE = "pic2chart sheet dog-chart/dog.chart.json --author 'A. Gull' --paper a4 --out dog-sheets"


@partial(with_settings, kind=SheetSettings)
def sheet(
    settings: SheetSettings,
    charts: Annotated[
        list[Path],
        typer.Argument(metavar="CHART...", help="Charts, or a folder of them such as a garment's."),
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", metavar="DIR", help="Folder for the sheets; NAME-sheets when left out."
        ),
    ] = None,
    json: Json = False,
) -> None:
    """Make what one prints, teaches from and knits from.

    One PDF (cover, schematic, pattern with its charts, strands, words), one file of words, a knit-along
    page for phone or tablet, and single drawings in the folder parts.
    """
    import json as json_module

    from pic2chart.cli.screen import many, one_line, written
    from pic2chart.core.files import refuse_unwritable, write_folder
    from pic2chart.sheets.document import read_and_make, stem_of

    folder = out if out is not None else Path(f"{stem_of(charts[0])}-sheets")
    refuse_unwritable(folder)
    made = read_and_make(charts, settings)
    files = write_folder(made.files, folder)
    errors = sum(map(len, made.errors))
    if json:
        more = {
            "files": [str(f) for f in files],
            "findings": [f.to_dict(SHELL) for found in made.errors for f in found],
            "notes": list(made.notes),
        }
        typer.echo(json_module.dumps(more, indent=2))
    else:
        for line in written(files, "to print"):
            typer.echo(line)
        for note in made.notes:
            typer.echo(one_line(note))
        if errors:
            faults = many(errors, "error")
            typer.echo(f"Take care: {faults} found in what is drawn here; see pic2chart check.")
    raise typer.Exit(int(errors > 0))
