"""The routes that show a project: its state, its pictures, its facts, its files."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import JSONResponse

from pic2chart.amounts import Asked
from pic2chart.desk import exports, pictures
from pic2chart.desk.form import sheet_form
from pic2chart.desk.open_project import Desk, Name, Open, shown, trusted
from pic2chart.desk.views import facts_view
from pic2chart.settings import MAX_SIDE

router = APIRouter(prefix="/api/projects/{name}")


@router.get("")
def show(project: Open, name: Name) -> Response:
    """A project as it is."""
    with project.lock:
        return shown(project, name)


@router.get("/picture")
def picture(project: Open) -> Response:
    """The picture, upright and small enough for a page; its true size is in a header."""
    with project.lock:
        data, size = pictures.preview(project)
    return Response(
        data, media_type="image/jpeg", headers={"x-picture-size": f"{size[0]},{size[1]}"}
    )


@router.get("/see/{what}")
def see(
    project: Open,
    what: Literal["front", "back", "strands", "small"],
    number: Annotated[int | None, Query(alias="round", ge=1, le=MAX_SIDE)] = None,
) -> Response:
    """The fabric's front or back, how the yarns run in a round, or one pixel a stitch."""
    with project.lock:
        chart = project.now.state.chart
    data, media = pictures.sight(chart, what, number)
    return Response(data, media_type=media)


@router.get("/looks")
def looks(project: Open) -> Response:
    """The picture's chart in every look, to be picked from by eye."""
    with project.lock:
        return JSONResponse(pictures.looks(project))


@router.get("/facts")
def facts(
    project: Open,
    store: Desk,
    times: Annotated[int, Query(ge=1, le=1000)] = 1,
    ball: Annotated[float, Query(ge=1, le=5000)] = 50.0,
    reserve: Annotated[float, Query(ge=0, le=1)] = 0.1,
    swatch_grams: Annotated[float | None, Query(ge=0.5, le=5000)] = None,
    swatch_cm2: Annotated[float, Query(ge=20, le=100_000)] = 100.0,
) -> Response:
    """Contrast of every pair of yarns, how much yarn the chart takes, how like its picture it is."""
    with project.lock:
        chart, likeness = project.now.state.chart, project.likeness()
    asked = Asked(times, reserve, ball, swatch_grams, swatch_cm2)
    return JSONResponse(facts_view(chart, store.shelf, asked) | {"likeness": likeness})


@router.get("/file")
def file(request: Request, project: Open, ending: Annotated[str, Query(max_length=40)]) -> Response:
    """One file of the chart, or all of them with '.zip'; sheets as the sheet settings ask."""
    with project.lock:
        chart = project.now.state.chart
    names = {field["name"] for field in sheet_form()}
    asked = {k: v for k, v in trusted(dict(request.query_params)).items() if k in names and v}
    called, data, media = exports.one(chart, ending, asked)
    kept = {"content-disposition": f'attachment; filename="{called}"'}
    return Response(data, media_type=media, headers=kept)
