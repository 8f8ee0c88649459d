"""`pic2chart substitute`: what to knit with when a yarn is short or not to be had."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import ChartFile, Json

EXAMPLE = "pic2chart substitute dog-chart/dog.chart.json ink --shelf shelf.csv"


def substitute(
    chart: ChartFile,
    yarn: Annotated[str, typer.Argument(metavar="YARN", help="The yarn that is missing.")],
    shelf: Annotated[
        Path, typer.Option("--shelf", metavar="FILE", help="The shelf to choose from.")
    ],
    most: Annotated[
        int, typer.Option("--most", metavar="N", help="How many to name, best first. 1 to 40.")
    ] = 5,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FILE", help="Write the chart in the first of them."),
    ] = None,
    json: Json = False,
) -> None:
    """Find what can take a yarn's place.

    The nearest of the shelf by value against the yarns it meets, grams in stock, weight and colour,
    with what changes.
    """
    from pic2chart.cli.show_substitute import print_substitutes, show_substitutes
    from pic2chart.model.any_file import read_any
    from pic2chart.model.chart_file import write_chart
    from pic2chart.yarns.amounts import AmountOptions, amounts_of
    from pic2chart.yarns.shelf import Shelf
    from pic2chart.yarns.substitute import substitutes, with_yarn, yarn_index

    given, stock = read_any(chart), Shelf.read(shelf)
    name = given.yarns[yarn_index(given.yarns, yarn)].name
    takes = {one.name: one.with_reserve for one in amounts_of(given, AmountOptions()).yarns}
    found = substitutes([given], name, stock.yarns, takes.get(name), max(1, min(most, 40)))
    written = out if out is not None and found else None
    if written is not None:
        write_chart(with_yarn(given, name, found[0].yarn), written)
    if json:
        print_substitutes(name, found, stock.remarks, written)
    else:
        show_substitutes(name, takes.get(name), found, stock.remarks, written)
