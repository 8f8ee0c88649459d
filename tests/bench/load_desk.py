"""Fifty clients paint at once, two on every chart, on a real desk on loopback. Run by hand:

    python -m tests.bench.load_desk --clients 50 --seconds 60

Each client paints one stitch after another in columns of its own, as a page would: with the
revision it knows, and anew when the desk says another window was quicker. At the end every stroke
the desk said it had saved must be in the chart, both clients of a chart must see the same chart,
and a desk started anew on the folder must too. Prints strokes, conflicts, times and memory; the
status is 1 when anything was lost, differs or failed.
"""

from __future__ import annotations

import argparse
import random
import statistics
import tempfile
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx

from tests.helpers.desk_page import photo, running_desk, spoken_to
from tests.helpers.processes import memory_mb


@dataclass
class Client:
    """One window: its share of the columns, what the desk said it saved, and what went wrong."""

    at: httpx.Client
    project: str
    odd: int
    saved: dict[tuple[int, int], str] = field(default_factory=dict)
    conflicts: int = 0
    times: list[float] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def view(self) -> dict[str, Any]:
        return self.at.get(f"/api/projects/{self.project}").raise_for_status().json()

    def paint_until(self, end: float, rng: random.Random) -> None:
        """Paint single stitches until the clock says `end`."""
        view = self.view()
        rows = view["chart"]["rows"]
        keys = sorted(set("".join(rows)) - {"."})
        while time.monotonic() < end:
            r, s = rng.randrange(len(rows)), rng.randrange(self.odd, len(rows[0]), 2)
            key = rng.choice(keys)
            edit = {"kind": "paint", "stitches": [[r + 1, s + 1]], "yarn": key}
            began = time.monotonic()
            while True:
                sent = {"revision": view["revision"], "edit": edit}
                answer = self.at.post(f"/api/projects/{self.project}/edit", json=sent)
                if answer.status_code != 409:
                    break
                self.conflicts += 1
                view = self.view()
            if answer.status_code != 200:
                self.faults.append(f"{answer.status_code}: {answer.text[:200]}")
                return
            self.times.append(time.monotonic() - began)
            self.saved[r, s] = key
            view = answer.json()


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--clients", type=int, default=50)
    asked.add_argument("--seconds", type=float, default=60)
    options = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        with running_desk(Path(folder)) as (process, address):
            first = spoken_to(address)
            projects = []
            for n in range(options.clients // 2):
                answer = first.post(f"/api/projects?name=cat{n}.jpg", content=photo(width=200))
                projects.append(answer.raise_for_status().json()["id"])
            clients = [
                Client(spoken_to(address), projects[n // 2], n % 2)
                for n in range(2 * len(projects))
            ]
            begun = memory_mb(process.pid)
            end = time.monotonic() + options.seconds
            threads = [
                threading.Thread(target=c.paint_until, args=(end, random.Random(n)))
                for n, c in enumerate(clients)
            ]
            for thread in threads:
                thread.start()
            time.sleep(options.seconds / 2)
            middle = memory_mb(process.pid)
            for thread in threads:
                thread.join()
            ended = memory_mb(process.pid)
            seen = [client.view()["chart"]["rows"] for client in clients]
        with running_desk(Path(folder)) as (_, address):
            again = spoken_to(address)
            kept = {
                project: again.get(f"/api/projects/{project}").json()["chart"]["rows"]
                for project in projects
            }
    lost = sum(
        rows[r][s] != key
        for client, rows in zip(clients, seen, strict=True)
        for (r, s), key in client.saved.items()
    )
    differ = sum(rows != kept[client.project] for client, rows in zip(clients, seen, strict=True))
    faults = [fault for client in clients for fault in client.faults]
    times = sorted(t for client in clients for t in client.times)
    print(
        f"{len(clients)} clients, {options.seconds:g} s: {len(times)} strokes saved, "
        f"{sum(c.conflicts for c in clients)} told that another was quicker, {len(faults)} faults, "
        f"{lost} strokes lost, {differ} views that differ. A stroke took {statistics.median(times):.2f} s "
        f"in the middle, {times[int(0.95 * len(times))]:.2f} s at the 95th percentile. "
        f"Memory {begun} MB at first, {middle} half way, {ended} at the end."
    )
    for fault in faults[:5]:
        print(fault)
    return int(bool(faults or lost or differ))


if __name__ == "__main__":
    raise SystemExit(main())
