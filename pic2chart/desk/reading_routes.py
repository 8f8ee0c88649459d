"""The routes by which the page reads a photo of a chart or of knitted fabric."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Response
from fastapi.responses import JSONResponse

from pic2chart.desk.chart_reading import read_for_page
from pic2chart.desk.routes import RAW, BodyBytes, Desk, Title
from pic2chart.reading.reading_settings import ReadSettings

reading_router = APIRouter(prefix="/api/reading")

PlaceText = Annotated[str | None, Query(max_length=200)]
SquareCount = Annotated[int | None, Query(ge=1, le=1000)]


@reading_router.post("", openapi_extra=RAW)
def read_chart_photo(
    store: Desk,
    data: BodyBytes,
    name: Title = "chart",
    corners: PlaceText = None,
    region: PlaceText = None,
    stitches: SquareCount = None,
    rounds: SquareCount = None,
    yarns: SquareCount = None,
    fabric: bool = False,
) -> Response:
    """The chart in a photo; nothing is kept. Corners, region and fabric as the options have them."""
    settings = ReadSettings(
        fabric=fabric, corners=corners, region=region, stitches=stitches, rounds=rounds, yarns=yarns
    )
    return JSONResponse(read_for_page(data, name, store.root, settings))
