"""What can be taken away of the thing in hand: one PDF, a page to knit along with, all files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.desk.exports import MEDIA, one, sheet_settings, zipped
from pic2chart.garment.making import garment_files, own_terms, thing_of
from pic2chart.garment.piece import Garment, Piece
from pic2chart.sheets.document import thing_files
from pic2chart.sheets.sheet_settings import SheetSettings


def thing_file(
    garment: Garment, ending: str, options: Mapping[str, Any], piece: Piece | None = None
) -> tuple[str, bytes, str]:
    """Name, content and media type of a file of the whole ('.pdf', '-knit-along.html', '.zip') or of
    one piece, as `exports.one` names them. Raises InputError when there is no such file.
    """
    if piece is not None:
        return one(piece.chart, ending, options)
    name = thing_of(garment).stem
    if ending == ".pdf":
        return f"{name}.pdf", thing_pdf(garment, options), MEDIA["pdf"]
    if ending == "-knit-along.html":
        return f"{name}{ending}", thing_knit_along(garment, options), MEDIA["html"]
    if ending == ".zip":
        return f"{name}.zip", thing_archive(garment, options), MEDIA["zip"]
    raise InputError(message("no-such-export", ending=ending[:30]))


def thing_archive(garment: Garment, options: Mapping[str, Any]) -> bytes:
    """All files of the thing as the command gives them: charts, the document, words, the knit-along
    page and single drawings, the sheets as they are asked for.
    """
    return zipped(garment_files(garment, _sheet_settings(garment, options)))


def thing_pdf(garment: Garment, options: Mapping[str, Any]) -> bytes:
    """The one document of the thing, the same as the command's."""
    return _sheet(garment, options, ("chart", "words", "strands"), ".pdf")


def thing_knit_along(garment: Garment, options: Mapping[str, Any]) -> bytes:
    """The page that leads through every round of all pieces, the same as the command's."""
    return _sheet(garment, options, ("knit-along",), "-knit-along.html")


def _sheet(
    garment: Garment, options: Mapping[str, Any], only: tuple[str, ...], ending: str
) -> bytes:
    thing = thing_of(garment)
    settings = replace(_sheet_settings(garment, options), only=only)
    made = thing_files(thing, settings)[f"{thing.stem}{ending}"]
    return made.encode() if isinstance(made, str) else made


def _sheet_settings(garment: Garment, options: Mapping[str, Any]) -> SheetSettings:
    """The sheets as the page asks for them, in the garment's own terms where it does not say."""
    own = own_terms(garment)
    only = own.pop("only")
    return sheet_settings({**own, **options}, only)
