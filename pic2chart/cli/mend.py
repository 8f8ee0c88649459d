"""`pic2chart mend`: change as few stitches as can be until the rules hold."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.options import ChartFile, Json

EXAMPLE = "pic2chart mend old.chart.json --out mended.chart.json"


def mend(
    chart: ChartFile,
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="The chart file to write.")],
    json: Json = False,
) -> None:
    """Mend a chart: change as few stitches as can be until its rules hold, and list them."""
    from pic2chart.chart.json_file import write_chart
    from pic2chart.cli.progress import Steps
    from pic2chart.cli.show import print_json, show, show_changes, status
    from pic2chart.pipeline import mend_chart

    with Steps() as steps:
        mended = mend_chart(chart, steps)
    write_chart(mended.chart, out)
    if json:
        changes = [asdict(change) for change in mended.changes]
        print_json(mended.report, mended.findings, files=[str(out)], changes=changes)
    else:
        show(mended.report, mended.findings, files=[out])
        show_changes(mended.changes)
    raise typer.Exit(status(mended.findings))
