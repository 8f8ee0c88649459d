"""Garments on the desk: the same makers as the command `make`, shown instead of written."""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import message, said
from pic2chart.desk.exports import front_address, stem, zipped
from pic2chart.desk.form import field_of, worded
from pic2chart.desk.project import Project
from pic2chart.garment.kind import GarmentOptions
from pic2chart.garment.kinds import GARMENTS, kind_named
from pic2chart.garment.making import garment_files, make_garment
from pic2chart.garment.piece import Garment, Piece
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import write_chart
from pic2chart.sheets.writers.svg import sheet_svg


def garment_form() -> list[dict[str, Any]]:
    """Every kind of garment with its fields."""
    return [
        {
            "name": kind.name,
            "description": kind.description,
            "first": kind.first,
            "fields": [
                field_of(f.name, f.default, f.metadata, kind.label(f.name))
                for f in fields(kind.options)
                if f.name not in kind.files
            ],
        }
        for kind in GARMENTS.values()
    ]


def garment_of(project: Project, kind: str, request: Mapping[str, Any]) -> Garment:
    """The garment made from the project's picture, with the stitches kept by hand, or from its chart
    once that was reshaped.

    Raises SettingError for a garment or option that is not there or of which none can be made.
    """
    own = kind_named(kind).label
    key = ("garment", project.history.revision, kind, json.dumps(request, sort_keys=True))
    try:
        options = _options(kind, request)
        made: Garment = project.recall(key, lambda: _made(project, kind, options))
    except SettingError as refused:
        raise SettingError(said(worded(refused.message, own))) from None
    return made


def _options(kind: str, request: Mapping[str, Any]) -> GarmentOptions:
    found = kind_named(kind)
    options = found.options
    known = {f.name for f in fields(options)} - set(found.files)  # a page names no files
    for name in request:
        if name not in known:
            raise SettingError(message("no-such-garment-option", name=name[:40], kind=kind))
    return options(**request)


def _made(project: Project, kind: str, options: GarmentOptions) -> Garment:
    """Made from a file with the knitter's own name, since pieces and files are named after it."""
    state = project.now.state
    with tempfile.TemporaryDirectory(dir=project.folder) as folder:
        keep = None
        if state.picture is not None and state.follows:
            keep = state.chart
            picture, settings = project.original()
            motif = Path(folder) / stem(state.chart)
            shutil.copyfile(picture, motif)
        else:
            settings = state.settings
            motif = Path(folder) / f"{stem(state.chart)}.chart.json"
            write_chart(state.chart, motif)
        return make_garment(kind, motif, settings, options, keep=keep)


def garment_view(garment: Garment) -> dict[str, Any]:
    """What the page shows of a garment: outline as SVG, pieces with their fronts, the pattern."""
    return {
        "title": garment.pattern.title,
        "outline": sheet_svg(garment.outline),
        "pieces": [_piece(piece) for piece in garment.pieces],
        "pattern": [
            {"heading": section.heading, "lines": list(section.lines)}
            for section in garment.pattern.sections
        ],
        "remarks": [worded(remark, kind_named(garment.kind).label) for remark in garment.told],
    }


def _piece(piece: Piece) -> dict[str, Any]:
    levels = [finding.level for finding in piece.findings]
    return {
        "name": piece.name,
        "size": [piece.chart.stitch_count, piece.chart.round_count],
        "counts": {level: levels.count(level) for level in ("error", "warning", "note")},
        "front": front_address(piece.chart),
    }


def garment_chart(garment: Garment, name: str) -> Chart:
    """The chart of the piece of that name. Raises InputError when there is none."""
    for piece in garment.pieces:
        if piece.name == name:
            return piece.chart
    raise InputError(message("no-such-piece", name=name[:40]))


def garment_archive(garment: Garment) -> bytes:
    """All files of a garment in one zip archive, as the command writes them."""
    return zipped(garment_files(garment))
