"""Opening the desk and guarding it: who may speak to it, its address, its token, its folder."""

from __future__ import annotations

import contextlib
import html
import json
import os
import secrets
import socket
import threading
import webbrowser
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException

from pic2chart.core.errors import SettingError
from pic2chart.core.files import write_atomic
from pic2chart.core.locks import held
from pic2chart.core.messages import message

if TYPE_CHECKING:
    from fastapi import FastAPI


# Who may speak to the desk, and how much: Host, Origin, token, sizes, and what browsers may do.
#
# The desk listens on the loopback address, but any page a browser shows, and every other user of the
# machine, could still try to reach it. So: the Host must be the desk's own (against names that are
# made to point here), a request that says where it comes from must come from here, and whatever is
# not the bare page needs the token of this start in a header. Not in a cookie: browsers send those to
# every port of this machine, where somebody else may be listening.

Scope = MutableMapping[str, Any]
Event = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Event]]
Send = Callable[[Event], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

MAX_UPLOAD = 100_000_000
MAX_REQUEST = 2_000_000
TOKEN = "x-desk-key"
"""Header with the token."""
UPLOADS = ("/api/projects", "/api/shelf")
"""Paths whose bodies are files; all others take small JSON only."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "connect-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"),
)


class Guard:
    """Wraps the app. `hosts` are the spellings of Host that are the desk's own, with the port."""

    def __init__(self, app: App, token: str, hosts: Iterable[str]) -> None:
        self._app, self._token = app, token
        self._hosts = frozenset(hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer what is refused; hand the rest on, with a limit on its body."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        headers = {
            name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]
        }
        sender, refused = _with_headers(send), self._refuse(scope, headers)
        if refused:
            await _answer(sender, *refused)
            return
        await self._limited(scope, receive, sender, headers)

    def _refuse(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
        host, bare = headers.get("host", "").lower(), _bare(scope)
        if host not in self._hosts:
            return 403, "This address is not the desk's own."
        origin = headers.get("origin")
        if origin is not None and origin.lower() != f"http://{host}":
            return 403, "The desk answers its own page only."
        if headers.get("sec-fetch-site") in ("cross-site", "same-site") and scope["path"] != "/":
            return 403, "The desk answers its own page only."
        if not bare and not self._known(headers.get(TOKEN, "")):
            return 401, "Open the desk with the address it printed when it was started."
        return None

    def _known(self, token: str) -> bool:
        return secrets.compare_digest(token.encode(), self._token.encode())

    async def _limited(
        self, scope: Scope, receive: Receive, send: Send, headers: dict[str, str]
    ) -> None:
        """Hand on, and stop as soon as the body is larger than this path takes."""
        upload = scope["path"].startswith(UPLOADS) and not _small(headers)
        limit = MAX_UPLOAD if upload else MAX_REQUEST
        declared = headers.get("content-length", "0")
        if not declared.isdecimal() or int(declared[:15]) > limit:
            await _answer(send, 413, f"That is larger than {limit // 1_000_000} MB.")
            return
        seen = 0

        async def counted() -> Event:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > limit:
                raise HTTPException(413, f"That is larger than {limit // 1_000_000} MB.")
            return message

        await self._app(scope, counted, send)


def _small(headers: dict[str, str]) -> bool:
    return headers.get("content-type", "").startswith("application/json")


def _bare(scope: Scope) -> bool:
    """Whether it is the bare page that is asked for: the program's own files, nobody's data."""
    return scope["method"] in ("GET", "HEAD") and (
        scope["path"] == "/" or scope["path"].startswith("/static/")
    )


def _with_headers(send: Send) -> Send:
    async def sender(message: Event) -> None:
        if message["type"] == "http.response.start":
            given = list(message.get("headers", []))
            names = {name.lower() for name, _ in given}
            given += _HEADERS
            if b"cache-control" not in names:
                given.append((b"cache-control", b"no-store"))
            message = {**message, "headers": given}
        await send(message)

    return sender


async def _answer(send: Send, status: int, sentence: str) -> None:
    body = json.dumps({"error": sentence}).encode()
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


# Opening the desk: a socket on the loopback address, a token for this start, one desk a folder.

HOST = "127.0.0.1"
FIRST_PORT, TRIES = 8470, 20
LOCK = ".desk"
"""File in the desk's folder that an open desk holds."""
OPENER = "open-the-desk.html"
"""File in the desk's folder that leads to its page; of use as long as the desk runs."""


def serve(folder: Path, port: int | None, browser: bool, say: Callable[[str], None]) -> None:
    """Keep the desk open until it is interrupted. `say` is given the address to open.

    Raises OutputError when the folder cannot be used or a desk is open on it, SettingError when the
    port is taken.
    """
    import uvicorn

    from pic2chart.desk.store import Store
    from pic2chart.desk.web_app import make_app

    os.umask(0o077)  # pictures and charts are for the eyes of their owner
    store = Store(folder)
    taken = message("desk-already-open", folder=str(store.root))
    with held(store.root / LOCK, taken), _listening(port) as listener:
        store.sweep()
        number = listener.getsockname()[1]
        token = secrets.token_urlsafe(24)
        app = make_app(store)
        hosts = [f"{name}:{number}" for name in (HOST, "localhost")]
        guarded = Guard(app, token, hosts)
        address = f"http://{HOST}:{number}/?key={token}"
        say(address)
        threading.Thread(target=warm_up, args=(app,), daemon=True).start()
        if browser:
            threading.Timer(0.3, _browse, [store.root / OPENER, address]).start()
        config = uvicorn.Config(
            guarded,
            log_level="warning",
            access_log=False,
            server_header=False,
            lifespan="off",
            timeout_graceful_shutdown=2,
        )
        uvicorn.Server(config).run(sockets=[listener])


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


def warm_up(app: FastAPI) -> None:
    """Load what the first chart needs, and compile the solver where it never ran, before it is asked."""
    import tempfile

    import numpy as np
    from PIL import Image

    from pic2chart.core.settings import Settings
    from pic2chart.mending import mend
    from pic2chart.pipeline import make_chart

    with contextlib.suppress(Exception), tempfile.TemporaryDirectory() as folder:
        # whatever fails here is said when it is asked for
        picture = Path(folder) / "warm.png"
        shades = np.add.outer(np.arange(64), np.arange(64)) % 32 * 8
        Image.fromarray(shades.astype(np.uint8)).save(picture)
        for yarns in (2, 3):  # each with kernels of its own
            mend(make_chart(picture, Settings(stitches=16, yarns=yarns)).chart)
    app.state.ready.set()


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
