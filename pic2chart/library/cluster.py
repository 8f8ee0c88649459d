"""The same work on a dask.distributed cluster that stands already (extra `cluster`).

Pictures go to the workers and charts come back over the cluster's own connections, so the workers need
no folder of this machine; this process alone writes the library and holds its catalogue. A worker that
dies has its tasks given to others, and what one worker cannot do is tried on another.
"""

from __future__ import annotations

import asyncio
import warnings
from collections.abc import Iterable, Iterator
from concurrent import futures
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import Any

from pic2chart import __version__
from pic2chart.core.errors import InputError, OutputError
from pic2chart.core.messages import message
from pic2chart.library.crew import Crew
from pic2chart.library.motif import Done, Missed, Result, Task
from pic2chart.library.publish import staged
from pic2chart.library.travel import Parcel, make_far, packed

_AHEAD = 3
"""Tasks given out ahead for each thread of the cluster."""
_PATIENCE = "20s"
"""For a scheduler or a first worker to answer; a busy network takes its time."""
_TRIES = 3
"""Workers on which a file is tried that could not be read or written."""


class ClusterLostError(OutputError):
    """The scheduler, or every worker, left in the middle of the work; what came back is in place."""


def on_cluster(address: str, staging: Path) -> Crew:
    """A crew of the workers of the scheduler at `address`, such as tcp://10.0.0.5:8786.

    Raises InputError when there is no such scheduler, or when its workers have another version, and
    ClusterLostError when it leaves.
    """

    def work(tasks: Iterable[Task]) -> Iterator[Result]:
        client = _client(address)
        try:
            _check(client)
            for result in _Work(client).results(iter(tasks)):
                yield staged(result, staging) if isinstance(result, Done) else result
        finally:
            with _quiet():
                client.close(timeout=2)

    return work


def _client(address: str) -> Any:
    try:
        import distributed
    except ImportError as error:
        raise InputError(message("cluster-not-installed", options=("cluster",))) from error
    try:
        connect: Any = distributed.Client
        return connect(address, timeout=_PATIENCE, set_as_default=False)
    except (OSError, ValueError) as error:
        raise InputError(
            message("no-cluster", address=address, why=type(error).__name__, options=("cluster",))
        ) from error


def _check(client: Any) -> None:
    """Every worker must be of this version."""
    try:
        client.wait_for_workers(1, timeout=_PATIENCE)
    except TimeoutError as error:
        raise InputError(message("cluster-without-workers")) from error
    for worker, version in sorted(client.run(_version_here).items()):
        if version != __version__:
            raise InputError(
                message(
                    "worker-of-another-version", worker=worker, version=version, own=__version__
                )
            )


def _version_here() -> str:
    return __version__


def _at_work(parcel: Parcel) -> tuple[str, Result]:
    """On the worker: its address, and the result."""
    from distributed import get_worker

    return get_worker().address, make_far(parcel)


class _Work:
    """The tasks under way on the cluster: never more than it can chew."""

    def __init__(self, client: Any) -> None:
        self._client = client
        self._given: dict[Any, tuple[Task, frozenset[str]]] = {}

    def results(self, tasks: Iterator[Task]) -> Iterator[Result]:
        """Results as they come. Raises ClusterLostError."""
        try:
            yield from self._results(tasks)
        except _leaving() as error:
            raise _lost(type(error).__name__) from error

    def _results(self, tasks: Iterator[Task]) -> Iterator[Result]:
        import distributed

        with self._client.as_current():
            waiting: Any = distributed.as_completed([])  # type: ignore[no-untyped-call]
        ahead = _AHEAD * max(1, sum(self._client.nthreads().values()))
        yield from self._give(islice(tasks, ahead), waiting)
        while self._given:
            try:
                future = next(waiting)
            except StopIteration:
                raise _lost("the scheduler left") from None
            task, tried = self._given.pop(future)
            worker, result = self._outcome(future, task)
            tried = tried | {worker}
            others = self._others(tried)
            if isinstance(result, Missed) and result.unread and others and len(tried) < _TRIES:
                parcel = packed(task)
                if isinstance(parcel, Parcel):
                    self._submit(parcel, task, tried, waiting, workers=others)
                    continue
            yield result
            yield from self._give(islice(tasks, 1), waiting)

    def _give(self, tasks: Iterable[Task], waiting: Any) -> Iterator[Missed]:
        for task in tasks:
            parcel = packed(task)
            if isinstance(parcel, Missed):
                yield parcel
            else:
                self._submit(parcel, task, frozenset(), waiting)

    def _submit(
        self, parcel: Parcel, task: Task, tried: frozenset[str], waiting: Any, **where: Any
    ) -> None:
        with _quiet():  # it warns of large pictures
            future = self._client.submit(_at_work, parcel, pure=False, retries=2, **where)
        self._given[future] = task, tried
        waiting.add(future)

    def _others(self, tried: frozenset[str]) -> list[str]:
        return sorted(self._client.nthreads().keys() - tried)

    def _outcome(self, future: Any, task: Task) -> tuple[str, Result]:
        """The worker and the result; a task that took several workers down with it is missed."""
        from distributed import KilledWorker

        try:
            outcome: tuple[str, Result] = future.result(timeout=_PATIENCE)
        except KilledWorker:
            return "", Missed(task.path, str(message("workers-ended")), task.size)
        return outcome


def _leaving() -> tuple[type[BaseException], ...]:
    """What the client raises when the scheduler is gone, wherever it is at the moment."""
    from distributed import client
    from distributed.comm.core import CommClosedError

    newer = ("ClosedClientError", "FutureCancelledError")  # not in every version
    gone = tuple(getattr(client, name) for name in newer if hasattr(client, name))
    return (*gone, CommClosedError, asyncio.CancelledError, futures.CancelledError, OSError)


def _lost(why: str) -> ClusterLostError:
    return ClusterLostError(message("cluster-lost-work", why=why))


@contextmanager
def _quiet() -> Iterator[None]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield
