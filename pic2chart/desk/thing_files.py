"""What can be taken away of the thing in hand: one PDF, a page to knit along with, all files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.desk.exports import MEDIA, Files, one, sheet_settings, zipped
from pic2chart.garment.making import garment_files
from pic2chart.garment.piece import Garment, Piece
from pic2chart.model.attached import attachments
from pic2chart.model.chart import Chart
from pic2chart.model.construction import StepSection
from pic2chart.sheets.document import sheet_files


def thing_file(
    garment: Garment, ending: str, options: Mapping[str, Any], piece: Piece | None = None
) -> tuple[str, bytes, str]:
    """Name, content and media type of a file of the whole ('.pdf', '.zip') or of one piece, as
    `exports.one` names them. Raises InputError when there is no such file.
    """
    if piece is not None:
        return one(piece.chart, ending, options)
    name = f"{garment.stem}-{garment.kind}"
    if ending == ".pdf":
        return f"{name}.pdf", thing_pdf(garment, options), MEDIA["pdf"]
    if ending == ".zip":
        return f"{name}.zip", thing_archive(garment, options), MEDIA["zip"]
    raise InputError(message("no-such-export", ending=ending[:30]))


def thing_archive(garment: Garment, options: Mapping[str, Any]) -> bytes:
    """All files of the thing: charts and pattern, the one PDF, and each piece's knit-along page."""
    name = f"{garment.stem}-{garment.kind}"
    files: dict[str, bytes | str] = dict(garment_files(garment))
    files[f"{name}.pdf"] = thing_pdf(garment, options)
    for piece in garment.pieces:
        settings = sheet_settings(options, ("knit-along",))
        files |= sheet_files(piece.chart, settings, f"{garment.stem}-{piece.name}")
    bundle: Files = files
    return zipped(bundle)


def thing_pdf(garment: Garment, options: Mapping[str, Any]) -> bytes:
    """The whole thing on paper: how it looks and what it measures, the pattern, every chart."""
    from pic2chart.sheets.chart.chart_pages import chart_pages
    from pic2chart.sheets.marks.page import Sheet
    from pic2chart.sheets.marks.printed import printable, with_foot
    from pic2chart.sheets.words.words_pages import pattern_pages
    from pic2chart.sheets.writers.pdf import sheets_pdf

    settings = sheet_settings(options)
    look = settings.look
    pages: list[Sheet] = [garment.outline]
    names = ["How it looks"]
    pattern = pattern_pages(_telling_all(garment), settings.paper, look)
    pages += pattern
    names += ["Pattern", *([""] * (len(pattern) - 1))] if pattern else []
    for piece in garment.pieces:
        sheets, _ = chart_pages(printable(piece.chart), settings.paper, look)
        pages += sheets
        names += [piece.chart.title, *([""] * (len(sheets) - 1))]
    title = garment.pattern.title
    numbered = with_foot(pages, title, look)
    charts = {f"{garment.stem}-{piece.name}": piece.chart for piece in garment.pieces}
    return sheets_pdf(
        numbered,
        title=title,
        author=look.author,
        outline=tuple(names),
        attached=() if settings.bare else attachments(charts),
    )


def _telling_all(garment: Garment) -> Chart:
    """The first chart with the whole pattern, under the garment's own title."""
    chart = garment.pieces[0].chart
    steps = tuple(StepSection(s.heading, tuple(s.lines)) for s in garment.pattern.sections)
    construction = replace(chart.construction, steps=steps)
    return chart.with_(title=garment.pattern.title, construction=construction)
