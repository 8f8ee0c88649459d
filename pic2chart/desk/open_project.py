"""What routes ask for: the desk's store, and the project a path names."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Path, Request
from starlette.exceptions import HTTPException

from pic2chart.desk.project import Project
from pic2chart.desk.store import Store

Name = Annotated[str, Path(max_length=40)]


def _store(request: Request) -> Store:
    store: Store = request.app.state.store
    return store


def _project(name: Name, store: Annotated[Store, Depends(_store)]) -> Project:
    project = store.get(name)
    if project is None:
        raise HTTPException(404, "There is no such project on this desk.")
    return project


Desk = Annotated[Store, Depends(_store)]
Open = Annotated[Project, Depends(_project)]
