"""The routes by which the page reads a photo of a chart, of knitted fabric or of a swatch."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Response
from fastapi.responses import JSONResponse

from pic2chart.desk.chart_reading import read_for_page
from pic2chart.desk.gauge_reading import gauge_for_page
from pic2chart.desk.routes import RAW, BodyBytes, Desk, Title
from pic2chart.reading.reading_settings import GaugeSettings, ReadSettings

reading_router = APIRouter(prefix="/api/reading")

PlaceText = Annotated[str | None, Query(max_length=200)]
GaugeNumber = Annotated[float | None, Query(ge=0, le=1000)]
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


@reading_router.post("/gauge", openapi_extra=RAW)
def read_gauge_photo(
    store: Desk,
    data: BodyBytes,
    card: PlaceText = None,
    between: PlaceText = None,
    cm: GaugeNumber = None,
    coin_mm: GaugeNumber = None,
    ruler: bool = False,
    stitches_along: PlaceText = None,
    stitches_counted: GaugeNumber = None,
    rounds_along: PlaceText = None,
    rounds_counted: GaugeNumber = None,
) -> Response:
    """The gauge of the swatch in a photo; nothing is kept. The scale and counts as the options have them."""
    settings = GaugeSettings(
        card=card,
        between=between,
        cm=cm,
        coin_mm=coin_mm,
        ruler=ruler,
        stitches_along=stitches_along,
        stitches_counted=stitches_counted,
        rounds_along=rounds_along,
        rounds_counted=rounds_counted,
    )
    return JSONResponse(gauge_for_page(data, store.root, settings))
