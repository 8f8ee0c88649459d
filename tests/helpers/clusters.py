"""A dask.distributed cluster of processes of its own, as on other machines: any of them can be killed."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.helpers.places import ROOT

SCHEDULER = """
import sys
from distributed.cli.dask_scheduler import main
sys.exit(main(["--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--scheduler-file", sys.argv[1]]))
"""
WORKER = """
import sys
from distributed.cli.dask_worker import main
sys.exit(main(["--scheduler-file", sys.argv[1], "--nworkers", "1", "--nthreads", "1", "--no-dashboard",
    "--no-nanny", "--death-timeout", "20", "--local-directory", sys.argv[2]]))
"""


@contextmanager
def running_cluster(
    place: Path, workers: int = 2, hidden: Path | None = None
) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """Its address, and its processes: the scheduler first. Workers find an empty folder at `hidden`."""
    import json

    place.mkdir(parents=True, exist_ok=True)
    file = place / "scheduler.json"
    file.unlink(missing_ok=True)
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    hide = ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c"]
    hide += [f'mount -t tmpfs tmpfs "{hidden}" && exec "$@"', "sh"]
    log = (place / "log.txt").open("ab")
    processes = [
        subprocess.Popen(
            [sys.executable, "-c", SCHEDULER, str(file)], cwd=place, env=env, stderr=log, stdout=log
        )
    ]
    try:
        deadline = time.monotonic() + 60
        while not file.exists():
            assert time.monotonic() < deadline
            time.sleep(0.05)
        for _ in range(workers):
            command = [sys.executable, "-c", WORKER, str(file), str(place)]
            command = command if hidden is None else [*hide, *command]
            processes.append(subprocess.Popen(command, cwd=place, env=env, stderr=log, stdout=log))
        yield json.loads(file.read_text())["address"], processes
    finally:
        for process in processes:
            process.kill()
            process.wait()
        log.close()
