"""The same work on a dask.distributed cluster that stands already (extra `cluster`).

The machines must see the folder and the library under the same paths, as the computers of one network
share do: pictures and charts then never pass through this process. A worker that dies has its tasks
given to others; what it left half done lies in the staging folder and is swept away.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path
from typing import Any

from pic2chart import __version__
from pic2chart.core.errors import InputError, OutputError
from pic2chart.library.crew import Crew
from pic2chart.library.motif import Broken, Done, Task, sha256_of
from pic2chart.library.motif_making import make_motif

_AHEAD = 3
"""Tasks given out ahead for each thread of the cluster."""
_PATIENCE = "20s"
"""For a scheduler or a first worker to answer; a busy network takes its time."""


def on_cluster(address: str, staging: Path) -> Crew:
    """A crew of the workers of the scheduler at `address`, such as tcp://10.0.0.5:8786.

    Raises InputError when there is no such scheduler, or when its workers have another version or
    do not see `staging`.
    """

    def work(tasks: Iterable[Task]) -> Iterator[Done | Broken]:
        client = _client(address)
        try:
            _check(client, staging)
            yield from _results(client, iter(tasks))
        finally:
            client.close()

    return work


def _client(address: str) -> Any:
    try:
        import distributed
    except ImportError as error:
        raise InputError(
            "--cluster needs the extra 'cluster': python -m pip install 'pic2chart[cluster]'."
        ) from error
    try:
        connect: Any = distributed.Client
        return connect(address, timeout=_PATIENCE, set_as_default=False)
    except (OSError, ValueError) as error:
        raise InputError(
            f"There is no cluster at '{address}' ({type(error).__name__}); start its scheduler, or "
            "leave --cluster out to work on this machine."
        ) from error


def _check(client: Any, staging: Path) -> None:
    """Every worker must be of this version and see the library."""
    try:
        client.wait_for_workers(1, timeout=_PATIENCE)
    except TimeoutError as error:
        raise InputError("The cluster has no workers; start some and run again.") from error
    for worker, (version, there) in sorted(client.run(_about_here, staging).items()):
        if version != __version__:
            raise InputError(
                f"The worker {worker} has pic2chart {version} and this is {__version__}; install "
                "the same on all machines."
            )
        if not there:
            raise InputError(
                f"The worker {worker} does not see '{staging.parent}'; the folder and the library "
                "must have the same paths on all machines."
            )


def _about_here(staging: Path) -> tuple[str, bool]:
    return __version__, staging.is_dir()


def _results(client: Any, tasks: Iterator[Task]) -> Iterator[Done | Broken]:
    """Results as they come, never more tasks under way than the cluster can chew."""
    import distributed

    ahead = _AHEAD * max(1, sum(client.nthreads().values()))
    given = {_submit(client, task): task for task in islice(tasks, ahead)}
    with client.as_current():
        waiting: Any = distributed.as_completed(list(given))  # type: ignore[no-untyped-call]
    for future in waiting:
        task = given.pop(future)
        yield _result(future, task)
        for following in islice(tasks, 1):
            fresh = _submit(client, following)
            given[fresh] = following
            waiting.add(fresh)


def _submit(client: Any, task: Task) -> Any:
    return client.submit(make_motif, task, pure=False, retries=2)


def _result(future: Any, task: Task) -> Done | Broken:
    """The task's result; one that took several workers down with it is broken."""
    from distributed import KilledWorker

    try:
        result: Done | Broken = future.result()
    except KilledWorker:
        message = f"Making a chart of '{task.file}' ended the workers that did it; leave it out."
        return Broken(task.path, task.digest, sha256_of(task.file), message)
    except OSError as error:
        raise OutputError(f"The cluster lost its work: {error}.") from error
    return result
