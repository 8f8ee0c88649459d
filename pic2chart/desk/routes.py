"""The routes of the desk: changes to a project, the desk's own, what is shown."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from pic2chart import __version__
from pic2chart.checks.cautions import IN_SHORT
from pic2chart.core.settings import MAX_SIDE, MIN_SIDE
from pic2chart.desk import exports, project_file
from pic2chart.desk.findings import kinds_view
from pic2chart.desk.for_whom import garment_form
from pic2chart.desk.form import form, gauge_form, sheet_form, worded
from pic2chart.desk.page_data import (
    facts_view,
    findings_view,
    project_view,
    shelf_view,
    symbols_view,
    words_view,
)
from pic2chart.desk.project import LIST, Project, Shown
from pic2chart.desk.store import Store, blank_chart, read_chart_upload, read_shelf_upload
from pic2chart.desk.trust import MAX_TEXT, trusted
from pic2chart.model.keys import clean_title
from pic2chart.reading.glance import shows_chart
from pic2chart.yarns.amounts import AmountOptions

# What routes share: the desk's store, the project a path names, bodies, and answers about a project.

Name = Annotated[str, Path(max_length=40)]
Title = Annotated[str, Query(max_length=MAX_TEXT)]
Revision = Annotated[int, Query(ge=0, le=2**53)]
RAW = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}
"""For the description of routes whose body is a file."""


class ProjectChange(BaseModel):
    """A change to the project as it was at `revision`.

    `mark` is the page's own name for it: sent again with the same mark it is not done again.
    """

    revision: int = Field(ge=0, le=2**53)
    mark: str = Field("", max_length=40, pattern="^[0-9a-z-]*$")


async def _body(request: Request) -> bytes:
    return await request.body()


def _store(request: Request) -> Store:
    store: Store = request.app.state.store
    return store


def _project(name: Name, store: Annotated[Store, Depends(_store)]) -> Project:
    project = store.get(name)
    if project is None:
        raise HTTPException(404, "There is no such project on this desk.")
    return project


def _amounts(
    times: Annotated[int, Query(ge=1, le=1000)] = 1,
    ball: Annotated[float, Query(ge=1, le=5000)] = 50.0,
    reserve: Annotated[float, Query(ge=0, le=1)] = 0.1,
    swatch_grams: Annotated[float | None, Query(ge=0.5, le=5000)] = None,
    swatch_cm2: Annotated[float, Query(ge=20, le=100_000)] = 100.0,
) -> AmountOptions:
    return AmountOptions(times, reserve, ball, swatch_grams, swatch_cm2)


BodyBytes = Annotated[bytes, Depends(_body)]
Desk = Annotated[Store, Depends(_store)]
Open = Annotated[Project, Depends(_project)]
AmountQuery = Annotated[AmountOptions, Depends(_amounts)]


def shown(project: Project, name: str) -> Response:
    """A project as it is."""
    return JSONResponse(project_view(project, project.now, name))


def changed(
    project: Project,
    name: str,
    change: ProjectChange,
    work: Callable[[], Shown],
    draft: bool = False,
) -> Response:
    """Do the work if the page knows the latest revision, and show what came of it."""
    with project.lock:
        if project.already(change.mark):
            return shown(project, name)
        project.expect(change.revision, change.mark)
        return JSONResponse(project_view(project, work(), name, draft))


# The routes that change a project: each calls one of its methods and shows what came of it.

change_router = APIRouter(prefix="/api/projects/{name}")


class SettingsChange(ProjectChange):
    """New values of settings; a draft is worked out but not kept."""

    settings: dict[str, Any] = Field(max_length=60)
    anew: bool = False
    draft: bool = False


class StitchChange(ProjectChange):
    """A change by hand; a draft is only checked."""

    edit: dict[str, Any] = Field(max_length=20)
    draft: bool = False


@change_router.post("/remove")
def remove(project: Open, name: Name, store: Desk, change: ProjectChange) -> Response:
    """Put a project aside."""
    with project.lock:
        project.expect(change.revision)
        store.remove(name)
    return JSONResponse({"projects": store.cards()})


@change_router.post("/picture", openapi_extra=RAW)
def put_picture(
    project: Open, name: Name, data: BodyBytes, revision: Revision, title: Title = "picture"
) -> Response:
    """Use another picture with the same settings."""
    return changed(
        project,
        name,
        ProjectChange(revision=revision, mark=""),
        lambda: project.start_from_picture(data, title, project.kept()),
    )


@change_router.post("/settings")
def put_settings(project: Open, name: Name, change: SettingsChange) -> Response:
    """Change settings and see the chart they give."""
    requested = trusted(change.settings)
    return changed(
        project,
        name,
        change,
        lambda: project.change(requested, anew=change.anew, draft=change.draft),
        change.draft,
    )


@change_router.post("/edit")
def put_edit(project: Open, name: Name, change: StitchChange) -> Response:
    """Change stitches by hand, or see what the checks would say."""
    if not change.draft:
        return changed(project, name, change, lambda: project.edit(change.edit))
    with project.lock:
        project.expect(change.revision)
        return JSONResponse(findings_view(project.look(change.edit)))


class SubjectRequest(BaseModel):
    """Marks of the subject to be tried, by the names of their settings; the others stay."""

    settings: dict[str, Any] = Field(default={}, max_length=3)


@change_router.post("/subject")
def look_for_subject(project: Open, requested: SubjectRequest) -> Response:
    """The picture with its subject as these marks give it; nothing is changed and no chart made."""
    return JSONResponse(exports.subject(project, trusted(requested.settings)))


@change_router.post("/stop")
def stop(project: Open) -> Response:
    """Let go of a chart that is being made; whoever asked for it is told."""
    project.stop()
    return JSONResponse({})


@change_router.post("/mend")
def mend(project: Open, name: Name, change: ProjectChange) -> Response:
    """Change as few stitches as can be until the rules hold."""
    return changed(project, name, change, project.mend)


@change_router.post("/undo")
def undo(project: Open, name: Name, change: ProjectChange) -> Response:
    """Take the last step back."""
    return changed(project, name, change, lambda: project.go(-1))


@change_router.post("/redo")
def redo(project: Open, name: Name, change: ProjectChange) -> Response:
    """Do again what was taken back."""
    return changed(project, name, change, lambda: project.go(1))


# The routes of the desk itself: what the page needs once, the shelf, new projects.

desk_router = APIRouter(prefix="/api")


class ChartSize(BaseModel):
    """Size of an empty chart."""

    stitches: int = Field(ge=MIN_SIDE, le=MAX_SIDE)
    rounds: int = Field(ge=MIN_SIDE, le=MAX_SIDE)


@desk_router.get("/desk")
def desk(store: Desk, request: Request) -> Response:
    """What the page needs once: the form, the symbols, the projects."""
    return JSONResponse(
        {
            "version": __version__,
            "ready": request.app.state.ready.is_set(),
            "form": form(),
            "sheets": sheet_form(),
            "gauge": gauge_form(),
            "garments": garment_form(),
            "cautions": IN_SHORT,
            "findings": kinds_view(),
            "symbols": symbols_view(),
            "projects": store.cards(),
            "shelf": shelf_view(store.shelf),
        }
    )


@desk_router.get("/alive")
def alive(request: Request) -> Response:
    """That the desk answers, and whether its solver is prepared."""
    return JSONResponse({"ready": request.app.state.ready.is_set()})


@desk_router.post("/shelf", openapi_extra=RAW)
def put_shelf(store: Desk, data: BodyBytes, name: Title = LIST) -> Response:
    """Put a shelf file on the desk, in place of the one there; tells what of it is left aside."""
    with store.shelf_turn:
        remarks = [
            worded(remark) for remark in read_shelf_upload(data, store.shelf, clean_title(name))
        ]
    return JSONResponse({"shelf": shelf_view(store.shelf), "remarks": remarks})


@desk_router.post("/projects", openapi_extra=RAW)
def start(
    store: Desk,
    data: BodyBytes,
    kind: Literal["picture", "chart", "project"] = "picture",
    name: Title = "picture",
) -> Response:
    """Start a project from a picture, from a chart's file, or from a whole project's."""

    def begin(project: Project) -> Shown:
        if kind == "picture":
            return project.start_from_picture(data, name, {})
        if kind == "project":
            return project_file.start_from_file(project, data, clean_title(name))
        return project.start_from_chart(read_chart_upload(data, name, project.folder))

    return _started(store, begin)


@desk_router.post("/projects/blank")
def start_blank(store: Desk, requested: ChartSize) -> Response:
    """Start a project from an empty chart."""
    chart = blank_chart(requested.stitches, requested.rounds)
    return _started(store, lambda project: project.start_from_chart(chart))


def _started(store: Store, begin: Callable[[Project], Shown]) -> Response:
    number, project = store.start(begin)
    with project.lock:
        return shown(project, number)


# The routes that show a project: its state, its pictures, its facts, its files.

show_router = APIRouter(prefix="/api/projects/{name}")


@show_router.get("")
def show(project: Open, name: Name) -> Response:
    """A project as it is, or was before what is being made of it."""
    view = project.without_waiting(lambda seen: project_view(project, seen, name))
    return JSONResponse(view)


@show_router.get("/picture")
def picture(project: Open) -> Response:
    """The picture, upright and small enough for a page; its true size is in a header."""
    data, size = exports.preview(project)
    return Response(
        data, media_type="image/jpeg", headers={"x-picture-size": f"{size[0]},{size[1]}"}
    )


@show_router.get("/see/{what}")
def see(
    project: Open,
    what: Literal["front", "back", "strands", "small"],
    number: Annotated[int | None, Query(alias="round", ge=1, le=MAX_SIDE)] = None,
) -> Response:
    """The fabric's front or back, how the yarns run in a round, or one pixel a stitch."""
    chart = project.seen.state.chart
    data, media = exports.sight(chart, what, number)
    return Response(data, media_type=media)


@show_router.get("/glance")
def glance(project: Open) -> Response:
    """Whether the picture shows a chart on squared paper, which one would rather read."""
    return JSONResponse({"chart": shows_chart(project.original()[0])})


@show_router.get("/looks")
def looks(project: Open) -> Response:
    """The picture's chart in every look, to be picked from by eye."""
    return JSONResponse(exports.looks(project))


@show_router.get("/facts")
def facts(project: Open, store: Desk, options: AmountQuery) -> Response:
    """Contrast of every pair of yarns, how much yarn the chart takes, how like its picture it is."""
    chart, likeness = project.seen.state.chart, project.likeness()
    return JSONResponse(facts_view([chart], store.shelf, options) | {"likeness": likeness})


@show_router.get("/words")
def words(project: Open) -> Response:
    """The chart in words."""
    return JSONResponse(words_view(project.seen.state.chart))


@show_router.get("/file")
def file(request: Request, project: Open, ending: Annotated[str, Query(max_length=40)]) -> Response:
    """One file of the chart, or all of them with '.zip'; sheets as the sheet settings ask. With
    '.pic2chart' the whole project.
    """
    chart = project.seen.state.chart
    names = {field["name"] for field in sheet_form()}
    requested = {k: v for k, v in trusted(dict(request.query_params)).items() if k in names and v}
    if ending == project_file.ENDING:
        with project.lock:
            data = project_file.project_bytes(project)
        called, media = f"{exports.stem(chart)}{ending}", project_file.MEDIA
    else:
        called, data, media = exports.one(chart, ending, requested)
    kept = {"content-disposition": f'attachment; filename="{called}"'}
    return Response(data, media_type=media, headers=kept)
