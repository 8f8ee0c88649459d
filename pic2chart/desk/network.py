"""The desk on the home network: off unless it is wished for, and beside the one on this machine.

It listens at this machine's own address in the home network, never at all of them, with TLS; it hears
devices that were let in, and whoever is not one gets the bare page and may show a code. What lets
devices in and out again is not to be had here at all, only on this machine.
"""

from __future__ import annotations

import ipaddress
import socket
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.desk.certificate import Certificate, certificate_for
from pic2chart.desk.connections import BoundedListener, server_options
from pic2chart.desk.devices import Devices
from pic2chart.desk.guard import TOKEN, App, Guard, Scope

FIRST_PORT, TRIES = 8490, 20
SOCKETS_EACH = 24
"""Connections one device may have open: a browser opens six or so."""
PAIR = "/api/pair"
"""Where a device shows its code; the one route that needs no key."""
ONLY_HERE = "/api/network"
"""What is to be had on this machine alone."""
_NOWHERE = ("192.0.2.1", 9)
"""An address that is nobody's (RFC 5737): asking for the way there sends nothing."""


def home_address() -> str:
    """This machine's own IPv4 address in the home network. Raises SettingError where it has none, or
    one that all the world may reach.
    """
    with closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as probe:
        try:
            probe.connect(_NOWHERE)
            address = str(probe.getsockname()[0])
        except OSError as error:
            raise SettingError(message("no-home-network")) from error
    if not ipaddress.ip_address(address).is_private or address.startswith("127."):
        raise SettingError(message("address-not-private", address=address))
    return address


class Rates:
    """So many requests a second of each client, and a burst now and then. `clock` gives seconds."""

    def __init__(
        self, each_second: float, burst: float, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._each_second, self._burst, self._clock = each_second, burst, clock
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def take(self, client: str) -> bool:
        """Whether one more request of that client is heard."""
        now = self._clock()
        left, at = self._left.pop(client, (self._burst, now))
        left = min(self._burst, left + (now - at) * self._each_second)
        self._left[client] = (left - 1 if left >= 1 else left), now
        while len(self._left) > 1000:
            self._left.popitem(last=False)
        return left >= 1


class NetworkGuard(Guard):
    """The guard for the home network: devices' keys in place of this start's token, and rates."""

    scheme = "https"
    unknown = "This device is not let in, or no longer: show it the code on the desk's own screen."

    def __init__(self, app: App, devices: Devices, hosts: list[str]) -> None:
        super().__init__(app, "", hosts)
        self._devices = devices
        self._requests = Rates(each_second=40, burst=300)
        self._strange = Rates(each_second=0.2, burst=20)

    def refuse(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
        """As on this machine; too many requests, or tries without a key, are not heard either."""
        client = str((scope.get("client") or ("?",))[0])
        if not self._requests.take(client):
            return 429, "That is too much at once; wait a little."
        if scope["path"].startswith(ONLY_HERE):
            return 403, "This is to be done on the desk's own machine."
        refused = super().refuse(scope, headers)
        asks = scope["path"] == PAIR and scope["method"] == "POST"
        if refused is None or refused[0] != 401:
            return refused
        if not self._strange.take(client):
            return 429, "That was tried too often; wait a little."
        return None if asks and not headers.get(TOKEN) else refused

    def knows(self, token: str) -> bool:
        """Whether that is the key of a device that was let in."""
        return bool(token) and self._devices.knows(token)


@dataclass(frozen=True, slots=True)
class Network:
    """The open desk on the network: its address, and the certificate by which it is known."""

    address: str
    certificate: Certificate
    devices: Devices


@contextmanager
def open_network(app: App, folder: Path, address: str | None = None) -> Iterator[Network]:
    """Keep the desk open on the home network for as long as the block lasts; its own files lie in
    `folder`. `address`: this machine's, found where it is not given.

    Raises SettingError where there is no home network or no free port, InputError and OutputError
    for its files.
    """
    import uvicorn

    here = address or home_address()
    certificate = certificate_for(folder, here)
    devices = Devices(folder / "devices.json")
    with closing(_listening(here)) as listener:
        host = f"{here}:{listener.getsockname()[1]}"
        server = uvicorn.Server(
            uvicorn.Config(
                NetworkGuard(app, devices, [host]),
                ssl_certfile=certificate.certificate,
                ssl_keyfile=certificate.key,
                **server_options(),
            )
        )
        thread = threading.Thread(target=_run, args=(server, listener), daemon=True)
        thread.start()
        try:
            yield Network(f"https://{host}/", certificate, devices)
        finally:
            server.should_exit = True
            thread.join(5)


def _run(server: Any, listener: socket.socket) -> None:
    server.run(sockets=[listener])


def _listening(address: str) -> BoundedListener:
    for number in [*range(FIRST_PORT, FIRST_PORT + TRIES), 0]:
        with suppress(OSError):
            return BoundedListener(socket.create_server((address, number)), SOCKETS_EACH)
    raise SettingError(message("network-not-opened", address=address))
