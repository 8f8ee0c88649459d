"""Locks on files: one holder at a time, and the system lets go however the holder's process ends.

A lock is the system's own on an open file (flock, on Windows its like), not the file's being there,
so what a killed run leaves behind locks nothing. Lock files stay: to remove one would let two hold
the same name.
"""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any
from weakref import WeakSet

from pic2chart.core.errors import OutputError, reason

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

_TAKEN = frozenset({errno.EAGAIN, errno.EACCES, errno.EDEADLK})
"""How systems say that somebody else holds it: Linux and BSD the first, NFS and Windows the rest."""
_held: WeakSet[IO[Any]] = WeakSet()


@contextlib.contextmanager
def held(path: Path, taken: str) -> Iterator[None]:
    """Hold the lock file `path`, made if need be, for as long as the block lasts.

    Raises OutputError at once: `taken`, a whole sentence, when somebody else holds it, within this
    process too; else what keeps it from being made or locked.
    """
    try:
        file = path.open("ab")
    except (OSError, ValueError) as error:  # ValueError: no file can have such a name
        raise OutputError(
            f"The lock file '{path}' cannot be written: {reason(error)}; choose a folder that "
            "allows writing."
        ) from error
    with file:
        try:
            hold(file)
        except OSError as error:
            if error.errno in _TAKEN:
                raise OutputError(taken) from error
            raise OutputError(
                f"The lock file '{path}' cannot be locked: {reason(error)}; choose a folder whose "
                "disk has locks, as one of this machine's own does."
            ) from error
        yield


def hold(file: IO[Any]) -> None:
    """Lock an open file until it is closed. Raises OSError at once when it cannot be had."""
    if fcntl is None:
        import msvcrt

        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
    else:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    _held.add(file)


def _let_go() -> None:
    """In a process that was forked off: else it goes on holding what its killed parent held.

    The numbers stay in use, so that closing the files later closes nobody else's.
    """
    files = [file.fileno() for file in _held if not file.closed]
    if files:
        nothing = os.open(os.devnull, os.O_RDWR)
        for number in files:
            os.dup2(nothing, number, inheritable=False)
        os.close(nothing)


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_let_go)
