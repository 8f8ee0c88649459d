"""`pic2chart read`: a photo of a chart on squared paper becomes a chart file."""

from __future__ import annotations

from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import Json, chart_folder, with_settings
from pic2chart.reading.reading_settings import ReadSettings

EXAMPLE = "pic2chart read old-chart.jpg --gauge 28x31 --out old-chart"


@partial(with_settings, kind=ReadSettings)
def read(
    settings: ReadSettings,
    photo: Annotated[
        Path, typer.Argument(metavar="PHOTO", help="A photo, scan or screenshot of a chart.")
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", metavar="DIR", help="Folder for the chart; NAME-chart when left out."
        ),
    ] = None,
    json: Json = False,
) -> None:
    """Read a chart on squared paper from a photo.

    It may be coloured, printed or pencilled.

    The folder holds what the chart command makes, and NAME-read.jpg: the photo with what was read
    drawn over it, uncertain squares outlined. Compare it before you knit.
    """
    from pic2chart.cli.show import print_json, show, status
    from pic2chart.core.files import refuse_unwritable
    from pic2chart.model.chart_file import refuse_over_another
    from pic2chart.reading.chart_photo import read_photo, write_reading

    folder = chart_folder(photo, out)
    refuse_unwritable(folder)
    refuse_over_another(folder, photo)
    reading = read_photo(photo, settings)
    files = write_reading(reading, folder, photo)
    if json:
        print_json(
            reading.report,
            reading.findings,
            files=[str(file) for file in files],
            repeat=asdict(reading.repeat),
            doubts=[asdict(stitch) for stitch in reading.uncertain],
            corners=reading.outline,
        )
    else:
        show(reading.report, reading.findings, files=files)
    raise typer.Exit(status(reading.findings))
