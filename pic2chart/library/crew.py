"""Who does the work: this process alone, all cores through joblib, or a cluster (its own file).

A crew takes tasks one by one, as it has hands free, and gives back results as they come, in any
order. At any time no more than a few tasks are under way, so memory does not grow with their number.
"""

from __future__ import annotations

import signal
import threading
import warnings
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from multiprocessing import resource_tracker
from pathlib import Path
from typing import Any

from pic2chart.core.messages import message
from pic2chart.core.safe_path import children_import_from_safe_places
from pic2chart.library.motif import Missed, Result, Task
from pic2chart.library.motif_making import make_motif

Crew = Callable[[Iterable[Task]], Iterator[Result]]
_AHEAD = "3 * n_jobs"
FEW = 3
"""So few pictures are done sooner than workers are started."""


def alone(staging: Path) -> Crew:
    """One task after another in this process."""

    def work(tasks: Iterable[Task]) -> Iterator[Result]:
        return map(make_motif, _staged(tasks, staging))

    return work


def on_cores(count: int, staging: Path) -> Crew:
    """A crew of `count` processes with one thread each.

    A process that dies (a decoder that crashes, memory that runs out) takes no picture with it but
    its own: the tasks under way are done again one at a time, and one whose process ends again is
    missed: the next run tries it again, since what ended it may not have been the picture.
    """

    def work(tasks: Iterable[Task]) -> Iterator[Result]:
        rest = _staged(tasks, staging)
        while True:
            under_way: dict[tuple[str, int], Task] = {}
            try:
                for result in _in_parallel(count, _noting(rest, under_way)):
                    del under_way[result.path, result.size]
                    yield result
                return
            except _worker_died():
                yield from map(_apart, list(under_way.values()))

    return work


def _staged(tasks: Iterable[Task], staging: Path) -> Iterator[Task]:
    return (replace(task, staging=staging) for task in tasks)


def core_count() -> int:
    """Cores this process may use (a container's share counted)."""
    from joblib import cpu_count

    return int(cpu_count())


def _in_parallel(count: int, tasks: Iterable[Task]) -> Iterator[Result]:
    from joblib import Parallel, delayed, parallel_config

    if not isinstance(threading.excepthook, _Quieter):
        threading.excepthook = _Quieter(threading.excepthook)
    with parallel_config(backend="loky", inner_max_num_threads=1):
        pool = Parallel(count, return_as="generator_unordered", pre_dispatch=_AHEAD, batch_size=1)
        with children_import_from_safe_places(), _interrupts_wait():
            results = pool(delayed(make_motif)(task) for task in tasks)
        try:
            for result in results:  # noqa: UP028  (`yield from` would close them before)
                yield result
        finally:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # of results that nobody took: work was given up
                results.close()


@dataclass(frozen=True, slots=True)
class _Quieter:
    """Told of threads' errors, keeps one to itself: joblib's own thread may look for a task at the
    moment when all are taken back, since the work is given up, and end with a KeyError."""

    before: Callable[[threading.ExceptHookArgs], Any]

    def __call__(self, args: threading.ExceptHookArgs) -> None:
        joblib_s = args.thread is not None and args.thread.name == "ExecutorManagerThread"
        if not (joblib_s and args.exc_type is KeyError):
            self.before(args)


@contextmanager
def _interrupts_wait() -> Iterator[None]:
    """Ctrl-C waits until the block ends, and processes begun in it never get it: it is for the one
    that gave the work, and a process that has just begun would end with a traceback."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # beginning it later would let Ctrl-C through again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _noting(tasks: Iterator[Task], under_way: dict[tuple[str, int], Task]) -> Iterator[Task]:
    for task in tasks:
        under_way[task.path, task.size] = task
        yield task


def _apart(task: Task) -> Result:
    """One task in a process of its own."""
    try:
        return next(_in_parallel(2, [task]))
    except _worker_died():
        return Missed(task.path, str(message("process-ended")), task.size)


def _worker_died() -> Any:
    from joblib.externals.loky.process_executor import BrokenProcessPool

    return BrokenProcessPool
