"""`pic2chart shade`: the colour of a yarn in a photo."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import Json

EXAMPLE = (
    "pic2chart shade balls.jpg --patch rust=410,300,160,160 --white 60,40,120,90 --shelf shelf.csv"
)

_BOX = "x,y,w,h"


def shade(
    photo: Annotated[
        Path, typer.Argument(metavar="PHOTO", help="A photo of yarn, best in daylight.")
    ],
    patch: Annotated[
        list[str] | None,
        typer.Option(
            "--patch",
            metavar=f"NAME={_BOX}",
            help="A yarn's name and where it lies; repeat. The middle of the photo when left out.",
        ),
    ] = None,
    white: Annotated[
        str | None,
        typer.Option("--white", metavar=_BOX, help="Where white paper lies; found when left out."),
    ] = None,
    grey: Annotated[
        str | None,
        typer.Option("--grey", metavar=_BOX, help="Where an 18% grey card lies."),
    ] = None,
    reference_is: Annotated[
        str | None,
        typer.Option(
            "--reference-is",
            metavar="COLOUR",
            help="The known colour of --white or --grey, as #rrggbb or 'lab(95, 0, 2) D50'.",
        ),
    ] = None,
    known: Annotated[
        list[str] | None,
        typer.Option(
            "--known",
            metavar=f"COLOUR={_BOX}",
            help="Another patch of known colour: a grey of a card, or a yarn of the shelf by its name; "
            "repeat.",
        ),
    ] = None,
    as_lit: Annotated[
        bool, typer.Option("--as-lit", help="Do not correct the light of the photo.")
    ] = False,
    several: Annotated[
        bool,
        typer.Option(
            "--several", help="The yarns have several colours (variegated, gradient): measure all."
        ),
    ] = False,
    shelf: Annotated[
        Path | None,
        typer.Option("--shelf", metavar="FILE", help="Put the colours into this shelf."),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="DIR",
            help="Folder for NAME-shades.png: the photo with its patches marked.",
        ),
    ] = None,
    json: Json = False,
) -> None:
    """Measure the colour of a yarn in a photo.

    A ball, skein or swatch will do; it says how far the colour can be trusted.

    Lay white paper and a grey card beside the yarn, in even light without flash. Two patches are also compared as dye
    lots, by the grey scale of ISO 105-A02.
    """
    from pic2chart.cli.show_shade import print_shades, show_shades
    from pic2chart.core.files import write_folder
    from pic2chart.picture.decode import Box
    from pic2chart.sheets.fabric.marked_photo import shade_files
    from pic2chart.yarns.shelf import Shelf
    from pic2chart.yarns.yarn_photo import (
        PhotoOptions,
        measure_photo,
        parse_known,
        parse_patch,
        put_on_shelf,
    )

    options = PhotoOptions(
        tuple(parse_patch(text) for text in patch or ()),
        None if white is None else Box.parse(white),
        None if grey is None else Box.parse(grey),
        reference_is,
        as_lit,
        tuple(parse_known(text) for text in known or ()),
        several,
    )
    measured = measure_photo(photo, options, () if shelf is None else Shelf.at(shelf).yarns)
    files = [] if out is None else write_folder(shade_files(photo, measured), out, photo)
    changes = () if shelf is None else put_on_shelf(measured, shelf, date.today().isoformat())
    if json:
        print_shades(measured, changes, files)
    else:
        show_shades(measured, changes, shelf, files)
