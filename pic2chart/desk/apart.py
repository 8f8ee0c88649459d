"""Between the guard and the routes: what is work goes to a process apart, the rest is answered here."""

from __future__ import annotations

import asyncio
import re
import threading
from collections import OrderedDict

from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.responses import JSONResponse

from pic2chart.core.messages import Message
from pic2chart.desk.form import worded
from pic2chart.desk.guard import App, Receive, Scope, Send, answer
from pic2chart.desk.store import Store
from pic2chart.desk.workers import Answer, Job, Workers

_PROJECT = re.compile(r"/api/projects/([0-9a-f]{12})(/.*)?")
_WORK = {
    ("POST", "/api/projects"),
    ("POST", "/api/projects/blank"),
    ("POST", "/api/yarns/photo"),
    ("POST", "/api/reading"),
    ("POST", "/api/reading/gauge"),
    ("GET", "/api/yarns/sets"),
}
"""Work that belongs to no project yet."""
_URGENT = ("/stop", "/subject", "/place", "/see/small", "/picture")
"""Parts of a project's address that wait for nothing else done to it."""
_ONCE = ("/picture", "/garment/open", "/remove")
"""Changes that would be done twice if they were begun anew; the others bring a mark."""
_HOLD = 12
_SHOW_SECONDS = 0.08
"""After so long the view that is known is shown, if something is being made of the project."""
_VIEW = re.compile(rb'\{"id":"([0-9a-f]{12})","revision":(\d+),"draft":false')
"""How the view of a project begins that is not one of a draft."""


def explained(what: Message) -> Answer:
    """A message as the answer to a request that could not be done."""
    response = JSONResponse({"error": worded(what)}, 422)
    pairs = tuple((a.decode("latin-1"), b.decode("latin-1")) for a, b in response.raw_headers)
    return Answer(response.status_code, pairs, bytes(response.body))


class Apart:
    """Wraps the app. `store`: the desk's own, whose list of projects is told what changed."""

    def __init__(self, app: App, workers: Workers, store: Store) -> None:
        self._app, self._workers, self._store = app, workers, store
        self._views: OrderedDict[str, tuple[int, Answer]] = OrderedDict()
        self._noting = threading.Lock()  # the network's loop runs in a thread of its own

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand a request on, and its answer back."""
        path = scope["path"] if scope["type"] == "http" else ""
        found = _PROJECT.fullmatch(path)
        if found is None and (scope.get("method"), path) not in _WORK:
            await self._app(scope, receive, send)
            return
        try:
            body = await _body(receive)
        except HTTPException as refused:
            await answer(send, refused.status_code, str(refused.detail))
            return
        job = _job(scope, body, found)
        got = await self._show(job) if _is_show(job) else await self._ask(job)
        pairs = [(a.encode("latin-1"), b.encode("latin-1")) for a, b in got.headers]
        await send({"type": "http.response.start", "status": got.status, "headers": pairs})
        await send({"type": "http.response.body", "body": got.body})

    async def _ask(self, job: Job) -> Answer:
        future = self._workers.ask(job)
        if job.path.endswith("/stop") and job.project is not None:
            self._workers.stop(job.project)
        got = await asyncio.wrap_future(future)
        self._note(job, got)
        return got

    async def _show(self, job: Job) -> Answer:
        """A project as it is; as it was when last seen here, while its process has no time to say."""
        pending = asyncio.ensure_future(self._ask(job))
        known = self._views.get(job.project or "")
        if known is None:
            return await pending
        done, _ = await asyncio.wait([pending], timeout=_SHOW_SECONDS)
        return pending.result() if done else known[1]

    def _note(self, job: Job, got: Answer) -> None:
        """Remember the latest view of a project, and that its card is to be made anew."""
        if got.status != 200:
            return
        if job.project is not None and job.method != "GET":
            self._store.forget_card(job.project)
            if job.path.endswith("/remove"):
                self._views.pop(job.project, None)
        found = _VIEW.match(got.body)
        if found is None:
            return
        name, revision = found[1].decode(), int(found[2])
        with self._noting:
            known = self._views.pop(name, None)
            newest = (revision, got) if known is None or known[0] <= revision else known
            self._views[name] = newest
            if len(self._views) > _HOLD:
                self._views.popitem(last=False)


def _job(scope: Scope, body: bytes, found: re.Match[str] | None) -> Job:
    rest = (found[2] if found is not None else None) or ""
    return Job(
        method=scope["method"],
        path=scope["path"],
        query=scope["query_string"].decode("latin-1"),
        headers=[(a.decode("latin-1"), b.decode("latin-1")) for a, b in scope["headers"]],
        body=body,
        project=None if found is None else found[1],
        urgent=rest in _URGENT or (rest == "" and scope["method"] == "GET"),
        again=scope["method"] == "GET" or (found is not None and rest not in _ONCE),
    )


def _is_show(job: Job) -> bool:
    return job.method == "GET" and job.path == f"/api/projects/{job.project}"


async def _body(receive: Receive) -> bytes:
    parts = []
    while True:
        event = await receive()
        if event["type"] == "http.disconnect":
            raise ClientDisconnect
        parts.append(event.get("body", b""))
        if not event.get("more_body", False):
            return b"".join(parts)
