"""The routes of the desk itself: what the page needs once, the shelf, new projects."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from pic2chart import __version__
from pic2chart.desk.blank import blank_chart
from pic2chart.desk.form import form, sheet_form
from pic2chart.desk.garments import garment_form
from pic2chart.desk.open_project import RAW, Body, Desk, Title, shown
from pic2chart.desk.project import Project, Shown
from pic2chart.desk.store import Store
from pic2chart.desk.uploads import read_chart_upload, read_shelf_upload
from pic2chart.desk.views import shelf_view, symbols_view
from pic2chart.settings import MAX_SIDE, MIN_SIDE

router = APIRouter(prefix="/api")


class Size(BaseModel):
    """Size of an empty chart."""

    stitches: int = Field(ge=MIN_SIDE, le=MAX_SIDE)
    rounds: int = Field(ge=MIN_SIDE, le=MAX_SIDE)


@router.get("/desk")
def desk(store: Desk, request: Request) -> Response:
    """What the page needs once: the form, the symbols, the projects."""
    return JSONResponse(
        {
            "version": __version__,
            "ready": request.app.state.ready.is_set(),
            "form": form(),
            "sheets": sheet_form(),
            "garments": garment_form(),
            "symbols": symbols_view(),
            "projects": store.cards(),
            "shelf": shelf_view(store.shelf),
        }
    )


@router.get("/alive")
def alive(request: Request) -> Response:
    """That the desk answers, and whether its solver is prepared."""
    return JSONResponse({"ready": request.app.state.ready.is_set()})


@router.post("/shelf", openapi_extra=RAW)
def put_shelf(store: Desk, data: Body) -> Response:
    """Put a shelf file on the desk, in place of the one there."""
    read_shelf_upload(data, store.shelf)
    return JSONResponse(shelf_view(store.shelf))


@router.post("/projects", openapi_extra=RAW)
def start(
    store: Desk, data: Body, kind: Literal["picture", "chart"] = "picture", name: Title = "picture"
) -> Response:
    """Start a project from a picture or from a chart's file."""

    def begin(project: Project) -> Shown:
        if kind == "picture":
            return project.start_from_picture(data, name, {})
        return project.start_from_chart(read_chart_upload(data, name, project.folder))

    return _started(store, begin)


@router.post("/projects/blank")
def start_blank(store: Desk, asked: Size) -> Response:
    """Start a project from an empty chart."""
    chart = blank_chart(asked.stitches, asked.rounds)
    return _started(store, lambda project: project.start_from_chart(chart))


def _started(store: Store, begin: Callable[[Project], Shown]) -> Response:
    number, project = store.start(begin)
    with project.lock:
        return shown(project, number)
