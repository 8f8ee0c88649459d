"""`pic2chart practice`: a swatch to learn stranded knitting on."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import Json, with_settings
from pic2chart.core.settings import Settings
from pic2chart.sheets.sheet_settings import SheetSettings

EXAMPLE = "pic2chart practice --yarn oat=#ece2d0 --yarn ink=#26304c --out practice-swatch"
_OF_CHART = ("yarn", "gauge", "left_handed")
_OF_SHEETS = ("author", "paper", "large_print", "units", "symbols", "wordless", "english")


@partial(with_settings, only=_OF_SHEETS, kind=SheetSettings, name="sheets")
@partial(with_settings, only=_OF_CHART)
def practice(
    settings: Settings,
    sheets: SheetSettings,
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Folder for the chart and its sheets.")
    ] = Path("practice-swatch"),
    json: Json = False,
) -> None:
    """Make a swatch to learn floats and catches on.

    Floats of 1, 3, 5 and 9, and a catch of each yarn, on a tube of 24 stitches, knitted twice over with
    over and under changed about, and what to look for.
    """
    import json as json_module

    from pic2chart.cli.screen import written
    from pic2chart.core.files import refuse_unwritable
    from pic2chart.sheets.practice import write_practice

    refuse_unwritable(out)
    files = write_practice(settings, sheets, out)
    if json:
        typer.echo(json_module.dumps({"files": [str(file) for file in files]}, indent=2))
    else:
        for line in written(files, "to print"):
            typer.echo(line)
