"""A library at an object store, made by a cluster two of whose workers and whose scheduler are killed.

    python -m tests.bench.stored_cluster 1000

So many small pictures (of `growth.py`) lie at a real S3 server on the loopback. A run over a cluster of
four workers loses one of them after a twentieth, another after a tenth, and its scheduler after a third;
the same command goes on over a new cluster of two. Told are the times, and whether every file and row at
the store is that of a run in a folder of this machine.
"""

from __future__ import annotations

import logging
import os
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from pic2chart.library.batch import RunOptions, Summary, make_library
from pic2chart.library.cluster import ClusterLostError
from pic2chart.library.recipe import Recipe
from tests.bench.growth import OPTIONS, draw
from tests.helpers.clusters import running_cluster
from tests.helpers.library_runs import contents, run
from tests.helpers.object_store import environment, file_system, running_store, stored, upload

BUCKET = "press"
VICTIMS = ((20, 2), (10, 3), (3, 0))
"""After one in so many pictures, the process of the cluster that is killed; 0 is the scheduler."""


def timed(what: str, work: Callable[[], Any]) -> Any:
    """What `work` gives; its seconds by the clock and of this process's processor are printed."""
    began, before = time.perf_counter(), time.process_time()
    result = work()
    used = time.process_time() - before
    print(f"{what}: {time.perf_counter() - began:.0f} s, own processor {used:.1f} s", flush=True)
    return result


def killed_run(pictures: str, out: str, count: int, place: Path) -> int:
    """The run that loses its cluster; how many pictures had come back by then."""
    done: list[str] = []
    with running_cluster(place, workers=4) as (address, processes):
        left = [(count // share, victim) for share, victim in VICTIMS]

        def tell(number: int, total: int, result: Any) -> None:
            done.append(result.path)
            while left and number >= left[0][0]:
                processes[left.pop(0)[1]].send_signal(signal.SIGKILL)

        try:
            make_library(wish(pictures, out, address), on_result=tell)
        except ClusterLostError as error:
            print(f"After {len(done):,} pictures: {error}")
            return len(done)
    sys.exit("The cluster outlived its scheduler.")


def finished_run(pictures: str, out: str, place: Path) -> Summary:
    """The run that goes on."""
    with running_cluster(place, workers=2) as (address, _):
        return make_library(wish(pictures, out, address))


def wish(pictures: str, out: str, address: str) -> RunOptions:
    """The options of both."""
    return RunOptions(pictures, out, Recipe().over(OPTIONS), cluster=address)


def main(count: int, place: Path) -> None:
    logging.disable(logging.CRITICAL)  # distributed tells at length how connections end
    folder, whole = place / "pictures", place / "whole"
    draw(folder, range(count))
    timed("The run in a folder, two processes", lambda: run(folder, whole, OPTIONS, jobs=2))
    with running_store() as server:
        os.environ.update(environment(server, place / "cache"))
        file_system().mkdir(BUCKET)
        pictures, out = upload(folder, BUCKET), f"s3://{BUCKET}/library"
        timed("Until the scheduler was lost", lambda: killed_run(pictures, out, count, place / "a"))
        summary = timed("The rest", lambda: finished_run(pictures, out, place / "b"))
        print(f"Made then {summary.made:,}, unchanged {summary.unchanged:,} of {summary.motifs:,}")
        same = stored(out, place / "seen") == contents(whole)
        print(f"{len(contents(whole)):,} files, all rows: {'the same' if same else 'DIFFERENT'}")
        timed("Nothing new", lambda: finished_run(pictures, out, place / "c"))


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000, Path(made))
