"""`pic2chart contrast`: will a pattern knitted in these yarns read?"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from pic2chart.cli.flags import Json, with_settings
from pic2chart.core.settings import Settings

EXAMPLE = "pic2chart contrast --shelf shelf.csv --partner ink --out ink-partners"

_OPTIONS = ("yarn", "shelf", "gauge", "min_delta_L")


@partial(with_settings, only=_OPTIONS)
def contrast(
    settings: Settings,
    partner: Annotated[
        str | None,
        typer.Option(
            "--partner", metavar="NAME", help="Only the partners of this yarn, best first."
        ),
    ] = None,
    set_of: Annotated[
        int | None,
        typer.Option(
            "--set",
            metavar="K",
            help="The best sets of K yarns (2 to 8) in which every pair differs by --min-delta-l.",
        ),
    ] = None,
    like: Annotated[
        Path | None,
        typer.Option(
            "--like", metavar="PICTURE", help="The best --set K yarns for this picture (3)."
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="DIR",
            help="Folder for contrast.svg and .png; for a shelf also all its pairs, contrast-all; for sets also contrast-sets.",
        ),
    ] = None,
    every_pair: Annotated[
        bool,
        typer.Option("--every-pair", help="Let --json list every pair, however many there are."),
    ] = False,
    json: Json = False,
) -> None:
    """Compare yarns: value, colour vision, reading distance.

    Name yarns with --yarn, or compare a whole --shelf. --out draws the pairs as knitted swatches in
    colour and in grey.
    """
    from pic2chart.cli.show_contrast import print_contrast, show_contrast
    from pic2chart.core.files import write_folder
    from pic2chart.sheets.fabric.side_by_side import choice_files, set_choices
    from pic2chart.sheets.fabric.swatches import contrast_files
    from pic2chart.yarns.contrast import compare_yarns

    found = compare_yarns(settings, partner, set_of, like, every_pair)
    drawn = {} if out is None else contrast_files(found)
    if out is not None and (choices := set_choices(found)):
        drawn |= choice_files("Sets of yarns, all of each together", choices, "contrast-sets")
    files = [] if out is None else write_folder(drawn, out)
    if json:
        print_contrast(found, files, every_pair)
    else:
        show_contrast(found, files)
