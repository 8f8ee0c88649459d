"""The routes of the thing in hand and of the picture under it: pieces, files, frames, turns."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE
from pic2chart.desk import exports
from pic2chart.desk.form import sheet_form, step_thing, worded
from pic2chart.desk.garments import look, made_as, mend_piece, paint, thing_of
from pic2chart.desk.in_hand import InHand
from pic2chart.desk.page_data import facts_view, findings_view, project_view
from pic2chart.desk.project import Project, Shown
from pic2chart.desk.routes import AmountQuery, Desk, Name, Open, ProjectChange, changed
from pic2chart.desk.thing_files import thing_file
from pic2chart.desk.thing_page import pieces_view, thing_view
from pic2chart.desk.trust import trusted

PieceName = Annotated[str, Query(max_length=60)]

thing_router = APIRouter(prefix="/api/projects/{name}/thing")


class ThingChange(ProjectChange):
    """What shall be made: a kind and its options; no kind for the chart itself."""

    kind: str | None = Field(None, max_length=40)
    options: dict[str, Any] = Field(default={}, max_length=40)


class ThingDraft(BaseModel):
    """Settings to be tried on the thing, and another kind or options of it; nothing is changed."""

    settings: dict[str, Any] = Field(default={}, max_length=60)
    kind: str | None = Field(None, max_length=40)
    options: dict[str, Any] | None = Field(None, max_length=40)


class PieceChange(ProjectChange):
    """A change by hand on a piece; `both`: on its mirror image too; a draft is only checked."""

    piece: str = Field(max_length=60)
    edit: dict[str, Any] = Field(default={}, max_length=20)
    both: bool = False
    draft: bool = False


@thing_router.post("")
def choose(project: Open, name: Name, change: ThingChange) -> Response:
    """Make something of the project, or something else; it is refused if it cannot be made."""

    def work() -> Shown:
        before = project.now.state.thing
        thing = None
        if change.kind is not None:
            painted = before.painted if before and before.kind == change.kind else {}
            thing = InHand(change.kind, change.options, painted)
            made_as(project, thing)
        return project.make_thing(
            step_thing(change.kind, None if before is None else before.kind), thing
        )

    return changed(project, name, change, work)


@thing_router.post("/see")
def see(project: Open, draft: ThingDraft) -> Response:
    """The thing in hand, or as it would be with other settings; where it cannot be made, why."""
    with project.lock:
        thing = project.now.state.thing
        if draft.kind is not None:
            painted = thing.painted if thing and thing.kind == draft.kind else {}
            thing = InHand(draft.kind, draft.options or {}, painted)
        if thing is None:
            raise InputError(message("no-thing"))
        try:
            worked = made_as(project, thing, trusted(draft.settings))
        except SettingError as refused:
            return JSONResponse({"refused": worded(refused.message)})
        return JSONResponse(thing_view(thing, worked, project.recall))


@thing_router.post("/edit")
def edit(project: Open, name: Name, change: PieceChange) -> Response:
    """Change stitches of a piece by hand, or see what the checks would say."""
    if change.draft:
        with project.lock:
            project.expect(change.revision)
            return JSONResponse(findings_view(look(project, change.piece, change.edit)))
    return _changed(
        project, name, change, lambda: paint(project, change.piece, change.edit, change.both)
    )


@thing_router.post("/mend")
def mend(project: Open, name: Name, change: PieceChange) -> Response:
    """Mend a piece: change as few stitches as can be until the rules hold."""
    return _changed(project, name, change, lambda: mend_piece(project, change.piece))


def _changed(project: Project, name: str, change: ProjectChange, work: Any) -> Response:
    """As `changed`, with the pieces as they are now."""
    with project.lock:
        if not project.already(change.mark):
            project.expect(change.revision, change.mark)
            work()
        view = project_view(project, project.now, name)
        thing = project.now.state.thing
        if thing is not None:
            view["pieces"] = pieces_view(thing_of(project), thing)
        return JSONResponse(view)


@thing_router.get("/picture/{what}")
def picture(
    project: Open,
    what: Literal["front", "back", "strands", "small"],
    piece: PieceName,
    number: Annotated[int | None, Query(alias="round", ge=1, le=MAX_SIDE)] = None,
) -> Response:
    """The front or back of a piece's fabric, or how the yarns run in one of its rounds."""
    with project.lock:
        chart = thing_of(project).piece(piece).chart
    data, media = exports.sight(chart, what, number)
    return Response(data, media_type=media)


@thing_router.get("/facts")
def facts(project: Open, store: Desk, options: AmountQuery) -> Response:
    """Contrast of every pair of yarns, and how much yarn all pieces take together."""
    with project.lock:
        charts = [piece.chart for piece in thing_of(project).pieces]
    return JSONResponse(facts_view(charts, store.shelf, options) | {"likeness": None})


@thing_router.get("/file")
def file(
    request: Request,
    project: Open,
    ending: Annotated[str, Query(max_length=40)],
    piece: PieceName = "",
) -> Response:
    """One file of the thing, or of one of its pieces; sheets as the sheet settings ask."""
    with project.lock:
        worked = thing_of(project)
        whole = worked.whole()
    names = {field["name"] for field in sheet_form()}
    wanted = {k: v for k, v in trusted(dict(request.query_params)).items() if k in names and v}
    one = next((p for p in whole.pieces if p.name == piece), None)
    if piece and one is None:
        worked.piece(piece)
    called, data, media = thing_file(whole, ending, wanted, one)
    kept = {"content-disposition": f'attachment; filename="{called}"'}
    return Response(data, media_type=media, headers=kept)


# The routes of the picture under the stitches.

picture_router = APIRouter(prefix="/api/projects/{name}")


class Turn(ProjectChange):
    """Which way to turn the picture: 'left', 'right', or 'mirror'."""

    way: str = Field(max_length=10)


@picture_router.post("/turn")
def turn(project: Open, name: Name, change: Turn) -> Response:
    """Turn or mirror the picture and see the chart it gives."""
    return changed(project, name, change, lambda: project.turn(change.way))


@picture_router.get("/frames")
def frames(project: Open) -> Response:
    """The picture's chart in every frame, and which of them can be read."""
    return JSONResponse(exports.frames(project))


class OnePiece(BaseModel):
    """A piece by its name."""

    piece: str = Field(max_length=60)


@thing_router.post("/open")
def open_piece(project: Open, store: Desk, requested: OnePiece) -> Response:
    """Start a project of its own from one piece's chart."""
    with project.lock:
        whole = thing_of(project).whole()
        thing_of(project).piece(requested.piece)
    chart = next(p.chart for p in whole.pieces if p.name == requested.piece)
    number, fresh = store.start(lambda started: started.start_from_chart(chart))
    with fresh.lock:
        return JSONResponse(project_view(fresh, fresh.now, number))
