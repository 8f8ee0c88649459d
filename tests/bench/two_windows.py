"""Two windows on one project while its files are taken and what is made of it is made anew. By hand:

    python -m tests.bench.two_windows --strokes 40

Two clients of a real desk paint in columns of their own until each has so many strokes saved; a third
takes the chart's files, the whole project and the thing's one after the other, and a fourth has the
thing made in other sizes. Every stroke that was told saved must be in the chart, every file whole (a
chart file and a project that are read again, a PDF and an archive to their ends), the last thing told
made the one that stands, and a desk begun anew must show the same. The status is 1 when anything failed.
"""

from __future__ import annotations

import argparse
import io
import json
import random
import tempfile
import threading
import time
import zipfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx

from pic2chart.model.chart_file import chart_from_text
from tests.bench.load_desk import Client
from tests.helpers.desk_page import photo, running_desk, spoken_to

SIZES = ("6", "7", "8", "9")
LONGEST = 1200.0


@dataclass
class Others:
    """What the third and the fourth window were answered, and what was wrong with it."""

    project: str
    over: threading.Event = field(default_factory=threading.Event)
    counts: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    last_size: str = ""

    def take(self, at: httpx.Client) -> None:
        """Take one file after the other."""
        wanted: dict[str, Callable[[bytes], Any]] = {
            "file?ending=.chart.json": lambda data: chart_from_text(data.decode()),
            "file?ending=.pic2chart": _whole_archive,
            "file?ending=.pdf": _whole_pdf,
            "thing/file?ending=.pdf": _whole_pdf,
        }
        while not self.over.is_set():
            for path, read in wanted.items():
                answer = at.get(f"/api/projects/{self.project}/{path}")
                self.counts[f"{path} {answer.status_code}"] += 1
                try:
                    answer.raise_for_status()
                    read(answer.content)
                except Exception as error:
                    self.faults.append(f"{path}: {error!r} {answer.text[:200]}")

    def make(self, at: httpx.Client, dice: random.Random) -> None:
        """Have the thing made in one size after the other."""
        while not self.over.is_set():
            view = at.get(f"/api/projects/{self.project}").json()
            size = dice.choice(SIZES)
            sent = {"revision": view["revision"], "kind": "mitten", "options": {"size": size}}
            answer = at.post(f"/api/projects/{self.project}/thing", json=sent)
            self.counts[f"thing {answer.status_code}"] += 1
            if answer.status_code == 200:
                self.last_size = size
            elif answer.status_code != 409:
                self.faults.append(f"thing: {answer.status_code} {answer.text[:200]}")


def _whole_archive(data: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        if archive.testzip() is not None:
            raise ValueError("a part is damaged")
        for name in archive.namelist():
            if name.endswith(".chart.json"):
                chart_from_text(archive.read(name).decode())


def _whole_pdf(data: bytes) -> None:
    if not data.startswith(b"%PDF-") or not data.rstrip().endswith(b"%%EOF"):
        raise ValueError("cut short")


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--strokes", type=int, default=40)
    options = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        with running_desk(Path(folder)) as (_, address):
            first = spoken_to(address)
            answer = first.post("/api/projects?name=cat.jpg", content=photo(width=200))
            view = answer.raise_for_status().json()
            project = view["id"]
            sent = {"revision": view["revision"], "kind": "mitten", "options": {}}
            first.post(f"/api/projects/{project}/thing", json=sent).raise_for_status()
            others = Others(project)
            clients = [Client(spoken_to(address), project, odd) for odd in (0, 1)]
            threads = [
                threading.Thread(target=others.take, args=(spoken_to(address),)),
                threading.Thread(target=others.make, args=(spoken_to(address), random.Random(1))),
            ]
            for thread in threads:
                thread.start()
            painters = [
                threading.Thread(target=_paint, args=(client, options.strokes))
                for client in clients
            ]
            for thread in painters:
                thread.start()
            for thread in painters:
                thread.join()
            others.over.set()
            for thread in threads:
                thread.join()
            now = [client.view() for client in clients]
        with running_desk(Path(folder)) as (_, address):
            again = spoken_to(address).get(f"/api/projects/{project}").json()
    rows = again["chart"]["rows"]
    lost = sum(rows[r][s] != key for one in clients for (r, s), key in one.saved.items())
    differ = sum(view["chart"]["rows"] != rows or view["thing"] != again["thing"] for view in now)
    faults = others.faults + [fault for client in clients for fault in client.faults]
    if others.last_size and others.last_size not in json.dumps(again["thing"]):
        faults.append(f"size {others.last_size} was told last: {again['thing']}")
    saved = sum(len(client.times) for client in clients)
    conflicts = sum(client.conflicts for client in clients)
    print(
        f"{saved} strokes saved, {conflicts} told that another was quicker, {lost} lost, {differ} views "
        f"that differ, {len(faults)} faults; {dict(sorted(others.counts.items()))}"
    )
    for fault in faults[:5]:
        print(fault)
    return int(bool(faults or lost or differ))


def _paint(client: Client, strokes: int) -> None:
    """Paint until so many are saved."""
    end, dice = time.monotonic() + LONGEST, random.Random(client.odd)
    while len(client.times) < strokes and not client.faults and time.monotonic() < end:
        client.paint_until(time.monotonic() + 2.0, dice)


if __name__ == "__main__":
    raise SystemExit(main())
