"""One run at a time on one library, held by SQLite's own locks, which end with the process."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pic2chart.core.errors import OutputError

_NAME = ".lock"


@contextmanager
def sole_run(out: Path) -> Iterator[None]:
    """Hold the library for this run. Raises OutputError at once when another run holds it."""
    path = out / _NAME
    try:
        connection = sqlite3.connect(path, isolation_level=None, timeout=0)
    except sqlite3.Error as error:
        raise OutputError(f"'{path}' cannot be made: {error}.") from error
    try:
        try:
            connection.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as error:
            raise OutputError(_words(error, out)) from error
        yield
    finally:
        connection.close()


def _words(error: sqlite3.Error, out: Path) -> str:
    if "locked" in str(error):
        return f"Another run is at work on the library '{out}'; wait until it is done."
    return f"The library '{out}' cannot be locked: {error}."
