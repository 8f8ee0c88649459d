"""The routes of the yarns one has."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from pic2chart.core.settings import Settings
from pic2chart.desk.own_yarns import measured, own_yarns, put_yarn, sets_that_read, take_away
from pic2chart.desk.page_data import shelf_view
from pic2chart.desk.routes import RAW, BodyBytes, Desk
from pic2chart.desk.store import NO_YARNS, Store, put_back_shelf

yarn_router = APIRouter(prefix="/api/yarns")

LabelWords = Annotated[str, Field(max_length=200)]
Measure = Annotated[float, Field(ge=0, lt=1e7)]
BoxText = Annotated[str | None, Query(max_length=60)]


class YarnFacts(BaseModel):
    """A yarn, as its label and one's own stock have it."""

    name: Annotated[str, Field(max_length=60)]
    colour: Annotated[str, Field(max_length=7)]
    weight: LabelWords | None = None
    m_per_100g: Measure | None = None
    grams: Measure | None = None
    price: Measure | None = None
    lot: LabelWords | None = None
    note: LabelWords | None = None


class YarnChange(BaseModel):
    """A yarn to be added, or what the one called `was` becomes; facts that are left out stay."""

    was: Annotated[str, Field(max_length=60)] | None = None
    yarn: YarnFacts


class YarnRemoval(BaseModel):
    """The name of a yarn."""

    name: Annotated[str, Field(max_length=60)]


@yarn_router.get("")
def show_yarns(store: Desk) -> Response:
    """The yarns one has."""
    return JSONResponse(own_yarns(store.shelf))


@yarn_router.post("")
def change_yarn(store: Desk, change: YarnChange) -> Response:
    """Add a yarn or change one."""
    with store.shelf_turn:
        put_yarn(store.shelf, change.was, change.yarn.model_dump(exclude_unset=True))
    return _both(store)


@yarn_router.post("/remove")
def remove_yarn(store: Desk, removal: YarnRemoval) -> Response:
    """Take a yarn off the shelf."""
    with store.shelf_turn:
        take_away(store.shelf, removal.name)
    return _both(store)


@yarn_router.post("/back")
def put_back(store: Desk) -> Response:
    """Take the last change of the shelf back."""
    with store.shelf_turn:
        put_back_shelf(store.shelf)
    return _both(store)


@yarn_router.post("/photo", openapi_extra=RAW)
def measure_yarn(
    store: Desk, data: BodyBytes, yarn: BoxText = None, white: BoxText = None, as_lit: bool = False
) -> Response:
    """The colour of a yarn in a photo; nothing is kept."""
    return JSONResponse(measured(data, store.root, yarn, white, as_lit))


@yarn_router.get("/sets")
def show_sets(
    store: Desk,
    count: Annotated[int, Query(ge=2, le=6)] = 2,
    gap: Annotated[float, Query(ge=0, le=100)] = Settings().min_delta_L,
) -> Response:
    """Sets of the yarns one has that read."""
    return JSONResponse(sets_that_read(store.shelf, count, gap))


@yarn_router.get("/file")
def take_file(store: Desk) -> Response:
    """The shelf as the CSV file it is."""
    data = store.shelf.read_bytes() if store.shelf.is_file() else NO_YARNS
    kept = {"content-disposition": 'attachment; filename="yarns.csv"'}
    return Response(data, media_type="text/csv; charset=utf-8", headers=kept)


def _both(store: Store) -> Response:
    """The yarns in full, and as the forms show them."""
    plain: dict[str, Any] = own_yarns(store.shelf)
    return JSONResponse(plain | {"shelf": shelf_view(store.shelf)})
