"""`pic2chart make`: what can be made; `make NAME`: a picture, a chart or a repeat becomes a garment."""

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
from pic2chart.garment.kinds import GARMENTS

_OWN = ("stitches", "rounds", "flat", "float_limit")
"""Settings that a garment decides itself."""
_LISTENS = [f.name for f in fields(Settings) if f.name not in _OWN]


EXAMPLE = "pic2chart make"


def kinds(json: Json = False) -> None:
    """List what can be made."""
    import json as json_module

    from pic2chart.cli.screen import new_console, new_table, put, section

    if json:
        garments = [
            {"name": kind.name, "description": kind.description, "example": example(kind)}
            for kind in GARMENTS.values()
        ]
        typer.echo(json_module.dumps({"garments": garments}, indent=2))
        return
    console, table = new_console(), new_table("<", "<")
    for kind in GARMENTS.values():
        table.add_row(kind.name, kind.description)
    with console.capture() as screen:
        console.print("pic2chart make NAME MOTIF", style="bold")
        section(console, "Names", table)
        console.print(f"\nSuch as: {example(GARMENTS['mitten'])}")
        console.print("pic2chart make mitten --help tells what can be chosen for a mitten.")
    put(screen.get())


kinds.__doc__ = f"""List what can be made.

That is: {", ".join(GARMENTS)}. pic2chart make NAME --help tells what can be chosen for one.
"""


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
                metavar="MOTIF",
                help="A picture, a chart, a small PNG of one pixel a stitch, or a saved project "
                "(.pic2chart), whose painted stitches stay.",
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
        painted: Annotated[
            list[Path] | None,
            typer.Option(
                "--painted",
                metavar="CHART",
                help="An earlier chart of the picture, or of one of the pieces, on which stitches were "
                "painted by hand: they stay; repeat for several.",
            ),
        ] = None,
        json: Json = False,
    ) -> None:
        from pic2chart.cli.progress import Steps
        from pic2chart.cli.show import status
        from pic2chart.cli.show_garment import print_garment, show_garment
        from pic2chart.core.errors import SettingError
        from pic2chart.core.files import refuse_unwritable
        from pic2chart.core.messages import message
        from pic2chart.desk.project_file import ENDING
        from pic2chart.desk.project_garment import garment_of_project
        from pic2chart.garment.grading import grade
        from pic2chart.garment.making import make_garment, painted_charts, write_garment
        from pic2chart.model.chart_file import refuse_over_another
        from pic2chart.sheets.stems import stem_of

        folder = out if out is not None else Path(f"{stem_of(picture)}-{kind.name}")
        refuse_unwritable(folder)
        if picture.suffix.lower() != ENDING:  # a project's charts name the picture, not the project
            refuse_over_another(folder, picture)
        with Steps() as steps:
            keep, pieces = painted_charts(painted or [])
            if picture.suffix.lower() == ENDING:
                if sizes is not None or painted:
                    raise SettingError(
                        message("project-stands-alone", options=("sizes", "painted"))
                    )
                garment = garment_of_project(kind.name, picture, settings, options)
            elif sizes is not None and pieces:
                raise SettingError(message("painted-pieces-one-size", options=("sizes",)))
            elif sizes is None:
                garment = make_garment(kind.name, picture, settings, options, steps, keep, pieces)
            else:
                garment = grade(kind.name, picture, settings, options, sizes, steps, keep)
            files = write_garment(garment, folder, picture)
        (print_garment if json else show_garment)(garment, files)
        raise typer.Exit(status(garment.findings))

    make.__doc__ = (
        f"Make {kind.description}.\n\nThe folder holds every piece's chart (.chart.json), one pattern of "
        "the whole (.pdf, -words.txt, -knit-along.html), and its single drawings in the folder parts."
    )
    return with_settings(with_settings(make, kind=kind.options, name="options"), _LISTENS)
