"""Opening the desk: a socket on the loopback address, a token for this start, one desk a folder."""

from __future__ import annotations

import contextlib
import html
import os
import secrets
import socket
import threading
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from pic2chart.core.errors import SettingError
from pic2chart.core.files import make_folder, refuse_unwritable, write_atomic
from pic2chart.core.locks import held
from pic2chart.core.messages import Message, message
from pic2chart.desk.workers import Answer, Workers

if TYPE_CHECKING:
    from fastapi import FastAPI

    from pic2chart.desk.guard import App

HOST = "127.0.0.1"
FIRST_PORT, TRIES = 8470, 20
NETWORK = ".network"
"""Folder in the desk's for what it needs on the home network: its certificate and its devices."""
LOCK = ".desk"
"""File in the desk's folder that an open desk holds."""
OPENER = "open-the-desk.html"
"""File in the desk's folder that leads to its page; of use as long as the desk runs."""


def serve(
    folder: Path,
    port: int | None,
    browser: bool,
    say: Callable[[str], None],
    say_network: Callable[[str, str], None] | None = None,
) -> None:
    """Keep the desk open until it is interrupted. `say` is given the address to open. With
    `say_network` it is open on the home network too, and that is given its address and fingerprint.

    Raises OutputError when the folder cannot be used or a desk is open on it, SettingError when the
    port is taken or there is no home network.
    """
    os.umask(0o077)  # pictures and charts are for the eyes of their owner
    refuse_unwritable(folder)
    root = make_folder(folder, own=True)
    ready = threading.Event()
    with (
        held(root / LOCK, message("desk-already-open", folder=str(root))),
        _listening(port) as listener,
        contextlib.closing(Workers(root, ready.set, _refused)) as workers,
    ):
        # the first process apart is on its way; what this one needs is loaded beside it
        from pic2chart.desk.apart import Apart
        from pic2chart.desk.store import Store
        from pic2chart.desk.web_app import make_app

        store = Store(root)
        store.sweep()
        app = make_app(store)
        app.state.ready = ready
        apart = Apart(app, workers, store)
        _open(apart, app, listener, (browser, say, say_network), workers.close)


_How = tuple[bool, Callable[[str], None], Callable[[str, str], None] | None]


def _open(
    apart: App, app: FastAPI, listener: socket.socket, how: _How, end_work: Callable[[], None]
) -> None:
    """Say the address, and answer until it is interrupted; then what is in hand is ended soon."""
    import uvicorn

    from pic2chart.desk.connections import BoundedListener, EndingServer, server_options
    from pic2chart.desk.guard import Guard
    from pic2chart.desk.network import open_network

    browser, say, say_network = how
    root = app.state.store.root
    number = listener.getsockname()[1]
    token = secrets.token_urlsafe(24)
    address = f"http://{HOST}:{number}/?key={token}"
    with contextlib.ExitStack() as network:
        if say_network is not None:
            app.state.network = network.enter_context(open_network(apart, root / NETWORK))
        say(address)
        if say_network is not None:
            opened = app.state.network
            say_network(opened.address, opened.certificate.fingerprint)
        if browser:
            threading.Timer(0.3, _browse, [root / OPENER, address]).start()
        guarded = Guard(apart, token, [f"{name}:{number}" for name in (HOST, "localhost")])
        config = uvicorn.Config(guarded, **server_options())
        try:
            EndingServer(config, end_work).run(sockets=[BoundedListener(listener)])
        finally:
            end_work()  # the network's listener waits for nothing either


def _refused(why: Message) -> Answer:
    from pic2chart.desk.apart import explained

    return explained(why)


def _browse(opener: Path, address: str) -> None:
    """Open the page by way of a file only its owner can read.

    The address itself, token and all, would stand in the browser's command line, which every user
    of the machine can read.
    """
    to = html.escape(address)
    write_atomic(
        opener,
        '<!doctype html><meta charset="utf-8"><title>pic2chart desk</title>'
        f'<meta http-equiv="refresh" content="0; url={to}"><a href="{to}">Open the desk</a>\n',
    )
    webbrowser.open(opener.resolve().as_uri())


def _listening(port: int | None) -> socket.socket:
    """A listening socket on the loopback address: the port asked for, or the first free one.

    It listens before its address is printed: a page that comes at once waits instead of being
    refused, and no second desk can take the port, which binding alone allows.
    """
    wanted = [port] if port is not None else [*range(FIRST_PORT, FIRST_PORT + TRIES), 0]
    for number in wanted:
        with contextlib.suppress(OSError):
            return socket.create_server((HOST, number))
    raise SettingError(message("port-taken", port=port, options=("port",)))
