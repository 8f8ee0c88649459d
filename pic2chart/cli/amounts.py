"""`pic2chart amounts`: how much of each yarn a chart or a garment takes, and what is short on the shelf."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import Json

EXAMPLE = "pic2chart amounts dog-chart/dog.chart.json --shelf shelf.csv --swatch-grams 4.6"


def amounts(
    charts: Annotated[
        list[Path],
        typer.Argument(
            metavar="CHART...",
            help="A chart, or the charts of one garment, or its folder; they are added up.",
        ),
    ],
    shelf: Annotated[
        Path | None,
        typer.Option(
            "--shelf",
            metavar="FILE",
            help="Shelf with m_per_100g, grams in stock and price of one ball, found by name.",
        ),
    ] = None,
    times: Annotated[
        int, typer.Option("--times", metavar="N", help="How many pieces, 2 for a pair. 1 to 1000.")
    ] = 1,
    ball: Annotated[
        float, typer.Option("--ball", metavar="G", help="Grams in one ball. 1 to 5000.")
    ] = 50.0,
    reserve: Annotated[
        float, typer.Option("--reserve", metavar="%", help="Reserve in per cent. 0 to 100.")
    ] = 10.0,
    swatch_grams: Annotated[
        float | None,
        typer.Option(
            "--swatch-grams",
            metavar="G",
            help="Weight of your washed two-colour stranded swatch, without cast-on. 0.5 to 5000.",
        ),
    ] = None,
    swatch_size: Annotated[
        str, typer.Option("--swatch-size", metavar="WxH", help="Size of that swatch in cm.")
    ] = "10x10",
    json: Json = False,
) -> None:
    """Tell how much of each yarn a chart or garment takes."""
    from pic2chart.cli.show_amounts import print_amounts, show_amounts
    from pic2chart.model.any_file import chart_paths, read_any
    from pic2chart.yarns.amounts import AmountOptions, amounts_of_all
    from pic2chart.yarns.shelf import Shelf

    options = AmountOptions(times, reserve / 100, ball, swatch_grams, _area(swatch_size))
    read = [read_any(path) for path in chart_paths(charts)]
    stock = Shelf() if shelf is None else Shelf.read(shelf)
    found = amounts_of_all(read, options, stock.yarns, stock.remarks, stock.in_grey)
    if json:
        print_amounts(found)
    else:
        show_amounts(found)


def _area(text: str) -> float:
    """Square centimetres of 'WxH'."""
    from pic2chart.core.errors import SettingError
    from pic2chart.core.messages import message

    number = r"(\d{1,4}(?:\.\d+)?)"
    match = re.fullmatch(rf"\s*{number}\s*[xX×]\s*{number}\s*", text)
    if match is None:
        raise SettingError(message("area-unreadable", text=text[:40], options=("swatch_cm2",)))
    return float(match[1]) * float(match[2])
