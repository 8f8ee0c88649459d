"""How soon a desk answers all else while a long work goes on. Run by hand:

    python -m tests.bench.meanwhile --seconds 20

The long works: a proof; a chart of a photo at 1000 x 1000 stitches; opening a noisy chart of 1000 x
1000. While each goes on, and for at most so many seconds, the list of projects, the project worked
at where there is one, another project and a stitch painted in it are asked for, one after the other.
Then what goes on is stopped where it can be. Prints the median, the 95th percentile and the longest.
"""

from __future__ import annotations

import argparse
import io
import statistics
import tempfile
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any

import httpx
import numpy as np
from PIL import Image

from tests.helpers.desk_page import photo, running_desk, spoken_to


def noise(side: int) -> bytes:
    """A chart of noise in three yarns, one pixel a stitch."""
    rng = np.random.default_rng(1)
    yarns = np.array([[236, 226, 208], [38, 48, 76], [150, 80, 60]], np.uint8)
    out = io.BytesIO()
    Image.fromarray(yarns[rng.integers(0, 3, (side, side))]).save(out, "PNG")
    return out.getvalue()


def timed(times: list[float], ask: Callable[[], httpx.Response]) -> httpx.Response:
    """Ask, and note how long the answer took."""
    began = time.monotonic()
    answer = ask().raise_for_status()
    times.append(time.monotonic() - began)
    return answer


def meanwhile(
    address: str, name: str, seconds: float, work: Callable[[httpx.Client], Any], own: str | None
) -> None:
    """Do the work in a thread, ask for all else meanwhile, and print how long that took."""
    worker = spoken_to(address)
    worker.timeout = None

    def long() -> None:
        with suppress(httpx.HTTPError):  # the desk may close before it is over
            work(worker)

    thread = threading.Thread(target=long, daemon=True)
    page = spoken_to(address)
    other = page.post("/api/projects?name=other.jpg", content=photo(width=300)).json()
    thread.start()
    time.sleep(0.5)
    times: dict[str, list[float]] = {"list": [], "itself": [], "another": [], "a stitch": []}
    end, count = time.monotonic() + seconds, 0
    while thread.is_alive() and time.monotonic() < end:
        timed(times["list"], partial(page.get, "/api/desk"))
        if own is not None:
            timed(times["itself"], partial(page.get, f"/api/projects/{own}"))
        timed(times["another"], partial(page.get, f"/api/projects/{other['id']}"))
        count += 1
        edit = {"kind": "paint", "stitches": [[2, 1 + count % 50]], "yarn": "AB"[count % 2]}
        sent = {"revision": other["revision"], "edit": edit}
        path = f"/api/projects/{other['id']}/edit"
        other = timed(
            times["a stitch"], lambda path=path, sent=sent: page.post(path, json=sent)
        ).json()
        time.sleep(0.05)
    print(f"{name}: {'still going on' if thread.is_alive() else 'over'} after {count} rounds")
    for what, some in times.items():
        if some:
            shown = statistics.median(some), sorted(some)[int(0.95 * len(some))], max(some)
            print(f"  {what}: {', '.join(f'{1000 * t:.0f}' for t in shown)} ms")
    if own is not None:
        began = time.monotonic()
        page.post(f"/api/projects/{own}/stop", json={})
        thread.join()
        print(f"  stopped after {time.monotonic() - began:.1f} s")


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seconds", type=float, default=20)
    options = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder, running_desk(Path(folder)) as (_, address):
        first = spoken_to(address)
        while not first.get("/api/alive").json()["ready"]:
            time.sleep(0.2)
        for name, settings in (
            ("a proof", {"prove": 120, "stitches": 140, "yarns": 5}),
            ("1000 stitches", {"stitches": 1000, "rounds": 1000}),
        ):
            view = first.post("/api/projects?name=cat.jpg", content=photo(width=300)).json()
            sent = {"revision": view["revision"], "settings": settings}
            path = f"/api/projects/{view['id']}/settings"
            meanwhile(
                address,
                name,
                options.seconds,
                lambda at, path=path, sent=sent: at.post(path, json=sent),
                view["id"],
            )
        chart = noise(1000)
        path = "/api/projects?kind=chart&name=noise.png"
        meanwhile(
            address, "a noisy chart", options.seconds, lambda at: at.post(path, content=chart), None
        )


if __name__ == "__main__":
    main()
