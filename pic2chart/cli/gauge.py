"""`pic2chart gauge`: stitches and rounds in 10 cm from a photo of a swatch."""

from __future__ import annotations

import json as json_module
from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import Json, with_settings
from pic2chart.reading.reading_settings import GaugeSettings

EXAMPLE = "pic2chart gauge swatch.jpg"


@partial(with_settings, kind=GaugeSettings)
def gauge(
    settings: GaugeSettings,
    photo: Annotated[
        Path,
        typer.Argument(metavar="PHOTO", help="A photo of a swatch with a bank card beside it."),
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FILE",
            help="Picture of the columns and rounds that were counted; NAME-gauge.jpg when left out.",
        ),
    ] = None,
    json: Json = False,
) -> None:
    """Count the stitches and rounds in 10 cm of a swatch.

    Lay the washed swatch flat, its right side up, and a bank or library card beside it; take the
    photo from above. Look at the picture that is written: every line should lie on a column or round,
    and the outline below on the card's edge, not on its shadow's.
    """
    from pic2chart.cli.screen import many, one_line
    from pic2chart.core.files import refuse_over, write_atomic
    from pic2chart.reading.counted_gauge import CountedGauge, measure_counted
    from pic2chart.reading.swatch_photo import SwatchGauge, measure_swatch

    measured: SwatchGauge | CountedGauge
    measured = (measure_counted if settings.counted else measure_swatch)(photo, settings)
    file = out if out is not None else Path(f"{measured.stem}-gauge.jpg")
    refuse_over(photo, [file])
    write_atomic(file, measured.overlay)
    if json:
        typer.echo(json_module.dumps({**measured.to_dict(), "file": str(file)}, indent=2))
    else:
        typer.echo(one_line(measured.verdict))
        if isinstance(measured, CountedGauge):
            where = "by you"
        else:
            where = f"in {many(measured.patches, 'place')}"
        typer.echo(f"Counted {where}; for a chart: --gauge {measured.option}")
        typer.echo(one_line(f"Check on {file} that {measured.to_check}"))
