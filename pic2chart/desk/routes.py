"""The routes of the desk: changes to a project, the desk's own, garments, what is shown."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from pic2chart import __version__
from pic2chart.checks.cautions import IN_SHORT
from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE, MIN_SIDE
from pic2chart.desk import exports
from pic2chart.desk.exports import MEDIA
from pic2chart.desk.form import form, sheet_form
from pic2chart.desk.garments import (
    garment_archive,
    garment_chart,
    garment_form,
    garment_of,
    garment_view,
)
from pic2chart.desk.page_data import (
    facts_view,
    findings_view,
    project_view,
    shelf_view,
    symbols_view,
)
from pic2chart.desk.project import SHELF, Project, Shown
from pic2chart.desk.store import Store, blank_chart, read_chart_upload, read_shelf_upload
from pic2chart.yarns.amounts import AmountOptions

# What routes share: the desk's store, the project a path names, bodies, and answers about a project.

MAX_TEXT = 300
MOST_MARKS = 64
"""Marks of a subject, both kinds together: more say nothing new, and each costs time."""
_PLACES = set("0123456789, ")

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


BodyBytes = Annotated[bytes, Depends(_body)]
Desk = Annotated[Store, Depends(_store)]
Open = Annotated[Project, Depends(_project)]


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


def trusted(settings: dict[str, Any]) -> dict[str, Any]:
    """Settings from the page: no path to a shelf or a mask, no text that cannot be shown, and no more
    marks than are looked through quickly.
    """
    if settings.get("shelf") not in (None, SHELF):
        raise SettingError(message("desk-shelf-only"))
    which = settings.get("subject", "auto")
    if isinstance(which, str) and which not in ("auto", "none") and not set(which) <= _PLACES:
        raise SettingError(message("desk-no-mask-file"))
    marks = [settings.get(name) for name in ("keep", "leave")]
    if sum(len(some) for some in marks if isinstance(some, list)) > MOST_MARKS:
        raise SettingError(message("too-many-marks", most=MOST_MARKS))
    for value in settings.values():
        for text in value if isinstance(value, list) else [value]:
            if isinstance(text, str) and not (len(text) <= MAX_TEXT and text.isprintable()):
                raise SettingError(message("setting-not-printable"))
    return settings


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
            "garments": garment_form(),
            "cautions": IN_SHORT,
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
def put_shelf(store: Desk, data: BodyBytes) -> Response:
    """Put a shelf file on the desk, in place of the one there."""
    read_shelf_upload(data, store.shelf)
    return JSONResponse(shelf_view(store.shelf))


@desk_router.post("/projects", openapi_extra=RAW)
def start(
    store: Desk,
    data: BodyBytes,
    kind: Literal["picture", "chart"] = "picture",
    name: Title = "picture",
) -> Response:
    """Start a project from a picture or from a chart's file."""

    def begin(project: Project) -> Shown:
        if kind == "picture":
            return project.start_from_picture(data, name, {})
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


# The routes of garments, beside those of projects.

garment_router = APIRouter(prefix="/api/projects/{name}/garment")


class GarmentRequest(BaseModel):
    """A kind of garment and its options."""

    kind: str = Field(max_length=40)
    options: dict[str, Any] = Field(default={}, max_length=30)


class PieceRequest(GarmentRequest):
    """One piece of a garment."""

    piece: str = Field(max_length=60)


@garment_router.post("")
def make(project: Open, requested: GarmentRequest) -> Response:
    """A garment made from the project's picture or chart."""
    with project.lock:
        garment = garment_of(project, requested.kind, requested.options)
    return JSONResponse(garment_view(garment))


@garment_router.post("/open")
def open_piece(project: Open, store: Desk, requested: PieceRequest) -> Response:
    """Start a project of its own from one piece's chart."""
    with project.lock:
        chart = garment_chart(
            garment_of(project, requested.kind, requested.options), requested.piece
        )
    number, fresh = store.start(lambda started: started.start_from_chart(chart))
    with fresh.lock:
        return JSONResponse(project_view(fresh, fresh.now, number))


@garment_router.get("/file")
def take(
    project: Open,
    name: Name,
    kind: Annotated[str, Query(max_length=40)],
    options: Annotated[str, Query(max_length=2000)] = "{}",
) -> Response:
    """All files of a garment in one archive. `options` is a JSON object."""
    try:
        requested = json.loads(options)
    except (ValueError, RecursionError) as error:
        raise InputError(message("garment-options-unreadable")) from error
    if not isinstance(requested, dict):
        raise InputError(message("garment-options-no-object"))
    with project.lock:
        garment = garment_of(project, kind, requested)
    kept = {"content-disposition": f'attachment; filename="{garment.stem}-{garment.kind}.zip"'}
    return Response(garment_archive(garment), media_type=MEDIA["zip"], headers=kept)


# The routes that show a project: its state, its pictures, its facts, its files.

show_router = APIRouter(prefix="/api/projects/{name}")


@show_router.get("")
def show(project: Open, name: Name) -> Response:
    """A project as it is."""
    with project.lock:
        return shown(project, name)


@show_router.get("/picture")
def picture(project: Open) -> Response:
    """The picture, upright and small enough for a page; its true size is in a header."""
    with project.lock:
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
    with project.lock:
        chart = project.now.state.chart
    data, media = exports.sight(chart, what, number)
    return Response(data, media_type=media)


@show_router.get("/looks")
def looks(project: Open) -> Response:
    """The picture's chart in every look, to be picked from by eye."""
    with project.lock:
        return JSONResponse(exports.looks(project))


@show_router.get("/frames")
def frames(project: Open) -> Response:
    """The picture's chart in every frame, and which of them can be read."""
    with project.lock:
        return JSONResponse(exports.frames(project))


@show_router.get("/facts")
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
    options = AmountOptions(times, reserve, ball, swatch_grams, swatch_cm2)
    return JSONResponse(facts_view(chart, store.shelf, options) | {"likeness": likeness})


@show_router.get("/file")
def file(request: Request, project: Open, ending: Annotated[str, Query(max_length=40)]) -> Response:
    """One file of the chart, or all of them with '.zip'; sheets as the sheet settings ask."""
    with project.lock:
        chart = project.now.state.chart
    names = {field["name"] for field in sheet_form()}
    requested = {k: v for k, v in trusted(dict(request.query_params)).items() if k in names and v}
    called, data, media = exports.one(chart, ending, requested)
    kept = {"content-disposition": f'attachment; filename="{called}"'}
    return Response(data, media_type=media, headers=kept)
