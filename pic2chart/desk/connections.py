"""How many connections the desk holds, and for how long it waits on one that says nothing.

Whoever can reach the port can open connections, key or not. So the silent are let go: a request's
head has to be there in time, a body has to go on coming, and when there are too many connections the
one that has been silent longest gives way to the newcomer, so that the page always gets through.
"""

from __future__ import annotations

import asyncio
import socket
from collections import Counter
from collections.abc import Callable
from typing import Any

import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

MOST_CONNECTIONS = 160
MOST_SOCKETS = 200
"""Sockets a listener has accepted and not closed yet, those still agreeing on TLS included: fewer than
any system lets a process have open."""
BACKLOG = 32
"""Connections that are accepted in one go, so that they can be let go in between."""
HEAD_SECONDS, BODY_SECONDS = 10.0, 20.0
_LOOK_SECONDS = 2.0
ENDING_SECONDS = 0.8
"""How long a desk that is being closed waits for what is in hand."""


class BoundedProtocol(H11Protocol):
    """HTTP/1.1 on one connection, of which there are at most MOST_CONNECTIONS."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take the connection; the one that was silent longest goes when there are too many."""
        super().connection_made(transport)
        self._since = self._heard = self.loop.time()
        if len(self.connections) > MOST_CONNECTIONS:
            others = [one for one in self.connections if isinstance(one, BoundedProtocol)]
            waiting = [one for one in others if one is not self and one.waits]
            min(waiting, key=lambda one: one._heard, default=self).transport.abort()
        self._look()

    @property
    def waits(self) -> bool:
        """Whether no request is in hand: the client is to say something."""
        return self.cycle is None or self.cycle.response_complete

    def data_received(self, data: bytes) -> None:
        """Note when the client was heard last."""
        self._heard = self.loop.time()
        super().data_received(data)

    def on_response_complete(self) -> None:
        """From now on the next request's head is waited for."""
        self._since = self.loop.time()
        super().on_response_complete()

    def _look(self) -> None:
        """Look now and then whether the client keeps the desk waiting, and let go of one that does."""
        if self.transport.is_closing():
            return
        now = self.loop.time()
        late = now - self._since > HEAD_SECONDS if self.waits else self._body_late(now)
        if late:
            self.transport.abort()
        else:
            self.loop.call_later(_LOOK_SECONDS, self._look)

    def _body_late(self, now: float) -> bool:
        return self.cycle.more_body and now - self._heard > BODY_SECONDS

    def give_up_body(self) -> None:
        """Wait no longer for the rest of a body."""
        if not self.waits and self.cycle.more_body:
            self.transport.abort()


class BoundedListener(socket.socket):
    """A listening socket that has at most MOST_SOCKETS accepted ones open, and at most `each` of one
    address.
    """

    def __init__(self, listening: socket.socket, each: int = MOST_SOCKETS) -> None:
        super().__init__(fileno=listening.detach())
        self._each = each
        self._accepted: list[tuple[socket.socket, str]] = []

    def accept(self) -> tuple[socket.socket, Any]:
        """Accept one; raises ConnectionAbortedError, which servers pass over, where it is one too many."""
        accepted, address = super().accept()
        self._accepted = [one for one in self._accepted if one[0].fileno() != -1]
        there = Counter(host for _, host in self._accepted)
        if len(self._accepted) >= MOST_SOCKETS or there[address[0]] >= self._each:
            accepted.close()
            raise ConnectionAbortedError
        self._accepted.append((accepted, address[0]))
        return accepted, address


class EndingServer(uvicorn.Server):
    """A server that, when it is to end, waits for work no longer than ENDING_SECONDS.

    Then `end_work` is called, upon which every request that waits for work gets an answer. `uvicorn`'s own
    way is to break off what waits, with a traceback for each.
    """

    def __init__(self, config: uvicorn.Config, end_work: Callable[[], None]) -> None:
        super().__init__(config)
        self._end_work = end_work

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Let requests come to their end."""
        timer = asyncio.get_running_loop().call_later(ENDING_SECONDS, self._end)
        try:
            await super().shutdown(sockets)
        finally:
            timer.cancel()

    def _end(self) -> None:
        for one in list(self.server_state.connections):
            if isinstance(one, BoundedProtocol):
                one.give_up_body()
        asyncio.get_running_loop().run_in_executor(None, self._end_work)


def server_options() -> dict[str, Any]:
    """Options for a uvicorn server that keeps to these limits and prints no more than faults."""
    return {
        "http": BoundedProtocol,
        "ws": "none",
        "loop": "asyncio",
        "backlog": BACKLOG,
        "log_level": "error",
        "access_log": False,
        "server_header": False,
        "lifespan": "off",
        "timeout_graceful_shutdown": 5,
    }
