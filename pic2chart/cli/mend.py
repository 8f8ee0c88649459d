"""`pic2chart mend`: change as few stitches as can be until the rules hold."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import ChartFile, Json

EXAMPLE = "pic2chart mend old.chart.json --out mended.chart.json"


def mend(
    chart: ChartFile,
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="The chart file to write.")],
    json: Json = False,
) -> None:
    """Change as few stitches as can be until the rules hold.

    Beside FILE a chart sheet, FILE-changes.svg, outlines every stitch that changed.
    """
    from pic2chart.cli.progress import Steps
    from pic2chart.cli.show import print_json, show, show_changes, status
    from pic2chart.core.files import refuse_unwritable
    from pic2chart.mending import mend_chart, write_mended

    refuse_unwritable(out.parent)
    with Steps() as steps:
        mended = mend_chart(chart, steps)
    files = write_mended(mended, out)
    if json:
        changes = [asdict(change) for change in mended.changes]
        print_json(
            mended.report, mended.findings, files=[str(file) for file in files], changes=changes
        )
    else:
        show(mended.report, mended.findings, files=files)
        show_changes(mended.changes, mended.report.worked)
    raise typer.Exit(status(mended.findings))
