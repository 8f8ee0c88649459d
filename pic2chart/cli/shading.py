"""`pic2chart shading`: a two-yarn chart in shades of ground and motif over its rounds."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import ChartFile, Json

EXAMPLE = (
    "pic2chart shading dog-chart/dog.chart.json --shelf shelf.csv --ground 3 --motif 2 --out shaded"
)


def shading(
    chart: ChartFile,
    shelf: Annotated[
        Path, typer.Option("--shelf", metavar="FILE", help="The shelf to choose from.")
    ],
    ground: Annotated[
        str,
        typer.Option(
            "--ground",
            metavar="N|NAMES",
            help="Shades of the ground, 1 to 6, or the yarns by name from the outside in: a,b,c.",
        ),
    ] = "3",
    motif: Annotated[
        str, typer.Option("--motif", metavar="N|NAMES", help="The same of the motif.")
    ] = "3",
    min_delta_l: Annotated[
        float | None,
        typer.Option(
            "--min-delta-l",
            metavar="X",
            help="Least difference in L* wherever two meet; the chart's own when left out.",
        ),
    ] = None,
    even: Annotated[
        str,
        typer.Option("--even", metavar="lightness|difference", help="What the steps are even in."),
    ] = "lightness",
    every: Annotated[
        int | None,
        typer.Option(
            "--every",
            metavar="N",
            help="Begin anew every N rounds; once over the chart if left out.",
        ),
    ] = None,
    one_way: Annotated[
        bool, typer.Option("--one-way", help="Not back from the last shade to the first.")
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="DIR",
            help="Folder for the chart in the best shades and a sheet of up to three in fabric.",
        ),
    ] = None,
    json: Json = False,
) -> None:
    """Shade ground and motif over the rounds.

    Light to dark and back in even steps, from a shelf, so that every two yarns that meet differ enough;
    changes lie where the fewest ends come.
    """
    from pic2chart.cli.show_shading import print_shading, show_shading
    from pic2chart.core.files import write_folder
    from pic2chart.model.any_file import read_any
    from pic2chart.sheets.fabric.side_by_side import shading_files
    from pic2chart.yarns.amounts import AmountOptions, amounts_of
    from pic2chart.yarns.shading import shade_as
    from pic2chart.yarns.shelf import Shelf

    given, stock = read_any(chart), Shelf.read(shelf)
    shaded = shade_as(
        given,
        stock.yarns,
        ground,
        motif,
        even=even,
        every=every,
        back=not one_way,
        least=min_delta_l,
    )
    files = [] if out is None or not shaded else write_folder(shading_files(shaded), out, chart)
    amounts = [amounts_of(one.chart, AmountOptions(), stock.yarns) for one in shaded[:1]]
    if json:
        print_shading(shaded, amounts, stock.remarks, files)
    else:
        show_shading(shaded, amounts, stock.remarks, files)
