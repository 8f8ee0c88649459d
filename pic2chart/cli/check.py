"""`pic2chart check`: what would trouble a knitter in a chart, and its measures."""

from __future__ import annotations

import typer

from pic2chart.cli.flags import ChartFile, Json

EXAMPLE = "pic2chart check dog-chart/dog.chart.json"


def check(chart: ChartFile, json: Json = False) -> None:
    """Check that a chart can be knitted, and list every finding."""
    from pic2chart.cli.show import print_json, show, status
    from pic2chart.design.checked import check_chart

    checked = check_chart(chart)
    if json:
        print_json(checked.report, checked.findings)
    else:
        show(checked.report, checked.findings, limit=None)
    raise typer.Exit(status(checked.findings))
