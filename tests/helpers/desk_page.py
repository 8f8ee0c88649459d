"""A desk for the tests: in this process behind a test client, or a real one with a real Chromium."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
from PIL import Image
from skimage import data
from starlette.testclient import TestClient

from pic2chart.desk.guard import TOKEN as HEADER
from pic2chart.desk.guard import Guard
from pic2chart.desk.store import Store
from pic2chart.desk.web_app import make_app

TOKEN, HOST = "a-token-for-tests", "127.0.0.1:8470"
FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)


def desk_app(folder: Path) -> Guard:
    """The guarded app over a folder."""
    return Guard(make_app(Store(folder)), TOKEN, [HOST])


def client(folder: Path, **headers: str) -> TestClient:
    """A client that has the token, as the desk's own page has."""
    return TestClient(
        desk_app(folder), base_url=f"http://{HOST}", headers={HEADER: TOKEN} | headers
    )


def photo(name: str = "chelsea", width: int = 450, kind: str = "JPEG") -> bytes:
    """One of scikit-image's open pictures as a file."""
    picture = Image.fromarray(getattr(data, name)()).convert("RGB")
    picture = picture.resize((width, round(picture.height * width / picture.width)))
    out = io.BytesIO()
    picture.save(out, kind, quality=90)
    return out.getvalue()


def begin(at: TestClient, name: str = "cat.jpg", content: bytes | None = None) -> dict[str, Any]:
    """Start a project from a picture; its view."""
    answer = at.post(f"/api/projects?name={name}", content=content or photo(width=200))
    assert answer.status_code == 200, answer.text
    return answer.json()


def spoken_to(address: str) -> httpx.Client:
    """A client of a real desk that speaks as its page does, from the address it printed."""
    base, key = address.split("/?key=")
    return httpx.Client(base_url=base, timeout=600, headers={HEADER: key, "origin": base})


@contextmanager
def running_desk(
    folder: Path, port: int | None = None, *more: str, errors: Any = subprocess.DEVNULL
) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The real command with `more` options, and the address it prints; `errors`: a file for the rest."""
    command = [sys.executable, "-m", "pic2chart", "desk", str(folder), "--no-browser", *more]
    command += [] if port is None else ["--port", str(port)]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=errors, text=True, env=os.environ
    ) as process:
        assert process.stdout is not None
        line = process.stdout.readline()
        address = re.search(r"http://\S+", line)
        assert address, line
        try:
            yield process, address[0]
        finally:
            process.kill()
