"""The routes of knitting along: the page of a project, and the place in it, the same on every device."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field, ValidationError

from pic2chart.core.settings import MAX_SIDE
from pic2chart.desk.garments import thing_of
from pic2chart.desk.project import Project
from pic2chart.desk.routes import Open
from pic2chart.sheets.knit_along.knit_along import knit_along, policy
from pic2chart.stranding.strands import plan_strands

PLACE = "knit-place"
"""What a project keeps the place under."""

PieceName = Annotated[str, Query(max_length=60, pattern="^[a-z0-9-]*$")]

knit_router = APIRouter()


class KnitPlace(BaseModel):
    """Rounds that are knitted, parts done of the one at hand, and how often any device moved it."""

    round: Annotated[int, Field(ge=0, le=MAX_SIDE)] = 0
    done: Annotated[int, Field(ge=0, le=10_000)] = 0
    turn: Annotated[int, Field(ge=0, le=2**53)] = 0


@knit_router.get("/knit", include_in_schema=False)
def knit_page(request: Request) -> Response:
    """The bare page, which fetches a project's with the device's key and becomes that."""
    own = policy(served=True).replace("style-src", "style-src 'self'")
    rest = "img-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
    page = request.app.state.parts["knit.html"]
    headers = {"content-security-policy": f"{own}; {rest}"}
    return Response(page, media_type="text/html", headers=headers)


@knit_router.get("/api/projects/{name}/knit")
def knit(project: Open, piece: PieceName = "") -> Response:
    """The knit-along page of the project's chart, or of a piece of what is made of it."""
    chart = project.seen.state.chart
    if piece:
        with project.lock:
            worked = thing_of(project)
            worked.piece(piece)
            chart = next(one.chart for one in worked.whole().pieces if one.name == piece)
    return Response(knit_along(chart, plan_strands(chart), served=True), media_type="text/html")


@knit_router.get("/api/projects/{name}/place")
def place(project: Open, piece: PieceName = "") -> Response:
    """The place in the knit-along page."""
    return JSONResponse(_place(project, piece).model_dump())


@knit_router.post("/api/projects/{name}/place")
def put_place(project: Open, moved: KnitPlace, piece: PieceName = "") -> Response:
    """Keep the place for every device; the last one to move it counts."""
    with project.keeping:
        now = moved.model_copy(update={"turn": _place(project, piece).turn + 1})
        project.history.keep(_kept_under(piece), now.model_dump())
    return JSONResponse(now.model_dump())


def _kept_under(piece: str) -> str:
    return f"{PLACE} {piece}" if piece else PLACE


def _place(project: Project, piece: str) -> KnitPlace:
    """The place that is kept; the first round where what came with a sent project is none."""
    try:
        return KnitPlace.model_validate(project.history.kept(_kept_under(piece)) or {})
    except ValidationError:
        return KnitPlace()
