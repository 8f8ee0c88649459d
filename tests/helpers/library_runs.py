"""Running libraries in tests: small folders, whole contents for comparison, runs that can be killed."""

from __future__ import annotations

import os
import signal
import sqlite3
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from PIL import Image

from pic2chart.library.batch import RunOptions, Summary, make_library
from pic2chart.library.catalogue import NAME
from pic2chart.library.motif import Task, place_of
from pic2chart.library.recipe import Recipe
from pic2chart.library.scan import scan
from pic2chart.library.tables import _MARK, STEPS
from tests.helpers import mixed_folder

SMALL: Mapping[str, Any] = {
    "stitches": 14,
    "rounds": 12,
    "yarn": ["oat=#ece2d0", "ink=#26304c"],
}


def small_folder(folder: Path, count: int, side: int = 48) -> Path:
    """`count` small drawings as PNG pictures."""
    folder.mkdir(parents=True, exist_ok=True)
    for number in range(count):
        picture = Image.fromarray(mixed_folder.drawn(number, side))
        picture.save(folder / f"sign {number + 1}.png")
    return folder


def run(folder: Path, out: Path, options: Mapping[str, Any] = SMALL, **more: Any) -> Summary:
    """A run in this process unless `jobs` says otherwise."""
    wish = RunOptions(folder, out, Recipe().over(options), **{"jobs": 1, **more})
    return make_library(wish, lambda words, share: None, lambda done, total, result: None)


def contents(out: Path) -> dict[str, bytes]:
    """Every file of a library by path, and the catalogue as the text that would make it anew.

    What the catalogue remembers of the folder's files (`seen`) is left out: it is no part of the library.
    """
    files = {
        str(path.relative_to(out)): path.read_bytes()
        for path in sorted(out.rglob("*"))
        if path.is_file() and not path.name.startswith((NAME, ".lock"))
    }
    return files | {NAME: dump(out / NAME)}


def dump(catalogue: Path) -> bytes:
    """All rows of all tables, in order of their contents."""
    connection = sqlite3.connect(catalogue)
    tables = ("listed", "numbered", "yarn", "broken", "about", "alike", "words", "owned", "fresh")
    rows = [repr(sorted(connection.execute(f"SELECT * FROM {t}"), key=repr)) for t in tables]
    connection.close()
    return "\n".join(rows).encode()


def killed_run(seconds: float, sign: signal.Signals, folder: Path, out: Path, options: Any) -> bool:
    """Begin a run in a child process and send it `sign` after a while. True when it was done by then.

    Ctrl-C waits until the child is inside the block that knows it, or it would end this test in the
    child's copy of it.
    """
    held = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    child = os.fork()
    if child == 0:
        code = 1
        try:
            signal.pthread_sigmask(signal.SIG_SETMASK, held)
            run(folder, out, options)
            code = 0
        except KeyboardInterrupt:
            code = 130
        finally:
            os._exit(code)
    signal.pthread_sigmask(signal.SIG_SETMASK, held)
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        done, _ = os.waitpid(child, os.WNOHANG)
        if done:
            return True
        time.sleep(0.001)
    os.kill(child, sign)
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status) == 0


def tasks_of(folder: Path, place: Path) -> list[Task]:
    """The tasks of a folder, their results staged at `place`."""
    recipe = Recipe().over(SMALL)
    order = recipe.order("")
    digest = recipe.digest(order)
    found = scan(folder, frozenset()).found
    return [Task(f.path, f.file, f.name, order, digest, place) for f in found]


def make_older(out: Path, version: int) -> None:
    """Give a library the layout and the catalogue of an earlier version of the program."""
    connection = sqlite3.connect(out / NAME, isolation_level=None)
    older = sqlite3.connect(out / "older", isolation_level=None)
    older.executescript(
        "".join(STEPS[:version])
        + f"PRAGMA application_id = {_MARK}; PRAGMA user_version = {version};"
    )
    names = [row[1] for row in older.execute("PRAGMA table_info(motif)")]
    for table, columns, source in (
        ("motif", names, "listed"),
        *((t, ["*"], t) for t in ("yarn", "broken", "seen")),
    ):
        for row in connection.execute(f"SELECT {', '.join(columns)} FROM {source}"):
            older.execute(f"INSERT INTO {table} VALUES ({', '.join('?' * len(row))})", row)
    for (name,) in connection.execute("SELECT name FROM motif").fetchall():
        (out / place_of(name)).rename(out / "motifs" / name)
    connection.close()
    older.close()
    for folder in (out / "motifs").iterdir():
        if len(folder.name) == 2 and not any(folder.iterdir()):
            folder.rmdir()
    for old in out.glob(f"{NAME}*"):
        old.unlink()
    (out / "older").rename(out / NAME)


def numbers(out: Path) -> list[tuple[int, str, str]]:
    """Every number that was ever given, with its path and state."""
    connection = sqlite3.connect(out / NAME)
    rows = connection.execute("SELECT number, path, state FROM numbered ORDER BY number").fetchall()
    connection.close()
    return rows
