"""The desk's web app: the page's own files, the routes, and one shape for every error."""

from __future__ import annotations

from http import HTTPStatus
from importlib.resources import files as package_files

from fastapi import APIRouter, FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from pic2chart import __version__
from pic2chart.core.english.grammar import one_line
from pic2chart.core.errors import Pic2ChartError
from pic2chart.desk import routes, thing_routes
from pic2chart.desk.form import worded
from pic2chart.desk.knit_routes import knit_router
from pic2chart.desk.network_routes import network_router
from pic2chart.desk.project import ConflictError
from pic2chart.desk.reading_routes import reading_router
from pic2chart.desk.store import Store
from pic2chart.desk.yarn_routes import yarn_router

_TYPES = {"html": "text/html", "js": "text/javascript", "css": "text/css", "svg": "image/svg+xml"}
_ROUTES = (
    routes.desk_router,
    routes.show_router,
    routes.change_router,
    thing_routes.thing_router,
    thing_routes.picture_router,
    network_router,
    knit_router,
    yarn_router,
    reading_router,
)

router = APIRouter()


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


def make_app(store: Store) -> FastAPI:
    """The app over a store, without its guard. `app.state.ready` is set once all is warmed up."""
    import threading

    app = FastAPI(title="pic2chart desk", version=__version__, docs_url=None, redoc_url=None)
    app.state.store = store
    app.state.network = None  # where it is open on the home network, what that needs
    app.state.ready = threading.Event()
    app.state.parts = _parts()
    app.include_router(router)
    for part in _ROUTES:
        app.include_router(part)
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
    assert isinstance(error, Pic2ChartError)
    return JSONResponse({"error": worded(error.message)}, 422)


def _unexpected(request: Request, error: Exception) -> Response:
    """A fault of the program; the terminal gets the whole story."""
    what = one_line(f"{type(error).__name__}: {error}"[:300])
    words = f"Something went wrong that should not ({what}). Nothing was changed; please report it."
    return JSONResponse({"error": words}, 500)


_BARE = {
    400: "The request cannot be read: its body is no JSON text; send it again from the desk's page.",
    404: "The desk has nothing at this address; open its page anew.",
    405: "The desk takes no such request at this address; open its page anew.",
}


def _conflict(request: Request, error: Exception) -> Response:
    return JSONResponse({"error": "This project was changed in another window."}, 409)


def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    said = str(error.detail)
    if said in (HTTPStatus(error.status_code).phrase, "There was an error parsing the body"):
        said = _BARE.get(error.status_code, said)  # the framework's own words
    return JSONResponse({"error": said}, error.status_code)


def _malformed(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    where = ".".join(str(part) for part in first["loc"])
    said = one_line(f"The request cannot be read: {where}: {first['msg']}.")
    return JSONResponse({"error": said}, 422)
