"""`pic2chart chart`: a picture becomes a chart folder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import Json, chart_folder, with_settings
from pic2chart.cli.words import SHELL
from pic2chart.core.settings import Settings

EXAMPLE = "pic2chart chart dog.jpg --stitches 64 --yarn oat=#ece2d0 --yarn ink=#26304c"


@with_settings
def chart(
    settings: Settings,
    picture: Annotated[Path, typer.Argument(metavar="PICTURE", help="A photo or drawing.")],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", metavar="DIR", help="Folder for the chart; NAME-chart when left out."
        ),
    ] = None,
    compare: Annotated[
        bool,
        typer.Option(
            "--compare",
            help="Write NAME-looks.png too: every look side by side with its likeness; and "
            "NAME-frames.png: the whole picture, close, head and shoulders, and which can be read.",
        ),
    ] = False,
    json: Json = False,
) -> None:
    """Turn a picture into a chart that can be knitted.

    The folder holds NAME.chart.json, NAME.png (one pixel a stitch), NAME.svg (the chart to knit
    from) and NAME-front.png (the fabric).
    """
    from pic2chart.cli.progress import Steps
    from pic2chart.cli.show import print_json, show, status
    from pic2chart.core.files import refuse_unwritable, write_folder
    from pic2chart.model.chart_file import refuse_over_another
    from pic2chart.pipeline import make_chart, write_chart_folder

    folder = chart_folder(picture, out)
    refuse_unwritable(folder)
    refuse_over_another(folder, picture)
    with Steps() as steps:
        made = make_chart(picture, settings, steps)
        files = write_chart_folder(made, folder, picture)
        if compare:
            from pic2chart import compare as choices

            recall = choices.remembering()
            looks = choices.compare_looks(picture, settings, steps, recall)
            frames = choices.compare_frames(picture, settings, steps, recall)
            sheets = {
                f"{made.stem}-looks.png": choices.looks_picture(looks, door=SHELL),
                f"{made.stem}-frames.png": choices.frames_picture(frames, door=SHELL),
            }
            files += write_folder(sheets, folder, picture)
    if json:
        print_json(made.report, made.findings, files=[str(file) for file in files])
    else:
        show(made.report, made.findings, files=files)
    raise typer.Exit(status(made.findings))
