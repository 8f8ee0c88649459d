"""The routes that change a project: each calls one of its methods and shows what came of it."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Response
from fastapi.responses import JSONResponse
from pydantic import Field

from pic2chart.desk.open_project import (
    RAW,
    Body,
    Change,
    Desk,
    Name,
    Open,
    Revision,
    Title,
    changed,
    trusted,
)
from pic2chart.desk.views import findings_view

router = APIRouter(prefix="/api/projects/{name}")


class SettingsChange(Change):
    """New values of settings; a draft is worked out but not kept."""

    settings: dict[str, Any] = Field(max_length=60)
    anew: bool = False
    draft: bool = False


class StitchChange(Change):
    """A change by hand; a draft is only checked."""

    edit: dict[str, Any] = Field(max_length=20)
    draft: bool = False


@router.post("/remove")
def remove(project: Open, name: Name, store: Desk, change: Change) -> Response:
    """Put a project aside."""
    with project.lock:
        project.expect(change.revision)
        store.remove(name)
    return JSONResponse({"projects": store.cards()})


@router.post("/picture", openapi_extra=RAW)
def put_picture(
    project: Open, name: Name, data: Body, revision: Revision, title: Title = "picture"
) -> Response:
    """Use another picture with the same settings."""
    return changed(
        project,
        name,
        Change(revision=revision, mark=""),
        lambda: project.start_from_picture(data, title, project.kept()),
    )


@router.post("/settings")
def put_settings(project: Open, name: Name, change: SettingsChange) -> Response:
    """Change settings and see the chart they give."""
    asked = trusted(change.settings)
    return changed(
        project,
        name,
        change,
        lambda: project.change(asked, anew=change.anew, draft=change.draft),
        change.draft,
    )


@router.post("/edit")
def put_edit(project: Open, name: Name, change: StitchChange) -> Response:
    """Change stitches by hand, or see what the checks would say."""
    if not change.draft:
        return changed(project, name, change, lambda: project.edit(change.edit))
    with project.lock:
        project.expect(change.revision)
        return JSONResponse(findings_view(project.look(change.edit)))


@router.post("/stop")
def stop(project: Open) -> Response:
    """Let go of a chart that is being made; whoever asked for it is told."""
    project.stop()
    return JSONResponse({})


@router.post("/mend")
def mend(project: Open, name: Name, change: Change) -> Response:
    """Change as few stitches as can be until the rules hold."""
    return changed(project, name, change, project.mend)


@router.post("/undo")
def undo(project: Open, name: Name, change: Change) -> Response:
    """Take the last step back."""
    return changed(project, name, change, lambda: project.go(-1))


@router.post("/redo")
def redo(project: Open, name: Name, change: Change) -> Response:
    """Do again what was taken back."""
    return changed(project, name, change, lambda: project.go(1))
