"""`pic2chart library`: a folder of pictures becomes a library of motifs, and questions to it."""

from __future__ import annotations

import json as json_text
import sys
from dataclasses import asdict, fields
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pic2chart.cli.flags import Json, with_settings
from pic2chart.cli.screen import one_line
from pic2chart.cli.words import worded
from pic2chart.core.errors import OutputError
from pic2chart.core.settings import Settings

if TYPE_CHECKING:
    from pic2chart.library.batch import Summary
    from pic2chart.library.find import RoundFit, SearchResult

EXAMPLE = "pic2chart library sample_images --out motifs --stitches 40 --yarn oat=#ece2d0 --yarn ink=#26304c"
FIND_EXAMPLE = "pic2chart library find gull --out motifs --stitches 20-60 --difficulty -5"
FIT_EXAMPLE = "pic2chart library fit 240 --out motifs"

Out = Annotated[str, typer.Option("--out", metavar="OUT", help="Folder of the library.")]
_RANGE = "N or N-M"


@with_settings
def library(
    context: typer.Context,
    settings: Settings,
    folder: Annotated[
        str, typer.Argument(metavar="FOLDER", help="Pictures and charts; also s3://… and the like.")
    ],
    out: Out,
    recipe: Annotated[
        Path | None,
        typer.Option("--recipe", metavar="FILE", help="Options as TOML; flags go over them."),
    ] = None,
    sheet: Annotated[
        list[str] | None,
        typer.Option(
            "--sheet",
            metavar="NAME",
            help="A sheet wanted, as of pic2chart sheet --only; repeat for each.",
        ),
    ] = None,
    per_page: Annotated[
        int, typer.Option("--per-page", metavar="N", help="Motifs on a page of the booklet.")
    ] = 6,
    jobs: Annotated[
        int | None,
        typer.Option(
            "--jobs",
            metavar="N",
            min=1,
            max=1024,
            help="Processes, 1 to 1024; all cores when left out.",
        ),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option("--cluster", metavar="ADDRESS", help="Let a dask.distributed cluster do it."),
    ] = None,
    front: Annotated[
        bool, typer.Option("--front", help="Draw the knitted fabric of each motif too.")
    ] = False,
    prune: Annotated[
        bool, typer.Option("--prune", help="Let motifs go however many pictures are gone.")
    ] = False,
    again: Annotated[bool, typer.Option("--again", help="Make everything anew.")] = False,
    quiet: Annotated[
        bool, typer.Option("--quiet", help="No progress; only the outcome and what is broken.")
    ] = False,
    json: Json = False,
) -> None:
    """Make a motif library of a folder, or renew it.

    It holds the charts of all pictures, a catalogue, a contact sheet and a booklet.

    Only what changed is made again. Charts in the folder (JSON, CSV, PNG of one pixel a stitch) are
    taken as they are and checked. Motifs of pictures that are gone leave the library.
    """
    from pic2chart.cli.library_progress import Pictures
    from pic2chart.cli.show_library import show_summary
    from pic2chart.library.batch import RunOptions, make_library
    from pic2chart.library.plates import refuse_layout
    from pic2chart.library.recipe import Recipe
    from pic2chart.library.stores import address

    refuse_layout(per_page)
    given = _given(context, settings) | ({"sheets": sheet} if sheet else {})
    given |= {"front": True} if front else {}
    chosen = (Recipe() if recipe is None else Recipe.read(recipe)).over(given)
    options = RunOptions(
        address(folder), address(out), chosen, again, jobs, cluster, per_page, prune
    )
    with Pictures(quiet or json) as progress:
        try:
            summary = make_library(options, progress, progress.on_result)
        except KeyboardInterrupt:
            progress.stopped()
            raise
        except OutputError as error:
            if error.message.code != "cluster-lost-work":
                raise
            progress.leave()
            print(f"pic2chart: {one_line(worded(error.message))}", file=sys.stderr)
            raise typer.Exit(1) from error
    if json:
        print(json_text.dumps(_summary_plain(summary), indent=2, ensure_ascii=False))
    else:
        show_summary(summary, out)
    raise typer.Exit(0 if summary.good else 1)


def find(
    out: Out,
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="WORDS", help="Words of the title, folder, yarns, tags or findings."
        ),
    ] = None,
    stitches: Annotated[str | None, typer.Option(metavar=_RANGE, help="Stitches across.")] = None,
    rounds: Annotated[str | None, typer.Option(metavar=_RANGE, help="Rounds up.")] = None,
    repeat: Annotated[
        str | None, typer.Option(metavar=_RANGE, help="Stitches of the repeat.")
    ] = None,
    kind: Annotated[
        str | None, typer.Option(metavar="KIND", help="Repeat: once, straight or half-drop.")
    ] = None,
    mirrored: Annotated[
        bool, typer.Option("--mirrored", help="Only those with an upright axis.")
    ] = False,
    yarn: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="A yarn it uses; repeat for each.")
    ] = None,
    difficulty: Annotated[str | None, typer.Option(metavar=_RANGE, help="1 to 10.")] = None,
    longest_float: Annotated[str | None, typer.Option(metavar=_RANGE, help="In stitches.")] = None,
    catches: Annotated[str | None, typer.Option(metavar=_RANGE, help="Catches in all.")] = None,
    contrast: Annotated[
        str | None, typer.Option(metavar=_RANGE, help="Least difference in L* in a round.")
    ] = None,
    likeness: Annotated[str | None, typer.Option(metavar=_RANGE, help="0 to 1.")] = None,
    alike: Annotated[
        bool, typer.Option("--alike", help="Only those nearly the same as another.")
    ] = False,
    faulty: Annotated[bool, typer.Option("--faulty", help="Only those with an error.")] = False,
    state: Annotated[
        str | None,
        typer.Option(metavar="STATE", help="Only those new, approved, held or withdrawn."),
    ] = None,
    sort: Annotated[
        str, typer.Option(metavar="FACT", help="name, or any of the ranges above.")
    ] = "name",
    limit: Annotated[int | None, typer.Option(min=1, metavar="N", help="At most so many.")] = None,
    json: Json = False,
) -> None:
    """Find motifs in a library.

    A range is N, N-M, N- or -M.
    """
    from pic2chart.cli.show_library import show_results
    from pic2chart.library.find import RANGED, Question
    from pic2chart.library.find import find as ask
    from pic2chart.library.stored_library import local_folder

    given = locals()
    ranges = {name: given[name] for name in RANGED if given[name] is not None}
    question = Question(
        " ".join(words or ()),
        ranges,
        tuple(yarn or ()),
        kind,
        True if mirrored else None,
        True if faulty else None,
        alike,
        state,
        sort,
        limit,
    )
    results = ask(local_folder(out), question)
    if json:
        print(
            json_text.dumps(
                {"motifs": [_plain(result) for result in results]}, indent=2, ensure_ascii=False
            )
        )
    else:
        show_results(results, limit)


def fit(
    stitches: Annotated[int, typer.Argument(metavar="STITCHES", help="Of the round.")],
    out: Out,
    alone: Annotated[
        bool, typer.Option("--alone", help="Only without a strip of filler between.")
    ] = False,
    limit: Annotated[int | None, typer.Option(min=1, metavar="N", help="At most so many.")] = None,
    json: Json = False,
) -> None:
    """List the motifs that divide a round of stitches.

    Alone, or each followed by a strip of a filler.
    """
    from pic2chart.cli.show_library import show_fits
    from pic2chart.library.find import fit as ask
    from pic2chart.library.stored_library import local_folder

    fits = ask(local_folder(out), stitches, alone=alone)
    if json:
        print(
            json_text.dumps(
                {"fits": [_fit_plain(found) for found in fits[:limit]]},
                indent=2,
                ensure_ascii=False,
            )
        )
    else:
        show_fits(fits, stitches, limit)


def _given(context: typer.Context, settings: Settings) -> dict[str, Any]:
    """The flags that were given, whatever their values: they go over the recipe."""
    sources = {f.name: context.get_parameter_source(f.name) for f in fields(Settings)}
    return {
        name: getattr(settings, name)
        for name, source in sources.items()
        if source is not None and source.name == "COMMANDLINE"
    }


def _summary_plain(summary: Summary) -> dict[str, Any]:
    outcome = {
        name: [{"path": path, "message": message} for path, message in getattr(summary, name)]
        for name in ("faulty", "broken", "missed", "proposed")
    }
    return {**asdict(summary), **outcome}


def _plain(result: SearchResult) -> dict[str, Any]:
    """A motif as JSON: all but its pixels; files relative to the library."""
    from pic2chart.library.export import facts

    plain = facts(result.motif)
    plain["alike"] = [
        {"number": other.number, "name": other.name, "how": other.how, "agreement": other.agreement}
        for other in result.alike
    ]
    return plain


def _fit_plain(found: RoundFit) -> dict[str, Any]:
    plain = {f.name: getattr(found, f.name) for f in fields(found) if f.name != "motif"}
    return {"name": found.motif.name, "number": found.motif.number, **plain, "words": found.words}
