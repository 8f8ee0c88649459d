"""Kill a real desk again and again while three clients paint, and look whether anything is lost.

    python -m tests.bench.kill_desk --kills 200

Each round starts the desk anew on the same folder, looks at what the last one left, paints single
stitches in three projects, undoing one now and then, and in every fourth round drops a photo too;
then kills the desk (signal 9) at a random moment after a random number of changes, so that a busy
machine does not kill it before there is anything to lose. What the desk had acknowledged must be there, at
most the one change in hand of each client may have come on top, and no folder may stay without a
step in it. Prints kills, acknowledged changes and what was lost; the status is 1 when anything was.
"""

from __future__ import annotations

import argparse
import random
import sqlite3
import tempfile
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx

from pic2chart.desk.history import NAME
from tests.helpers.desk_page import photo, running_desk, spoken_to

MOST_CHANGES, PATIENCE = 60, 60.0
"""Changes of all clients before a kill, fewer than; seconds after which it is killed all the same."""


@dataclass
class Painter:
    """One client of one project: what it was told is saved, and what it had in hand at the end."""

    project: str
    revision: int = 0
    rows: list[str] = field(default_factory=list)
    acknowledged: int = 0

    def paint(self, at: httpx.Client, rng: random.Random) -> None:
        """Change one thing after another until the desk is gone."""
        while True:
            r, s = rng.randrange(len(self.rows)), rng.randrange(len(self.rows[0]))
            edit = {"kind": "paint", "stitches": [[r + 1, s + 1]], "yarn": rng.choice("AB")}
            try:
                self._ask(at, "edit", {"edit": edit})
                if rng.random() < 0.1:
                    self._ask(at, "undo", {})
            except httpx.HTTPError:
                return

    def _ask(self, at: httpx.Client, action: str, body: dict[str, Any]) -> None:
        path = f"/api/projects/{self.project}/{action}"
        answer = at.post(path, json={"revision": self.revision, **body})
        answer.raise_for_status()
        view = answer.json()
        self.revision, self.rows = view["revision"], view["chart"]["rows"]
        self.acknowledged += 1

    def look(self, at: httpx.Client) -> str | None:
        """What is wrong with the project as it stands now, None when all is there."""
        view = at.get(f"/api/projects/{self.project}").raise_for_status().json()
        ahead = view["revision"] - self.revision
        fault = None
        if ahead not in (0, 1):
            fault = f"{self.project}: at {view['revision']}, {self.revision} was acknowledged"
        were, are = "".join(self.rows), "".join(view["chart"]["rows"])
        differing = sum(a != b for a, b in zip(were, are, strict=True))
        if differing > ahead:
            fault = f"{self.project}: {differing} stitches differ after {ahead} changes"
        self.revision, self.rows = view["revision"], view["chart"]["rows"]
        return fault


def acknowledged(painters: list[Painter]) -> int:
    """Changes that the desk said it had saved."""
    return sum(painter.acknowledged for painter in painters)


def drop(at: httpx.Client, rng: random.Random, told: list[str]) -> None:
    """Drop a photo at a random moment; its project must be there when the desk says so."""
    time.sleep(rng.uniform(0, 0.5))
    try:
        answer = at.post("/api/projects?name=late.jpg", content=photo(width=200))
        told.append(answer.raise_for_status().json()["id"])
    except httpx.HTTPError:
        pass


def one_round(folder: Path, painters: list[Painter], rng: random.Random, number: int) -> list[str]:
    """Start, look, paint, kill; what was wrong."""
    with running_desk(folder) as (process, address):
        clients = [spoken_to(address) for _ in range(len(painters) + 1)]
        faults = [fault for p, at in zip(painters, clients, strict=False) if (fault := p.look(at))]
        listed = {card["id"] for card in clients[-1].get("/api/desk").json()["projects"]}
        folders = {path.name for path in folder.iterdir() if len(path.name) == 12}
        faults += [f"{name}: a folder that no list shows" for name in folders - listed]
        told: list[str] = []
        threads = [
            threading.Thread(target=p.paint, args=(at, random.Random(rng.random())))
            for p, at in zip(painters, clients, strict=False)
        ]
        if number % 4 == 0:
            threads.append(threading.Thread(target=drop, args=(clients[-1], rng, told)))
        enough = acknowledged(painters) + rng.randrange(MOST_CHANGES)
        for thread in threads:
            thread.start()
        latest = time.monotonic() + PATIENCE
        while acknowledged(painters) < enough and time.monotonic() < latest:
            time.sleep(0.002)
        time.sleep(rng.uniform(0, 0.2))
        process.kill()
        for thread in threads:
            thread.join()
    faults += [f"{name}: lost" for name in told if not (folder / name / NAME).is_file()]
    return faults


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--kills", type=int, default=200)
    asked.add_argument("--seed", type=int, default=1)
    options = asked.parse_args()
    rng, faults = random.Random(options.seed), list[str]()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        with running_desk(folder) as (_, address):
            at = spoken_to(address)
            painters = []
            for n in range(3):
                answer = at.post(f"/api/projects?name=cat{n}.jpg", content=photo(width=200))
                view = answer.raise_for_status().json()
                painters.append(Painter(view["id"], view["revision"], view["chart"]["rows"]))
        for number in range(options.kills):
            faults += one_round(folder, painters, rng, number)
        with running_desk(folder) as (_, address):
            at = spoken_to(address)
            faults += [fault for painter in painters if (fault := painter.look(at))]
        for painter in painters:
            connection = sqlite3.connect(folder / painter.project / NAME)
            if connection.execute("PRAGMA integrity_check").fetchone() != ("ok",):
                faults.append(f"{painter.project}: the file is damaged")
            connection.close()
    changes = acknowledged(painters)
    print(f"{options.kills} kills, {changes} acknowledged changes, {len(faults)} faults")
    for fault in faults[:20]:
        print(fault)
    return int(bool(faults))


if __name__ == "__main__":
    raise SystemExit(main())
