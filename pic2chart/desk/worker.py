"""A process apart in which the desk's work is done: the same routes, asked over a pipe.

It holds the projects it was asked for, makes charts, sheets and garments, and reads strangers' files.
The desk's own process only hands requests on, so it answers at once whatever goes on here; and it may
end this one at any moment, since what is acknowledged lies on the disk.
"""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sys
import threading
import traceback
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from pic2chart.core.confined import confining, start_ahead
from pic2chart.desk.guard import Event, Scope
from pic2chart.desk.store import Store
from pic2chart.desk.warm import warm_up
from pic2chart.desk.web_app import make_app
from pic2chart.desk.workers import READY
from pic2chart.picture.decode import decoded_parts


def work(pipe: Connection, root: str, warm: bool) -> None:
    """Answer requests from the pipe until it closes. `warm`: prepare the solver before it is needed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the desk's own process decides when it is over
    os.umask(0o077)
    worker = _Worker(pipe, Store(Path(root)))
    start_ahead(decoded_parts)
    threading.Thread(target=worker.run, daemon=True).start()
    if warm:
        threading.Thread(target=worker.warm, daemon=True).start()
    try:
        with confining():
            while True:
                head = json.loads(pipe.recv_bytes())
                worker.take(head, pipe.recv_bytes())
    except (EOFError, OSError):
        os._exit(0)  # the desk is gone: whatever is in hand here was not acknowledged


class _Worker:
    def __init__(self, pipe: Connection, store: Store) -> None:
        self._pipe, self._store = pipe, store
        self._app = make_app(store)
        self._sending = threading.Lock()
        self._loop = asyncio.new_event_loop()
        self._faults: set[str] = set()

    def run(self) -> None:
        self._loop.run_forever()

    def warm(self) -> None:
        warm_up()
        self._app.state.ready.set()
        self._send({"number": READY, "status": 0, "headers": []}, b"")

    def take(self, head: dict[str, Any], body: bytes) -> None:
        """Begin with a request; its answer is sent when it is there."""
        if "leave" in head:
            self._store.let_go(head["leave"])
            return
        if head["fresh"]:
            self._store.let_go(head["project"])
        asyncio.run_coroutine_threadsafe(self._answer(head, body), self._loop)

    async def _answer(self, head: dict[str, Any], body: bytes) -> None:
        started: dict[str, Any] = {"number": head["number"], "status": 500, "headers": []}
        parts: list[bytes] = []

        async def receive() -> Event:
            return {"type": "http.request", "body": body, "more_body": False}

        async def send(event: Event) -> None:
            if event["type"] == "http.response.start":
                started["status"] = event["status"]
                pairs = event.get("headers", [])
                started["headers"] = [[a.decode("latin-1"), b.decode("latin-1")] for a, b in pairs]
            else:
                parts.append(event.get("body", b""))

        try:
            await self._app(_scope(head), receive, send)
        except Exception as fault:
            self._report(fault)
        await asyncio.to_thread(self._send, started, b"".join(parts))

    def _report(self, fault: Exception) -> None:
        """The whole story of a fault of the program on the terminal, once."""
        last = traceback.extract_tb(fault.__traceback__)[-1:]
        where = f"{type(fault).__name__} {[(one.filename, one.lineno) for one in last]}"
        if where not in self._faults:
            self._faults.add(where)
            traceback.print_exception(fault, file=sys.stderr)

    def _send(self, head: dict[str, Any], body: bytes) -> None:
        with self._sending:
            try:
                self._pipe.send_bytes(json.dumps(head).encode())
                self._pipe.send_bytes(body)
            except OSError:
                os._exit(0)


def _scope(head: dict[str, Any]) -> Scope:
    path = head["path"]
    return {
        "type": "http",
        "asgi": {"version": "3.0", "spec_version": "2.3"},
        "http_version": "1.1",
        "method": head["method"],
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "root_path": "",
        "query_string": head["query"].encode("latin-1"),
        "headers": [(a.encode("latin-1"), b.encode("latin-1")) for a, b in head["headers"]],
        "client": None,
        "server": None,
        "state": {},
    }
