"""A real S3 server on the loopback, in a process of its own, and what lies in it."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from pic2chart.library.catalogue import NAME
from tests.helpers.library_runs import dump


@contextmanager
def running_store() -> Iterator[str]:
    """Its address."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = "from moto.server import main; import sys; main(sys.argv[1:])"
    process = subprocess.Popen(
        [sys.executable, "-c", command, "-H", "127.0.0.1", "-p", str(port)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.1)
        yield f"http://127.0.0.1:{port}"
    finally:
        process.kill()
        process.wait()


def environment(server: str, cache: Path) -> dict[str, str]:
    """What says where the server is and who asks, for this process and its children."""
    return {
        "AWS_ENDPOINT_URL": server,
        "AWS_ACCESS_KEY_ID": "tester",
        "AWS_SECRET_ACCESS_KEY": "secret",
        "AWS_DEFAULT_REGION": "us-east-1",
        "XDG_CACHE_HOME": os.fspath(cache),
    }


def file_system() -> Any:
    """The store as fsspec opens it; every question is asked anew."""
    import fsspec

    return fsspec.filesystem("s3", use_listings_cache=False)


def upload(folder: Path, bucket: str) -> str:
    """Put a folder of pictures into a bucket; their address."""
    paths = [path for path in folder.rglob("*") if path.is_file()]
    prefix = f"{bucket}/pictures"
    file_system().pipe(
        {f"{prefix}/{path.relative_to(folder).as_posix()}": path.read_bytes() for path in paths}
    )
    return f"s3://{prefix}"


def stored(url: str, place: Path) -> dict[str, bytes]:
    """Every file of a library at a store, and the catalogue as `contents` gives it."""
    root = url.removeprefix("s3://")
    paths = file_system().find(root)
    files = {path[len(root) + 1 :]: data for path, data in file_system().cat(paths).items()}
    files.pop("catalogue.generation", None)
    place.mkdir(exist_ok=True)
    (place / NAME).write_bytes(files[NAME])
    return files | {NAME: dump(place / NAME)}
