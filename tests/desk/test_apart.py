"""Long work runs in a process apart: all else answers meanwhile, it can be stopped, its end is told."""

from __future__ import annotations

import contextlib
import io
import os
import re
import signal
import socket
import statistics
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest
from PIL import Image

from pic2chart.desk import apart, workers
from pic2chart.desk.guard import TOKEN
from pic2chart.desk.workers import Job, Workers
from tests.helpers.desk_page import photo, running_desk, spoken_to
from tests.helpers.processes import alive, children

pytestmark = pytest.mark.network


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with running_desk(tmp_path_factory.mktemp("desk")) as (_, address):
        with spoken_to(address) as page:
            until_ready(page)
        yield address


def until_ready(page: httpx.Client) -> None:
    for _ in range(600):
        if page.get("/api/alive").json()["ready"]:
            return
        time.sleep(0.2)
    raise AssertionError("the solver was never ready")


def started(page: httpx.Client, name: str) -> dict[str, Any]:
    answer = page.post(f"/api/projects?name={name}.jpg", content=photo(width=300))
    return dict(answer.raise_for_status().json())


def paint(page: httpx.Client, view: dict[str, Any], stitch: int) -> dict[str, Any]:
    edit = {"kind": "paint", "stitches": [[2, stitch]], "yarn": "B"}
    sent = {"revision": view["revision"], "edit": edit}
    answer = page.post(f"/api/projects/{view['id']}/edit", json=sent)
    return dict(answer.raise_for_status().json())


def holders(project: str) -> set[str]:
    """Numbers of the processes that have a project's history open."""
    found = set()
    for link in Path("/proc").glob("[0-9]*/fd/*"):
        with contextlib.suppress(OSError):
            if os.readlink(link).endswith(f"/{project}/history.sqlite"):
                found.add(link.parts[2])
    return found


class Long:
    """A proof that takes a minute, in hand in a thread of its own."""

    def __init__(self, address: str, view: dict[str, Any]) -> None:
        self.page, self.view = spoken_to(address), view
        self.answer: httpx.Response | None = None
        self.thread = threading.Thread(target=self.run)
        self.thread.start()
        time.sleep(1.5)
        assert self.thread.is_alive()

    def run(self) -> None:
        settings = {"prove": 60, "stitches": 200, "yarns": 2}
        sent = {"revision": self.view["revision"], "settings": settings}
        self.answer = self.page.post(f"/api/projects/{self.view['id']}/settings", json=sent)

    def stop(self, page: httpx.Client) -> float:
        """Stop it; seconds until it was over."""
        began = time.monotonic()
        page.post(f"/api/projects/{self.view['id']}/stop", json={}).raise_for_status()
        self.thread.join(30)
        assert not self.thread.is_alive()
        self.page.close()
        return time.monotonic() - began


@pytest.mark.slow
def test_all_else_answers_while_a_proof_goes_on_and_it_can_be_stopped(desk: str) -> None:
    """Also sixty requests for the very project, which wait and take nobody's place."""
    with spoken_to(desk) as page:
        one, other = started(page, "long"), started(page, "other")
        other = paint(page, other, 1)
        long = Long(desk, one)
        waiting = [spoken_to(desk) for _ in range(60)]
        crowd = [
            threading.Thread(
                target=client.post,
                args=(f"/api/projects/{one['id']}/edit",),
                kwargs={"json": {"revision": 1, "edit": {"kind": "fix"}}},
            )
            for client in waiting
        ]
        for thread in crowd:
            thread.start()
        page.get(f"/api/projects/{other['id']}").raise_for_status()  # it moves to a free process
        times = []
        for stitch in range(2, 8):
            for path in (
                "/api/desk",
                "/api/alive",
                f"/api/projects/{one['id']}",
                "/static/main.js",
            ):
                began = time.monotonic()
                page.get(path).raise_for_status()
                times.append(time.monotonic() - began)
            other = paint(page, other, stitch)
        assert statistics.median(times) < 0.1
        assert len(holders(other["id"])) == 1  # where it was before, its files are closed
        assert page.get(f"/api/projects/{one['id']}").json() == one
        assert long.stop(page) < workers.GRACE_SECONDS + 5
        assert long.answer is not None
        assert long.answer.status_code == 422
        assert long.answer.json()["error"].startswith("Stopped")
        for thread in crowd:
            thread.join(30)
        for client in waiting:
            client.close()
        assert page.get(f"/api/projects/{one['id']}").json() == one
        assert paint(page, one, 3)["revision"] == one["revision"] + 1


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="looks at processes in /proc")
def test_a_process_that_dies_takes_nothing_with_it(tmp_path: Path) -> None:
    """Every process apart is killed again and again while stitches are painted; none is lost."""
    with running_desk(tmp_path) as (process, address), spoken_to(address) as page:
        until_ready(page)
        view = started(page, "cat")
        for stitch in range(1, 7):
            for one in children(process.pid):
                if b"forkserver" in Path(f"/proc/{one}/cmdline").read_bytes():
                    parent = Path(f"/proc/{one}/stat").read_text().rpartition(")")[2].split()[1]
                    if int(parent) != process.pid:
                        os.kill(one, signal.SIGKILL)
            view = paint(page, view, stitch)
            assert view["chart"]["rows"][1][:stitch] == "B" * stitch
        assert view["revision"] == 7
        process.kill()
        process.wait()
        for _ in range(100):
            if not children(process.pid):
                break
            time.sleep(0.1)


@pytest.mark.slow
def test_a_closed_desk_leaves_no_process_behind(tmp_path: Path) -> None:
    for end in (signal.SIGINT, signal.SIGKILL):
        with running_desk(tmp_path) as (process, address):
            with spoken_to(address) as page:
                until_ready(page)
            below = children(process.pid)
            assert below
            process.send_signal(end)
            process.wait(20)
            for _ in range(200):
                left = [one for one in below if alive(one)]
                if not left:
                    break
                time.sleep(0.1)
            assert left == []


@pytest.mark.slow
def test_one_interrupt_ends_a_desk_that_is_at_work_and_it_says_nothing(tmp_path: Path) -> None:
    """While a proof goes on and a body is being sent: the one is answered, the other let go."""
    told = tmp_path / "told"
    with (
        told.open("w") as errors,
        running_desk(tmp_path / "desk", errors=errors) as (process, address),
    ):
        with spoken_to(address) as page:
            until_ready(page)
            long = Long(address, started(page, "long"))
            host, port, key = re.split(r":|/\?key=", address.removeprefix("http://"))
            head = f"POST /api/projects HTTP/1.1\r\nHost: {host}:{port}\r\n{TOKEN}: {key}\r\n"
            with socket.create_connection((host, int(port))) as slow:
                slow.sendall(f"{head}Content-Length: 9000\r\n\r\nhalf".encode())
                process.send_signal(signal.SIGINT)
                assert process.wait(30) == 130
        long.thread.join(30)
        assert not long.thread.is_alive()
        assert long.answer is not None
        assert long.answer.status_code == 422
    assert "Error" not in told.read_text()
    assert "ERROR" not in told.read_text()


def test_work_whose_process_ends_twice_is_refused_in_one_sentence(tmp_path: Path) -> None:
    """Without the web: requests that make their process end, as a fault in native code would."""
    told: list[str] = []

    def explain(what: Any) -> workers.Answer:
        told.append(what.code)
        return apart.explained(what)

    pool = Workers(tmp_path, lambda: None, explain)
    try:
        ending = Job("GET", "/api/alive", "", [], b"", None)
        answer = pool.ask(ending)
        for _ in range(2):
            while not any(ending in one.jobs.values() for one in pool._processes):
                time.sleep(0.01)
            (one,) = [one for one in pool._processes if ending in one.jobs.values()]
            while one._process is None or one._process.pid is None:
                time.sleep(0.01)
            os.kill(one._process.pid, signal.SIGSTOP)  # so that it cannot answer first
            os.kill(one._process.pid, signal.SIGKILL)
            while ending in one.jobs.values():
                time.sleep(0.01)
        assert answer.result(60).status == 422
        assert told == ["work-ended"]
        later = pool.ask(Job("GET", "/api/alive", "", [], b"", None)).result(120)
        assert later.status == 200
    finally:
        pool.close()


def test_a_picture_goes_through_a_process_apart_as_it_is(desk: str) -> None:
    """Bodies and answers of some megabytes, with headers."""
    rng = np.random.default_rng(1)
    noise = Image.fromarray(rng.integers(0, 255, (1500, 1500, 3), np.uint8))
    out = io.BytesIO()
    noise.save(out, "PNG", compress_level=0)
    with spoken_to(desk) as page:
        sent = page.post("/api/projects?name=noise.png", content=out.getvalue())
        view = sent.raise_for_status().json()
        got = page.get(f"/api/projects/{view['id']}/file", params={"ending": ".pic2chart"})
        assert out.getvalue() in got.content
        assert got.headers["content-disposition"] == 'attachment; filename="noise.pic2chart"'
        assert page.post("/api/projects", content=b"no picture").status_code == 422
        assert page.get("/api/projects/0123456789ab").status_code == 404
