"""Opening the desk: a socket on the loopback address, a token for this start, one desk a folder."""

from __future__ import annotations

import contextlib
import html
import os
import secrets
import socket
import threading
import webbrowser
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pic2chart.errors import OutputError, SettingError
from pic2chart.files import write_atomic

if TYPE_CHECKING:
    from fastapi import FastAPI

HOST = "127.0.0.1"
FIRST_PORT, TRIES = 8470, 20
OPENER = "open-the-desk.html"
"""File in the desk's folder that leads to its page; of use as long as the desk runs."""


def serve(folder: Path, port: int | None, browser: bool, say: Callable[[str], None]) -> None:
    """Keep the desk open until it is interrupted. `say` is given the address to open.

    Raises OutputError when the folder cannot be used or a desk is open on it, SettingError when the
    port is taken.
    """
    import uvicorn

    from pic2chart.desk.app import make_app
    from pic2chart.desk.guard import Guard
    from pic2chart.desk.store import Store

    os.umask(0o077)  # pictures and charts are for the eyes of their owner
    store = Store(folder)
    with _alone(store.root), _listening(port) as listener:
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

    from pic2chart.mending import mend
    from pic2chart.pipeline import make_chart
    from pic2chart.settings import Settings

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

    It listens before its address is told: a page that comes at once waits instead of being refused,
    and no second desk can take the port, which binding alone allows.
    """
    wanted = [port] if port is not None else [*range(FIRST_PORT, FIRST_PORT + TRIES), 0]
    for number in wanted:
        with contextlib.suppress(OSError):
            return socket.create_server((HOST, number))
    raise SettingError(f"--port {port} is taken or not allowed; leave it out or try another.")


@contextlib.contextmanager
def _alone(root: Path) -> Iterator[None]:
    """Hold the folder for this desk; the system lets go of it however the desk ends."""
    with (root / ".desk").open("a+b") as file:
        try:
            _lock(file)
        except OSError as error:
            raise OutputError(
                f"A desk is already open on '{root}'; use its page, or give another folder."
            ) from error
        yield


def _lock(file: Any) -> None:
    try:
        import fcntl
    except ImportError:  # Windows
        import msvcrt

        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
    else:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
