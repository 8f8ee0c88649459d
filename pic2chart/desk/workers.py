"""The processes apart: which one a project's work goes to, and what happens when one ends.

A project is at home in one process at a time, so that its history has one writer. While that process
is taken up by another project's long work, the project moves to one that is free. Stopping is asked
for first; work that does not heed it in time ends with its process.
"""

from __future__ import annotations

import json
import multiprocessing
import queue
import re
import sys
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, InvalidStateError
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from pic2chart.core.messages import Message, message

READY = 0
"""Number of the answer that says that the solver is prepared; requests are numbered from 1."""
MOST = 4
"""Processes at the same time."""
SPARE = 2
"""Processes that are kept also when nothing is done, so that one is free when another is taken up."""
MOST_EACH = 8
"""Requests of one project that are handed on at once; more wait their turn, except the urgent."""
LONG_SECONDS = 0.25
"""Work that takes longer makes other projects move."""
GRACE_SECONDS = 1.5
"""How long work may go on after it was to stop, before its process is ended."""
IDLE_SECONDS = 180.0
MOST_FAILURES = 5
"""Processes that may end one after the other without an answer before no new one is started unasked."""
_PRELOADED = (
    "pic2chart.desk.worker",
    "pic2chart.solve.solver",
    "pic2chart.solve.catches",
    "pic2chart.yarns.choose",
    "pic2chart.picture.subject_network",
)
"""What charts need, loaded once for all processes where the system can fork them off one that has it."""
_STARTED = re.compile(rb'\{"id":"([0-9a-f]{12})"')
"""How the view of a project begins, also of one that was just started."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of a request."""

    status: int
    headers: tuple[tuple[str, str], ...]
    body: bytes


@dataclass(slots=True, eq=False)
class Job:
    """A request for a process apart. `urgent`: it is answered beside the project's other work.
    `again`: it may be done a second time when the process ended before the answer.
    """

    method: str
    path: str
    query: str
    headers: list[tuple[str, str]]
    body: bytes
    project: str | None
    urgent: bool = False
    again: bool = True
    answer: Future[Answer] = field(default_factory=Future)
    began: float = 0.0


class Workers:
    """A few processes apart on one desk's folder. Safe to be used by several threads.

    `ready` is called once the solver is prepared; `explain` puts a message into an answer.
    """

    def __init__(
        self, root: Path, ready: Callable[[], None], explain: Callable[[Message], Answer]
    ) -> None:
        self._root, self._ready, self._explain = root, ready, explain
        self._lock = threading.RLock()
        self._waiting: list[Job] = []
        self._home: dict[str, _Process] = {}
        self._open, self._failures = True, 0
        first = multiprocessing.get_context("spawn")  # which loads nothing before it listens
        self._processes = [_Process(self, first, root, warm=True)]
        self._context = _context_of_more()

    def ask(self, job: Job) -> Future[Answer]:
        """Have a request answered; the future gives the answer, whatever happens to the process."""
        with self._lock:
            if not self._open:
                _settle(job, self._explain(message("work-ended")))
                return job.answer
            self._retire()
            self._waiting.append(job)
            if not self._processes:  # they could not be started before
                self._processes.append(_Process(self, self._context, self._root, warm=True))
            self._hand_on()
        return job.answer

    def stop(self, project: str) -> None:
        """See to it that what is being made of a project ends soon, heeding the request or not."""
        with self._lock:
            home = self._home.get(project)
            jobs = [] if home is None else home.jobs_of(project)
        if home is not None and jobs:
            timer = threading.Timer(GRACE_SECONDS, self._end_if_busy, [home, project, jobs])
            timer.daemon = True
            timer.start()

    def close(self) -> None:
        """End all processes."""
        with self._lock:
            self._open = False
            for process in list(self._processes):
                self._end(process)

    def _end_if_busy(self, home: _Process, project: str, jobs: list[Job]) -> None:
        with self._lock:
            if any(job in home.jobs.values() for job in jobs):
                home.stopped.add(project)
                self._end(home)

    def _retire(self) -> None:
        """End what stood idle for long, all but the first and its spare."""
        for process in self._processes[SPARE:]:
            if not process.jobs and time.monotonic() - process.used > IDLE_SECONDS:
                self._end(process)

    def _end(self, process: _Process) -> None:
        """End a process; nothing is handed to it from now on."""
        self._forget(process)
        process.kill()

    def _forget(self, process: _Process) -> None:
        if process in self._processes:
            self._processes.remove(process)
        self._home = {name: home for name, home in self._home.items() if home is not process}
        if self._open and not self._processes and self._failures < MOST_FAILURES:
            self._processes.append(_Process(self, self._context, self._root, warm=True))

    def _hand_on(self) -> None:
        for job in list(self._waiting):
            process = self._process_for(job)
            if process is not None:
                self._waiting.remove(job)
                before = self._home.get(job.project) if job.project is not None else None
                fresh = job.project is not None and before is not process
                if job.project is not None:
                    self._home[job.project] = process
                    if before is not None and fresh:
                        before.leave(job.project)
                process.begin(job, fresh)

    def _process_for(self, job: Job) -> _Process | None:
        """The process for a request, None when it waits its turn."""
        home = self._home.get(job.project) if job.project is not None else None
        if home is not None and job.project is not None:
            mine = home.jobs_of(job.project)
            if mine:  # it cannot move now
                return home if job.urgent or len(mine) < MOST_EACH else None
            if not home.laden():
                return home
        return self._free() or home or min(self._processes, key=lambda one: len(one.jobs))

    def _free(self) -> _Process | None:
        """A process that is not taken up; a new one when all are."""
        free = [one for one in self._processes if not one.laden()]
        if free:
            return min(free, key=lambda one: len(one.jobs))
        if len(self._processes) >= MOST:
            return None
        self._processes.append(_Process(self, self._context, self._root, warm=False))
        return self._processes[-1]

    def heard(self, process: _Process, number: int, answer: Answer) -> None:
        """An answer came out of a process."""
        if number == READY:
            self._ready()
        with self._lock:
            self._failures = 0
            if number == READY and self._open and len(self._processes) < SPARE:
                self._processes.append(_Process(self, self._context, self._root, warm=True))
            job = process.jobs.pop(number, None)
            started = _STARTED.match(answer.body) if answer.status == 200 else None
            if started is not None:
                self._home.setdefault(started[1].decode(), process)
            process.used = time.monotonic()
            self._hand_on()
        if job is not None:
            _settle(job, answer)

    def ended(self, process: _Process) -> None:
        """A process is gone: its work is begun anew elsewhere, or refused."""
        refused: list[tuple[Job, Message]] = []
        with self._lock:
            self._failures += 1
            self._forget(process)
            jobs, process.jobs = list(process.jobs.values()), {}
            for job in jobs:
                if job.project in process.stopped:
                    refused.append((job, message("stopped")))
                elif not self._open or not job.again:
                    refused.append((job, message("work-ended")))
                else:
                    job.again = False
                    self._waiting.append(job)
            if not self._processes:
                refused += [(job, message("work-ended")) for job in self._waiting]
                self._waiting.clear()
            self._hand_on()
        for job, why in refused:
            _settle(job, self._explain(why))


def _context_of_more() -> Any:
    """How processes after the first begin: forked off one that has everything loaded where that is safe.

    On macOS the system's own libraries may have threads, so Python forks nothing there unasked either.
    """
    if sys.platform == "darwin" or "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(list(_PRELOADED))
    return context


def _settle(job: Job, answer: Answer) -> None:
    """Give a request its answer, unless nobody waits for it any more."""
    with suppress(InvalidStateError):
        job.answer.set_result(answer)


def _work(pipe: Connection, root: str, warm: bool) -> None:
    """In the process apart; only there the routes and all they need are loaded."""
    from pic2chart.desk.worker import work

    work(pipe, root, warm)


class _Process:
    """One process: a thread writes to it, another reads what it answers."""

    def __init__(self, owner: Workers, context: Any, root: Path, warm: bool) -> None:
        self._owner = owner
        self.jobs: dict[int, Job] = {}
        self.stopped: set[str] = set()
        self.used = time.monotonic()
        self._number = READY
        self._outbox: queue.SimpleQueue[tuple[bytes, bytes] | None] = queue.SimpleQueue()
        self._context, self._root, self._warm = context, root, warm
        self._process: Any = None
        self._killed = False
        threading.Thread(target=self._run, daemon=True).start()

    def laden(self) -> bool:
        """Whether something takes long here."""
        now = time.monotonic()
        return any(now - job.began > LONG_SECONDS for job in self.jobs.values())

    def jobs_of(self, project: str) -> list[Job]:
        """What is in hand of a project."""
        return [job for job in self.jobs.values() if job.project == project]

    def begin(self, job: Job, fresh: bool) -> None:
        """Hand a request on. `fresh`: the project was elsewhere meanwhile."""
        self._number += 1
        job.began = time.monotonic()
        self.jobs[self._number] = job
        head = {"number": self._number, "project": job.project, "fresh": fresh}
        head |= {"method": job.method, "path": job.path, "query": job.query}
        self._outbox.put((json.dumps(head | {"headers": job.headers}).encode(), job.body))

    def leave(self, project: str) -> None:
        """Have it close a project's files: they are another's now, and Windows moves no open ones."""
        self._outbox.put((json.dumps({"leave": project}).encode(), b""))

    def kill(self) -> None:
        """End it at once; when this is over it writes nothing any more."""
        self._killed = True
        self._outbox.put(None)
        if self._process is not None and self._process.pid is not None:
            self._process.kill()
            self._process.join(1)

    def _run(self) -> None:
        """Start the process, and read its answers until it is gone."""
        mine, its = self._context.Pipe()
        self._process = self._context.Process(
            target=_work, args=(its, str(self._root), self._warm), daemon=True
        )
        self._process.start()
        its.close()
        if self._killed:
            self._process.kill()
        threading.Thread(target=self._write, args=(mine,), daemon=True).start()
        try:
            while True:
                head = json.loads(mine.recv_bytes())
                headers = tuple((str(a), str(b)) for a, b in head["headers"])
                answer = Answer(int(head["status"]), headers, mine.recv_bytes())
                self._owner.heard(self, int(head["number"]), answer)
        except (EOFError, OSError):
            self._outbox.put(None)
            self._owner.ended(self)
            self._process.join()

    def _write(self, pipe: Connection) -> None:
        while (frames := self._outbox.get()) is not None:
            try:
                for frame in frames:
                    pipe.send_bytes(frame)
            except OSError:
                return
