"""Who may speak to the desk, and how much: Host, Origin, key, sizes, and what browsers may do.

The desk listens on the loopback address, but any page a browser shows, and every other user of the
machine, could still try to reach it. So: the Host must be the desk's own (against names that are
made to point here), a request that says where it comes from must come from here, and whatever is
not the bare page needs the token of this start in a header. Not in a cookie: browsers send those to
every port of this machine, where somebody else may be listening.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect

Scope = MutableMapping[str, Any]
Event = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Event]]
Send = Callable[[Event], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

MAX_UPLOAD = 100_000_000
MAX_REQUEST = 2_000_000
TOKEN = "x-desk-key"
"""Header with the token."""
UPLOADS = ("/api/projects", "/api/reading", "/api/shelf", "/api/yarns")
"""Paths whose bodies are files; all others take small JSON only."""

PAGES = ("/", "/knit")
"""The bare pages; with the files under /static/ all that needs no key, and nobody's data."""

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

    scheme = "http"
    """What an Origin of the desk's own page begins with."""
    unknown = "Open the desk with the address it printed when it was started."
    """What one is told who has no key."""

    def __init__(self, app: App, token: str, hosts: Iterable[str]) -> None:
        self._app, self._token = app, token
        self._hosts = frozenset(hosts)
        self._faults: set[str] = set()

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
        sender, refused = _with_headers(send), self.refuse(scope, headers)
        if refused:
            await answer(sender, *refused)
            return
        try:
            await self._limited(scope, receive, sender, headers)
        except ClientDisconnect:  # nobody waits for the answer
            return
        except Exception as fault:
            if self._seen_before(fault):  # the terminal has its whole story already
                return
            raise

    def _seen_before(self, fault: Exception) -> bool:
        at = fault.__traceback__
        while at is not None and at.tb_next is not None:
            at = at.tb_next
        where = "" if at is None else f"{at.tb_frame.f_code.co_filename}:{at.tb_lineno}"
        key = f"{type(fault).__name__} {where}"
        known = key in self._faults
        self._faults.add(key)
        return known

    def refuse(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
        """Status and sentence for a request that is refused, None for one that is heard."""
        host, bare = headers.get("host", "").lower(), _bare(scope)
        if host not in self._hosts:
            return 403, "This address is not the desk's own."
        origin = headers.get("origin")
        if origin is not None and origin.lower() != f"{self.scheme}://{host}":
            return 403, "The desk answers its own page only."
        if (
            headers.get("sec-fetch-site") in ("cross-site", "same-site")
            and scope["path"] not in PAGES
        ):
            return 403, "The desk answers its own page only."
        if not bare and not self.knows(headers.get(TOKEN, "")):
            return 401, self.unknown
        return None

    def knows(self, token: str) -> bool:
        """Whether that is a key the desk gave out."""
        return secrets.compare_digest(token.encode(), self._token.encode())

    async def _limited(
        self, scope: Scope, receive: Receive, send: Send, headers: dict[str, str]
    ) -> None:
        """Hand on, and stop as soon as the body is larger than this path takes."""
        upload = scope["path"].startswith(UPLOADS) and not _small(headers)
        limit = MAX_UPLOAD if upload else MAX_REQUEST
        declared = headers.get("content-length", "0")
        if not declared.isdecimal() or int(declared[:15]) > limit:
            await answer(send, 413, f"That is larger than {limit // 1_000_000} MB.")
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
    """Whether it is a bare page that is asked for: the program's own files, nobody's data."""
    return scope["method"] in ("GET", "HEAD") and (
        scope["path"] in PAGES or scope["path"].startswith("/static/")
    )


def _with_headers(send: Send) -> Send:
    async def sender(message: Event) -> None:
        if message["type"] == "http.response.start":
            given = list(message.get("headers", []))
            names = {name.lower() for name, _ in given}
            given += [header for header in _HEADERS if header[0] not in names]
            if b"cache-control" not in names:
                given.append((b"cache-control", b"no-store"))
            message = {**message, "headers": given}
        await send(message)

    return sender


async def answer(send: Send, status: int, sentence: str) -> None:
    """Send an error in one sentence."""
    body = json.dumps({"error": sentence}).encode()
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
