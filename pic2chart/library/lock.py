"""One run at a time on one library, held by SQLite's own locks, which end with the process."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pic2chart.core.errors import OutputError
from pic2chart.core.messages import Message, message

_NAME = ".lock"


@contextmanager
def sole_run(out: Path) -> Iterator[None]:
    """Hold the library for this run. Raises OutputError at once when another run holds it."""
    path = out / _NAME
    try:
        connection = sqlite3.connect(path, isolation_level=None, timeout=0)
    except sqlite3.Error as error:
        raise OutputError(message("lock-not-made", path=str(path), why=str(error))) from error
    try:
        try:
            connection.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as error:
            raise OutputError(_why(error, out)) from error
        yield
    finally:
        connection.close()


def _why(error: sqlite3.Error, out: Path) -> Message:
    if "locked" in str(error):
        return message("library-in-use", library=str(out))
    return message("library-not-locked", library=str(out), why=str(error))
