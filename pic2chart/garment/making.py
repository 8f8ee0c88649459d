"""Making a garment by its name, and writing all its files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from pic2chart.core.files import file_stem
from pic2chart.core.settings import Settings
from pic2chart.design.solution import silent
from pic2chart.garment.build import GarmentOrder, build
from pic2chart.garment.kind import GarmentOptions
from pic2chart.garment.kinds import kind_named
from pic2chart.garment.piece import Garment
from pic2chart.model.chart import Chart


def make_garment(
    kind: str,
    motif: Path,
    settings: Settings,
    options: GarmentOptions,
    progress: Callable[[str, float], None] | None = None,
    keep: Chart | None = None,
) -> Garment:
    """Make a garment of the named kind from a picture, a chart or a small repeat.

    `keep`: an earlier chart of the picture; what was kept on it by hand stays, at the garment's size.

    Raises InputError for a file that cannot be used and SettingError, naming the nearest that works,
    for a motif or measures of which none can be made, or for a kind that is not in the table.
    """
    order = GarmentOrder(kind_named(kind), motif, settings, options, progress or silent, keep)
    return build(order)


def garment_files(garment: Garment) -> dict[str, Any]:
    """The files by name: every piece's chart folder, the pattern as text and Markdown, the outline."""
    from pic2chart.pipeline import chart_files
    from pic2chart.sheets.chart.chart_sheet import changes_sheet
    from pic2chart.sheets.writers.png import sheet_png
    from pic2chart.sheets.writers.svg import sheet_svg

    files: dict[str, Any] = {}
    name = file_stem(garment.stem)
    for piece in garment.pieces:
        files |= chart_files(piece.chart, f"{name}-{piece.name}")
        if piece.embroidered is not None:
            plan = changes_sheet(piece.chart, piece.seen)
            files[f"{name}-{piece.name}-duplicate-stitch.svg"] = sheet_svg(plan)
    stem = f"{name}-{garment.kind}"
    return files | {
        f"{stem}-pattern.txt": garment.pattern.text(),
        f"{stem}-pattern.md": garment.pattern.markdown(),
        f"{stem}-outline.svg": sheet_svg(garment.outline),
        f"{stem}-outline.png": sheet_png(garment.outline, 4.0),
    }


def write_garment(garment: Garment, out: Path, source: Path | None = None) -> list[Path]:
    """Write all files of a garment, or none; return their paths. Raises OutputError.

    `source`: the picture or chart it was made from, which is never replaced.
    """
    from pic2chart.core.files import write_folder

    return write_folder(garment_files(garment), out, source)
