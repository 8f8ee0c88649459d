"""Kill runs at random points and look at what is left: shared by the tests and the benchmark."""

from __future__ import annotations

import random
import signal
import sqlite3
import time
from pathlib import Path

from pic2chart.library.catalogue import NAME
from pic2chart.library.motif import place_of
from tests.helpers.library_runs import SMALL, contents, killed_run, run, small_folder

RECIPES = (SMALL, {**SMALL, "float_limit": 3, "title": "Harbour"})


def interrupt(place: Path, kills: int, pictures: int, seed: int) -> tuple[int, int]:
    """Kill `kills` runs, by turns of two recipes on one library, each finished in the end.

    After each kill every row must speak of the very files of an uninterrupted run; each finished
    library, one after every fourth kill at the least, must equal one byte for byte. Returns how many runs were cut short and how many
    libraries were compared.
    """
    folder = small_folder(place / "pictures", pictures)
    whole = []
    for i, recipe in enumerate(RECIPES):
        run(folder, place / f"whole-{i}", recipe)
        whole.append(contents(place / f"whole-{i}"))
    began = time.monotonic()
    run(folder, place / "timed", RECIPES[0])
    length = time.monotonic() - began
    random_ = random.Random(seed)
    out, cut, compared, turn = place / "out", 0, 0, 0
    while cut < kills:
        sign = random_.choice((signal.SIGKILL, signal.SIGKILL, signal.SIGINT))
        done = killed_run(random_.uniform(0, length), sign, folder, out, RECIPES[turn])
        cut += not done
        look_whole(out, whole)
        if done or cut % 4 == 0:
            run(folder, out, RECIPES[turn])
            assert contents(out) == whole[turn]
            compared, turn = compared + 1, 1 - turn
    return cut, compared


def look_whole(out: Path, whole: list[dict[str, bytes]]) -> None:
    """No half-written file: every row with a digest, and every page, is one of a finished run."""
    if not (out / NAME).exists():
        return
    connection = sqlite3.connect(out / NAME)
    assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    made = connection.execute("SELECT count(*) FROM sqlite_schema WHERE name = 'motif'").fetchone()
    query = "SELECT name FROM motif WHERE digest != ''"
    names = [row[0] for row in connection.execute(query)] if made[0] else []
    connection.close()
    shown = [f"{place_of(name)}/{name}" for name in names]
    paths = [path + end for path in shown for end in (".chart.json", ".png", ".svg")]
    paths += [page for page in ("contact-sheet.html", "booklet.pdf") if (out / page).exists()]
    for path in paths:
        assert (out / path).read_bytes() in (part[path] for part in whole)
