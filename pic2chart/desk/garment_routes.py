"""The routes of garments, beside those of projects."""

from __future__ import annotations

import json
from typing import Annotated, Any

from fastapi import APIRouter, Query, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from pic2chart.desk.exports import MEDIA
from pic2chart.desk.garments import garment_archive, garment_chart, garment_of, garment_view
from pic2chart.desk.open_project import Desk, Name, Open
from pic2chart.desk.views import project_view
from pic2chart.errors import InputError

router = APIRouter(prefix="/api/projects/{name}/garment")


class GarmentAsked(BaseModel):
    """A kind of garment and its options."""

    kind: str = Field(max_length=40)
    options: dict[str, Any] = Field(default={}, max_length=30)


class PieceAsked(GarmentAsked):
    """One piece of a garment."""

    piece: str = Field(max_length=60)


@router.post("")
def make(project: Open, asked: GarmentAsked) -> Response:
    """A garment made from the project's picture or chart."""
    with project.lock:
        garment = garment_of(project, asked.kind, asked.options)
    return JSONResponse(garment_view(garment))


@router.post("/open")
def open_piece(project: Open, store: Desk, asked: PieceAsked) -> Response:
    """Start a project of its own from one piece's chart."""
    with project.lock:
        chart = garment_chart(garment_of(project, asked.kind, asked.options), asked.piece)
    number, fresh = store.start(lambda started: started.start_from_chart(chart))
    with fresh.lock:
        return JSONResponse(project_view(fresh, fresh.now, number))


@router.get("/file")
def take(
    project: Open,
    name: Name,
    kind: Annotated[str, Query(max_length=40)],
    options: Annotated[str, Query(max_length=2000)] = "{}",
) -> Response:
    """All files of a garment in one archive. `options` is a JSON object."""
    try:
        asked = json.loads(options)
    except (ValueError, RecursionError) as error:
        raise InputError("The options of the garment cannot be read.") from error
    if not isinstance(asked, dict):
        raise InputError("The options of the garment are no object.")
    with project.lock:
        garment = garment_of(project, kind, asked)
    kept = {"content-disposition": f'attachment; filename="{garment.stem}-{garment.kind}.zip"'}
    return Response(garment_archive(garment), media_type=MEDIA["zip"], headers=kept)
