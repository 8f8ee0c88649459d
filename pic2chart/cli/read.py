"""`pic2chart read`: a photo of a chart on squared paper becomes a chart file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pic2chart.cli.flags import Json, chart_folder, with_settings
from pic2chart.reading.reading_settings import ReadSettings

if TYPE_CHECKING:
    from pic2chart.reading.chart_photo import Reading
    from pic2chart.reading.own_sheets import Restored

EXAMPLE = "pic2chart read old-chart.jpg --gauge 28x31 --out old-chart"


@partial(with_settings, kind=ReadSettings)
def read(
    settings: ReadSettings,
    photos: Annotated[
        list[Path],
        typer.Argument(
            metavar="PHOTO...",
            help="A photo, scan or screenshot of a chart; several pages of one printed sheet; or an "
            "SVG or PDF of this program.",
        ),
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

    It may be coloured, printed or pencilled. A sheet of this program comes back whole, with every
    catch and yarn, from its SVG or PDF or from the square codes on its pages.

    The folder holds what the chart command makes, and of squares that were read NAME-read.jpg: the
    photo with what was read drawn over it, uncertain squares outlined. Compare it before you knit.
    """
    from pic2chart.cli.show import show, status
    from pic2chart.core.files import refuse_unwritable
    from pic2chart.model.chart_file import refuse_over_another
    from pic2chart.reading.own_sheets import read_pages, write_pages

    folder = chart_folder(photos[0], out)
    refuse_unwritable(folder)
    refuse_over_another(folder, photos[0])
    charts = read_pages(photos, settings)
    files = write_pages(charts, folder, photos)
    if json:
        _print(charts, [str(file) for file in files])
    else:
        for chart in charts:
            show(chart.report, chart.findings, files=files if chart is charts[-1] else [])
    raise typer.Exit(max(status(chart.findings) for chart in charts))


def _print(charts: Sequence[Reading | Restored], files: list[str]) -> None:
    """One JSON object; where a garment was read its last chart with the others under `charts`."""
    from pic2chart.cli.show import as_json, print_json

    *others, last = charts
    more = {"charts": [as_json(one.report, one.findings) for one in others]} if others else {}
    print_json(last.report, last.findings, files=files, **_uncertain(last), **more)


def _uncertain(one: Reading | Restored) -> dict[str, Any]:
    """What is told of squares that were read one by one."""
    from pic2chart.reading.chart_photo import Reading

    if not isinstance(one, Reading):
        return {}
    return {
        "repeat": asdict(one.repeat),
        "doubts": [asdict(stitch) for stitch in one.uncertain],
        "corners": one.outline,
    }
