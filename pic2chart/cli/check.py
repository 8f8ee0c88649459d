"""`pic2chart check`: what would trouble a knitter in a chart, and its measures."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import Json

EXAMPLE = "pic2chart check dog-chart/dog.chart.json"


def check(
    chart: Annotated[
        Path,
        typer.Argument(
            metavar="CHART",
            help="A chart: NAME.chart.json, or its PNG, CSV, SVG or PDF; or a folder of charts such as "
            "a garment's.",
        ),
    ],
    json: Json = False,
) -> None:
    """Check that charts can be knitted, and list every finding."""
    from pic2chart.cli.show import print_json, show, status
    from pic2chart.cli.show_checked import print_charts, show_charts
    from pic2chart.design.checked import check_charts

    charts = check_charts(chart)
    if chart.is_dir():
        (print_charts if json else show_charts)(charts)
    else:
        ((_, checked),) = charts
        if json:
            print_json(checked.report, checked.findings)
        else:
            show(checked.report, checked.findings, limit=None)
    raise typer.Exit(max(status(checked.findings) for _, checked in charts))
