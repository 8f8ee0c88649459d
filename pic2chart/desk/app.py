"""The desk's web app: each route calls one method and says what it gave. No knitting logic here."""

from __future__ import annotations

from collections.abc import Callable
from importlib.resources import files as package_files
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, FastAPI, Query, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from pic2chart import __version__
from pic2chart.amounts import Asked
from pic2chart.desk import exports, pictures
from pic2chart.desk.form import form, in_plain_words, sheet_form
from pic2chart.desk.garment_routes import router as garment_router
from pic2chart.desk.garments import garment_form
from pic2chart.desk.open_project import Desk, Name, Open
from pic2chart.desk.project import SHELF, ConflictError, Project, Shown
from pic2chart.desk.store import Store
from pic2chart.desk.uploads import read_chart_upload, read_shelf_upload
from pic2chart.desk.views import facts_view, findings_view, project_view, shelf_view, symbols_view
from pic2chart.errors import Pic2ChartError, SettingError

_TYPES = {"html": "text/html", "js": "text/javascript", "css": "text/css", "svg": "image/svg+xml"}
_MAX_TEXT = 300

router = APIRouter()
Title = Annotated[str, Query(max_length=_MAX_TEXT)]
Revision = Annotated[int, Query(ge=0, le=2**53)]


class Change(BaseModel):
    """A change to the project as it was at `revision`."""

    revision: int = Field(ge=0, le=2**53)


class SettingsChange(Change):
    """New values of settings; a draft is worked out but not kept."""

    settings: dict[str, Any] = Field(max_length=60)
    anew: bool = False
    draft: bool = False


class StitchChange(Change):
    """A change by hand; a draft is only checked."""

    edit: dict[str, Any] = Field(max_length=20)
    draft: bool = False


async def _body(request: Request) -> bytes:
    return await request.body()


Body = Annotated[bytes, Depends(_body)]
_RAW = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


@router.get("/", include_in_schema=False)
def page(request: Request) -> Response:
    """The page itself."""
    return static("index.html", request)


@router.get("/static/{file}", include_in_schema=False)
def static(file: str, request: Request) -> Response:
    """A part of the page, out of memory."""
    parts: dict[str, bytes] = request.app.state.parts
    if file not in parts:
        raise HTTPException(404, "There is no such file.")
    return Response(parts[file], media_type=_TYPES[file.rpartition(".")[2]])


@router.get("/api/desk")
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


@router.post("/api/shelf", openapi_extra=_RAW)
def put_shelf(store: Desk, data: Body) -> Response:
    """Put a shelf file on the desk, in place of the one there."""
    read_shelf_upload(data, store.shelf)
    return JSONResponse(shelf_view(store.shelf))


@router.post("/api/projects", openapi_extra=_RAW)
def start(
    store: Desk, data: Body, kind: Literal["picture", "chart"] = "picture", name: Title = "picture"
) -> Response:
    """Start a project from a picture or from a chart's file."""

    def begin(project: Project) -> Shown:
        if kind == "picture":
            return project.start_from_picture(data, name, {})
        return project.start_from_chart(read_chart_upload(data, name, project.folder))

    number, project = store.start(begin)
    with project.lock:
        return _view(project, number)


@router.get("/api/projects/{name}")
def show(project: Open, name: Name) -> Response:
    """A project as it is."""
    with project.lock:
        return _view(project, name)


@router.post("/api/projects/{name}/remove")
def remove(project: Open, name: Name, store: Desk, change: Change) -> Response:
    """Put a project aside."""
    with project.lock:
        project.expect(change.revision)
        store.remove(name)
    return JSONResponse({"projects": store.cards()})


@router.post("/api/projects/{name}/picture", openapi_extra=_RAW)
def put_picture(
    project: Open, name: Name, data: Body, revision: Revision, title: Title = "picture"
) -> Response:
    """Use another picture with the same settings."""
    return _changed(
        project, name, revision, lambda: project.start_from_picture(data, title, project.kept())
    )


@router.post("/api/projects/{name}/settings")
def put_settings(project: Open, name: Name, change: SettingsChange) -> Response:
    """Change settings and see the chart they give."""
    asked = _trusted(change.settings)
    return _changed(
        project,
        name,
        change.revision,
        lambda: project.change(asked, anew=change.anew, draft=change.draft),
        change.draft,
    )


@router.post("/api/projects/{name}/edit")
def put_edit(project: Open, name: Name, change: StitchChange) -> Response:
    """Change stitches by hand, or see what the checks would say."""
    if not change.draft:
        return _changed(project, name, change.revision, lambda: project.edit(change.edit))
    with project.lock:
        project.expect(change.revision)
        return JSONResponse(findings_view(project.look(change.edit)))


@router.post("/api/projects/{name}/mend")
def mend(project: Open, name: Name, change: Change) -> Response:
    """Change as few stitches as can be until the rules hold."""
    return _changed(project, name, change.revision, project.mend)


@router.post("/api/projects/{name}/undo")
def undo(project: Open, name: Name, change: Change) -> Response:
    """Take the last step back."""
    return _changed(project, name, change.revision, lambda: project.go(-1))


@router.post("/api/projects/{name}/redo")
def redo(project: Open, name: Name, change: Change) -> Response:
    """Do again what was taken back."""
    return _changed(project, name, change.revision, lambda: project.go(1))


@router.get("/api/projects/{name}/picture")
def picture(project: Open) -> Response:
    """The picture, upright and small enough for a page; its true size is in a header."""
    with project.lock:
        data, size = pictures.preview(project)
    return Response(
        data, media_type="image/jpeg", headers={"x-picture-size": f"{size[0]},{size[1]}"}
    )


@router.get("/api/projects/{name}/see/{what}")
def see(project: Open, what: Literal["front", "back", "strands", "small", "looks"]) -> Response:
    """The fabric's front or back, how the yarns run, one pixel a stitch, or all looks at once."""
    with project.lock:
        if what == "looks":
            return Response(pictures.looks(project), media_type="image/png")
        chart = project.now.state.chart
    data, media = pictures.sight(chart, what)
    return Response(data, media_type=media)


@router.get("/api/projects/{name}/facts")
def facts(
    project: Open,
    store: Desk,
    times: Annotated[int, Query(ge=1, le=1000)] = 1,
    ball: Annotated[float, Query(ge=1, le=5000)] = 50.0,
    reserve: Annotated[float, Query(ge=0, le=1)] = 0.1,
    swatch_grams: Annotated[float | None, Query(ge=0.5, le=5000)] = None,
    swatch_cm2: Annotated[float, Query(ge=20, le=100_000)] = 100.0,
) -> Response:
    """Contrast of every pair of yarns, and how much yarn the chart takes."""
    with project.lock:
        chart = project.now.state.chart
    return JSONResponse(
        facts_view(chart, store.shelf, Asked(times, reserve, ball, swatch_grams, swatch_cm2))
    )


@router.get("/api/projects/{name}/file")
def file(request: Request, project: Open, ending: Annotated[str, Query(max_length=40)]) -> Response:
    """One file of the chart, or all of them with '.zip'; sheets as the sheet settings ask."""
    with project.lock:
        chart = project.now.state.chart
    names = {field["name"] for field in sheet_form()}
    asked = {k: v for k, v in _trusted(dict(request.query_params)).items() if k in names and v}
    called, data, media = exports.one(chart, ending, asked)
    kept = {"content-disposition": f'attachment; filename="{called}"'}
    return Response(data, media_type=media, headers=kept)


def _view(project: Project, name: str) -> Response:
    return JSONResponse(project_view(project, project.now, name))


def _changed(
    project: Project, name: str, revision: int, work: Callable[[], Shown], draft: bool = False
) -> Response:
    """Do the work if the page knows the latest revision, and show what came of it."""
    with project.lock:
        project.expect(revision)
        return JSONResponse(project_view(project, work(), name, draft))


def _trusted(settings: dict[str, Any]) -> dict[str, Any]:
    """Settings from the page: no path to a shelf, and no text that cannot be shown."""
    if settings.get("shelf") not in (None, SHELF):
        raise SettingError("The shelf is the desk's own; put a shelf file on it first.")
    for value in settings.values():
        for text in value if isinstance(value, list) else [value]:
            if isinstance(text, str) and not (len(text) <= _MAX_TEXT and text.isprintable()):
                raise SettingError("A setting holds text that is too long or cannot be shown.")
    return settings


def make_app(store: Store) -> FastAPI:
    """The app over a store, without its guard. `app.state.ready` is set once all is warmed up."""
    import threading

    app = FastAPI(title="pic2chart desk", version=__version__, docs_url=None, redoc_url=None)
    app.state.store = store
    app.state.ready = threading.Event()
    app.state.parts = _parts()
    app.include_router(router)
    app.include_router(garment_router)
    app.add_exception_handler(Pic2ChartError, _explain)
    app.add_exception_handler(ConflictError, _conflict)
    app.add_exception_handler(HTTPException, _refused)
    app.add_exception_handler(RequestValidationError, _malformed)
    app.add_exception_handler(Exception, _unexpected)
    return app


def _parts() -> dict[str, bytes]:
    folder = package_files("pic2chart.desk") / "static"
    return {
        part.name: part.read_bytes()
        for part in folder.iterdir()
        if part.name.rpartition(".")[2] in _TYPES
    }


def _explain(request: Request, error: Exception) -> Response:
    return JSONResponse({"error": in_plain_words(str(error))}, 422)


def _unexpected(request: Request, error: Exception) -> Response:
    """A fault of the program; the terminal gets the whole story."""
    what = f"{type(error).__name__}: {error}"[:300]
    words = f"Something went wrong that should not ({what}). Nothing was changed; please report it."
    return JSONResponse({"error": words}, 500)


def _conflict(request: Request, error: Exception) -> Response:
    return JSONResponse({"error": "This project was changed in another window."}, 409)


def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    return JSONResponse({"error": str(error.detail)}, error.status_code)


def _malformed(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    where = ".".join(str(part) for part in first["loc"])
    return JSONResponse({"error": f"The request cannot be read: {where}: {first['msg']}."}, 422)
