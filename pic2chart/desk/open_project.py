"""What routes share: the desk's store, the project a path names, bodies, and answers about a project."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import Depends, Path, Query, Request, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from pic2chart.desk.project import SHELF, Project, Shown
from pic2chart.desk.store import Store
from pic2chart.desk.views import project_view
from pic2chart.errors import SettingError

MAX_TEXT = 300

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


class Change(BaseModel):
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


Body = Annotated[bytes, Depends(_body)]
Desk = Annotated[Store, Depends(_store)]
Open = Annotated[Project, Depends(_project)]


def shown(project: Project, name: str) -> Response:
    """A project as it is."""
    return JSONResponse(project_view(project, project.now, name))


def changed(
    project: Project, name: str, change: Change, work: Callable[[], Shown], draft: bool = False
) -> Response:
    """Do the work if the page knows the latest revision, and show what came of it."""
    with project.lock:
        if project.already(change.mark):
            return shown(project, name)
        project.expect(change.revision, change.mark)
        return JSONResponse(project_view(project, work(), name, draft))


def trusted(settings: dict[str, Any]) -> dict[str, Any]:
    """Settings from the page: no path to a shelf, and no text that cannot be shown."""
    if settings.get("shelf") not in (None, SHELF):
        raise SettingError("The shelf is the desk's own; put a shelf file on it first.")
    for value in settings.values():
        for text in value if isinstance(value, list) else [value]:
            if isinstance(text, str) and not (len(text) <= MAX_TEXT and text.isprintable()):
                raise SettingError("A setting holds text that is too long or cannot be shown.")
    return settings
