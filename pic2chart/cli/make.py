"""`pic2chart make NAME`: a picture, a chart or a repeat becomes a garment, of any kind in the table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from typing import Annotated, Any

import typer

from pic2chart.cli.flags import Json, with_settings
from pic2chart.cli.words import SHELL
from pic2chart.core.messages import fill
from pic2chart.core.settings import Settings
from pic2chart.garment.kind import Kind

_OWN = ("stitches", "rounds", "flat", "float_limit")
"""Settings that a garment decides itself."""
_LISTENS = [f.name for f in fields(Settings) if f.name not in _OWN]


def example(kind: Kind) -> str:
    """The example that the kind's help ends with."""
    return f"pic2chart make {kind.name} {fill(kind.example, SHELL)}"


def maker(kind: Kind) -> Callable[..., Any]:
    """The command that makes one kind of garment."""

    def make(
        settings: Settings,
        options: Any,
        picture: Annotated[
            Path,
            typer.Argument(
                metavar="MOTIF", help="A picture, a chart, or a small PNG of one pixel a stitch."
            ),
        ],
        out: Annotated[
            Path | None,
            typer.Option(
                "--out", metavar="DIR", help="Folder to write to; NAME-GARMENT when left out."
            ),
        ] = None,
        sizes: Annotated[
            str | None,
            typer.Option(
                "--sizes",
                metavar="SIZES",
                help="Several named sizes in one pattern, such as 7,8,9 or 7..10; charts are shared "
                "where sizes agree.",
            ),
        ] = None,
        json: Json = False,
    ) -> None:
        from pic2chart.cli.progress import Steps
        from pic2chart.cli.show import status
        from pic2chart.cli.show_garment import print_garment, show_garment
        from pic2chart.core.files import file_stem, refuse_unwritable
        from pic2chart.garment.grading import grade
        from pic2chart.garment.making import make_garment, write_garment
        from pic2chart.model.chart_file import refuse_over_another

        folder = out if out is not None else Path(f"{file_stem(picture.stem)}-{kind.name}")
        refuse_unwritable(folder)
        refuse_over_another(folder, picture)
        with Steps() as steps:
            garment = (
                make_garment(kind.name, picture, settings, options, steps)
                if sizes is None
                else grade(kind.name, picture, settings, options, sizes, steps)
            )
            files = write_garment(garment, folder, picture)
        (print_garment if json else show_garment)(garment, files)
        raise typer.Exit(status(garment.findings))

    make.__doc__ = (
        f"Make {kind.description}.\n\nThe folder holds every piece's chart (.chart.json), one pattern of "
        "the whole (.pdf, -words.txt, -knit-along.html), and its single drawings in the folder parts."
    )
    return with_settings(with_settings(make, kind=kind.options, name="options"), _LISTENS)
