"""Who may speak to the desk, and how much: Host, Origin, token, sizes, and what browsers may do.

The desk listens on the loopback address, but any page a browser shows could still try to reach it.
So: the Host must be the desk's own (against names that are made to point here), the token of this
start must be in the cookie, and a request that says where it comes from must come from here.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs

from starlette.exceptions import HTTPException

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

MAX_UPLOAD = 100_000_000
MAX_REQUEST = 2_000_000
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

    def __init__(self, app: App, token: str, hosts: Iterable[str], cookie: str) -> None:
        self._app, self._token, self._cookie = app, token, cookie
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
        welcome = _key(scope) if scope["path"] == "/" else ""
        refused = self._refuse(scope, headers, welcome)
        sender = _with_headers(send, self._new_cookie() if welcome and not refused else None)
        if refused:
            await _answer(sender, *refused)
            return
        await self._limited(scope, receive, sender, headers)

    def _refuse(
        self, scope: Scope, headers: dict[str, str], welcome: str
    ) -> tuple[int, str] | None:
        host = headers.get("host", "").lower()
        if host not in self._hosts:
            return 403, "This address is not the desk's own."
        origin = headers.get("origin")
        if origin is not None and origin.lower() != f"http://{host}":
            return 403, "The desk answers its own page only."
        if headers.get("sec-fetch-site") in ("cross-site", "same-site") and not (
            welcome and scope["method"] == "GET"
        ):
            return 403, "The desk answers its own page only."
        if not self._known(welcome or _cookie(headers.get("cookie", ""), self._cookie)):
            return 401, "Open the desk with the address it printed when it was started."
        return None

    def _known(self, token: str) -> bool:
        return secrets.compare_digest(token.encode(), self._token.encode())

    def _new_cookie(self) -> bytes:
        return f"{self._cookie}={self._token}; HttpOnly; SameSite=Strict; Path=/".encode()

    async def _limited(
        self, scope: Scope, receive: Receive, send: Send, headers: dict[str, str]
    ) -> None:
        """Hand on, and stop as soon as the body is larger than this path takes."""
        upload = scope["path"].startswith(UPLOADS) and not _small(headers)
        limit = MAX_UPLOAD if upload else MAX_REQUEST
        told = headers.get("content-length", "0")
        if not told.isdecimal() or int(told[:15]) > limit:
            await _answer(send, 413, f"That is larger than {limit // 1_000_000} MB.")
            return
        seen = 0

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > limit:
                raise HTTPException(413, f"That is larger than {limit // 1_000_000} MB.")
            return message

        await self._app(scope, counted, send)


def _small(headers: dict[str, str]) -> bool:
    return headers.get("content-type", "").startswith("application/json")


def _key(scope: Scope) -> str:
    text = scope.get("query_string", b"").decode("latin-1")
    return str(parse_qs(text).get("key", [""])[0])


def _cookie(text: str, name: str) -> str:
    try:
        morsel = SimpleCookie(text).get(name)
    except CookieError:
        return ""
    return str(morsel.value) if morsel is not None else ""


def _with_headers(send: Send, cookie: bytes | None) -> Send:
    async def sender(message: Message) -> None:
        if message["type"] == "http.response.start":
            given = list(message.get("headers", []))
            names = {name.lower() for name, _ in given}
            given += _HEADERS
            if b"cache-control" not in names:
                given.append((b"cache-control", b"no-store"))
            if cookie is not None:
                given.append((b"set-cookie", cookie))
            message = {**message, "headers": given}
        await send(message)

    return sender


async def _answer(send: Send, status: int, sentence: str) -> None:
    body = json.dumps({"error": sentence}).encode()
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
