"""The routes of the home network: on this machine codes and devices, on the network letting one in."""

from __future__ import annotations

import io
from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from pic2chart.desk.devices import CODE_SECONDS
from pic2chart.desk.network import ONLY_HERE, PAIR, Network
from pic2chart.model.keys import clean_title

network_router = APIRouter()


def _network(request: Request) -> Network:
    network: Network | None = request.app.state.network
    if network is None:
        raise HTTPException(404, "This desk is open on this machine only.")
    return network


OpenNetwork = Annotated[Network, Depends(_network)]


class PairRequest(BaseModel):
    """A code as it was typed or read, and what the device is called."""

    code: str = Field(max_length=40)
    name: str = Field("", max_length=60)


class WithdrawRequest(BaseModel):
    """The device whose key is taken back."""

    id: str = Field(max_length=40)


@network_router.get(ONLY_HERE)
def show_network(request: Request) -> Response:
    """Whether the desk is open on the home network, where, and the devices that were let in."""
    network: Network | None = request.app.state.network
    if network is None:
        return JSONResponse({"on": False})
    return JSONResponse(
        {
            "on": True,
            "address": network.address,
            "fingerprint": network.certificate.fingerprint,
            "devices": network.devices.shown(),
        }
    )


@network_router.post(f"{ONLY_HERE}/code")
def new_code(network: OpenNetwork) -> Response:
    """A code for one device, and a square to be photographed that holds it."""
    code = network.devices.new_code()
    address = f"{network.address}#pair={code}"
    return JSONResponse({"code": code, "seconds": CODE_SECONDS, "square": square(address)})


@network_router.post(f"{ONLY_HERE}/withdraw")
def withdraw(network: OpenNetwork, request: WithdrawRequest) -> Response:
    """Take a device's key back."""
    network.devices.withdraw(request.id)
    return JSONResponse({"devices": network.devices.shown()})


@network_router.post(PAIR)
def pair(network: OpenNetwork, request: PairRequest) -> Response:
    """Let a device in that shows the code; its own key."""
    return JSONResponse({"key": network.devices.let_in(request.code, clean_title(request.name))})


def square(text: str) -> str:
    """The text as a QR code (ISO/IEC 18004), an SVG picture as text."""
    import segno

    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        out, kind="svg", scale=6, border=4, xmldecl=False, light="#ffffff", dark="#000000"
    )
    return out.getvalue().decode()
