"""Making a garment by its name, and writing all its files."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from pic2chart.core.errors import InputError
from pic2chart.core.files import file_stem
from pic2chart.core.messages import message
from pic2chart.core.settings import Settings
from pic2chart.core.threads import on_one_thread
from pic2chart.design.solution import silent
from pic2chart.garment.build import GarmentOrder, assembled, build, drawn
from pic2chart.garment.kind import GarmentOptions
from pic2chart.garment.kinds import kind_named
from pic2chart.garment.outline import flat_views, outline_picture
from pic2chart.garment.painted_pieces import painted_on, painted_over, resting, staying
from pic2chart.garment.piece import Garment
from pic2chart.model.any_file import read_any
from pic2chart.model.chart import Chart
from pic2chart.model.construction import StepSection
from pic2chart.sheets.sheet_settings import SheetSettings
from pic2chart.sheets.thing import Item, Thing

_PICTURE_PX = 6.0
"""Pixels a millimetre of the picture that a document made later shows."""


@on_one_thread
def make_garment(
    kind: str,
    motif: Path,
    settings: Settings,
    options: GarmentOptions,
    progress: Callable[[str, float], None] | None = None,
    keep: Chart | None = None,
    painted: Sequence[Chart] = (),
) -> Garment:
    """Make a garment of the named kind from a picture, a chart or a small repeat.

    `keep`: an earlier chart of the picture; what was kept on it by hand stays, at the garment's size.
    `painted`: earlier charts of the garment's pieces; what was painted on them stays where the piece
    has its size still, and the remarks say where it does not.

    Raises InputError for a file that cannot be used and SettingError, naming the nearest that works,
    for a motif or measures of which none can be made, or for a kind that is not in the table.
    """
    order = GarmentOrder(kind_named(kind), motif, settings, options, progress or silent, keep)
    if not painted:
        return build(order)
    draft = drawn(order)
    before = painted_on(painted, draft.pieces)
    pieces = tuple(painted_over(piece, before.get(piece.name)) for piece in draft.pieces)
    garment = assembled(order, replace(draft, pieces=pieces))
    remarks = (*staying(before, pieces), *resting(before, pieces))
    return replace(garment, remarks=(*garment.remarks, *remarks))


def painted_charts(paths: Sequence[Path]) -> tuple[Chart | None, tuple[Chart, ...]]:
    """Earlier charts with stitches painted by hand: that of the picture, if any, and those of pieces.

    Raises InputError for a file that is no chart, and for two charts of pictures.
    """
    charts = [(path, read_any(path)) for path in paths]
    pictures = [(path, chart) for path, chart in charts if chart.construction.piece is None]
    if len(pictures) > 1:
        first, other = (path.name for path, _ in pictures[:2])
        raise InputError(message("painted-too-many", first=first, other=other))
    keep = pictures[0][1] if pictures else None
    return keep, tuple(chart for _, chart in charts if chart.construction.piece is not None)


def thing_of(garment: Garment) -> Thing:
    """What the garment's one document is made of: its pieces in the order of the pattern."""
    name = file_stem(garment.stem)
    items = tuple(Item(p.name, p.chart, f"{name}-{p.name}") for p in garment.pieces)
    sections = tuple(StepSection(s.heading, tuple(s.lines)) for s in garment.pattern.sections)
    return Thing(
        garment.pattern.title,
        f"{name}-{garment.kind}",
        items,
        sections,
        flat_views(garment.views),
        outline_picture(garment.pattern.title, garment.views) if garment.views else None,
    )


def own_terms(garment: Garment) -> dict[str, Any]:
    """Values of the sheet settings with which a garment is given out: its parts and its terms."""
    return {
        "only": ("chart", "words", "strands", "knit-along"),
        "english": garment.english,
        "increases": garment.increases,
    }


def garment_files(garment: Garment, sheets: SheetSettings | None = None) -> dict[str, Any]:
    """The files by name: every piece's chart, the garment file, the document, the words, the
    knit-along page, and the single drawings in a folder of their own. `sheets`: other settings than
    those of `own_terms`.
    """
    from pic2chart.pipeline import chart_files
    from pic2chart.sheets.chart.chart_sheet import changes_sheet
    from pic2chart.sheets.document import thing_files
    from pic2chart.sheets.marks.page import Sheet
    from pic2chart.sheets.thing_file import ENDING, PARTS, garment_text
    from pic2chart.sheets.writers.png import sheet_png
    from pic2chart.sheets.writers.svg import sheet_svg

    thing = thing_of(garment)
    files: dict[str, Any] = {}
    for item in thing.items:
        for name, data in chart_files(item.chart, item.stem).items():
            files[name if name.endswith(".json") else f"{PARTS}/{name}"] = data
    for piece, item in zip(garment.pieces, thing.items, strict=True):
        if piece.embroidered is not None:
            plan = changes_sheet(piece.chart, piece.seen)
            files[f"{PARTS}/{item.stem}-duplicate-stitch.svg"] = sheet_svg(plan)
    picture = f"{thing.stem}-picture.png"
    files[f"{thing.stem}{ENDING}"] = garment_text(thing, picture)
    files |= thing_files(thing, sheets or SheetSettings(**own_terms(garment)))
    if isinstance(thing.picture, Sheet):
        files[f"{PARTS}/{picture}"] = sheet_png(thing.picture, _PICTURE_PX)
    return files | {
        f"{PARTS}/{thing.stem}-outline.svg": sheet_svg(garment.outline),
        f"{PARTS}/{thing.stem}-outline.png": sheet_png(garment.outline, 4.0),
    }


@on_one_thread
def write_garment(garment: Garment, out: Path, source: Path | None = None) -> list[Path]:
    """Write all files of a garment, or none; return their paths. Raises OutputError.

    `source`: the picture or chart it was made from, which is never replaced.
    """
    from pic2chart.core.files import write_folder
    from pic2chart.model.chart_file import refuse_over_another

    if source is not None:
        refuse_over_another(out, source)
    return write_folder(garment_files(garment), out, source)
