"""`pic2chart library export` and `gallery`: motifs taken out of a library."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

EXPORT_EXAMPLE = "pic2chart library export approved.csv --state approved --out motifs"
GALLERY_EXAMPLE = "pic2chart library gallery site --out motifs"
RELEASE_EXAMPLE = "pic2chart library release --out motifs --date 2026-03-01"

Out = Annotated[str, typer.Option("--out", metavar="OUT", help="Folder of the library.")]


def export(
    target: Annotated[
        Path,
        typer.Argument(metavar="FILE", help="NAME.csv, .json, .pdf, or .zip with the charts."),
    ],
    out: Out,
    numbers: Annotated[
        list[str] | None,
        typer.Argument(metavar="NUMBERS", help="Of the motifs: 7, or 12-20; all when left out."),
    ] = None,
    state: Annotated[
        str | None, typer.Option("--state", metavar="STATE", help="Only those of this state.")
    ] = None,
    per_page: Annotated[
        int, typer.Option("--per-page", metavar="N", help="Motifs on a page of the PDF.")
    ] = 1,
) -> None:
    """Write motifs to one file.

    A table (CSV), JSON, a PDF, or an archive of their files.
    """
    from pic2chart.cli.screen import many, one_line
    from pic2chart.library.export import export as write
    from pic2chart.library.states import numbers_in
    from pic2chart.library.stored_library import local_folder

    count = write(
        local_folder(out), target, numbers_in(numbers or ()), state=state, per_page=per_page
    )
    print(f"Written  {one_line(str(target))}: {many(count, 'motif')}")


def gallery(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Of the pages; new, or a gallery.")
    ],
    out: Out,
) -> None:
    """Write a gallery: plain pages, one for each motif.

    They need no more than a web server, or none. What is held or withdrawn is left out.
    """
    from pic2chart.cli.progress import Steps
    from pic2chart.cli.screen import many, one_line
    from pic2chart.library.gallery import write_gallery
    from pic2chart.library.stored_library import local_folder

    with Steps() as progress:
        count = write_gallery(local_folder(out), folder, progress)
    print(f"Written  {one_line(str(folder / 'index.html'))}: {many(count, 'motif')}")


def release(
    out: Annotated[Path, typer.Option("--out", metavar="OUT", help="Folder of the library.")],
    date: Annotated[
        str | None, typer.Option("--date", metavar="DAY", help="Of the edition; today at first.")
    ] = None,
    profile: Annotated[
        Path | None,
        typer.Option(
            "--profile", metavar="FILE", help="ICC profile of the press: PDF/X-4 in CMYK."
        ),
    ] = None,
    condition: Annotated[
        str,
        typer.Option("--condition", metavar="NAME", help="Printing condition, such as FOGRA39."),
    ] = "",
    bleed: Annotated[
        float,
        typer.Option("--bleed", metavar="MM", min=0, max=20, help="Bleed round the page, 0 to 20."),
    ] = 3.0,
    per_page: Annotated[
        int, typer.Option("--per-page", metavar="N", help="Motifs on a page of the booklet.")
    ] = 6,
    imprint: Annotated[
        list[str] | None,
        typer.Option("--imprint", metavar="LINE", help="A line for the imprint; repeat for each."),
    ] = None,
) -> None:
    """Write the next edition of the approved motifs.

    A booklet, tables and a list of changes.
    """
    from datetime import date as day

    from pic2chart.cli.screen import many, one_line
    from pic2chart.library.release import ReleaseOptions, make_release

    options = ReleaseOptions(
        date or day.today().isoformat(), profile, condition, bleed, per_page, tuple(imprint or ())
    )
    made = make_release(out, options)
    changes = f"{len(made.new):,} new, {len(made.changed):,} changed, {len(made.gone):,} gone"
    print(f"Edition {made.number}: {many(made.motifs, 'motif')}; {changes}.")
    print(f"Written  {one_line(str(made.folder))}")
