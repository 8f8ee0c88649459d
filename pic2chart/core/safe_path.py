"""Nothing is imported from the folder one happens to work in, here or in any process begun from here.

Pictures lie in folders that anybody may have filled; a file `numbers.py` among them would else take
the place of Python's own module of that name.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

_HOME = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
"""Where this package was loaded from: left among the places even when one works there."""


def import_from_safe_places() -> None:
    """For good: the current folder is no place to import from, for this process and its children."""
    os.environ["PYTHONSAFEPATH"] = "1"  # Python 3.11 and later neither put it there for children
    sys.path[:] = _safe(sys.path)


def safe_environment() -> dict[str, str]:
    """The environment for a child that imports what this process does, and nothing from the current folder."""
    return {
        **os.environ,
        "PYTHONSAFEPATH": "1",
        "PYTHONPATH": os.pathsep.join(_safe(sys.path)),
    }


@contextmanager
def children_import_from_safe_places() -> Iterator[None]:
    """Processes begun in the block do not import from the current folder; nor do later ones.

    The path of this process, which may be somebody else's program, is as it was afterwards.
    """
    before = sys.path[:]
    import_from_safe_places()
    try:
        yield
    finally:
        sys.path[:] = before


def _safe(path: list[str]) -> list[str]:
    """The places without the current folder, but for the package's own home."""
    try:
        here = os.getcwd()
    except OSError:  # it was removed meanwhile
        here = ""
    safe = []
    for place in path:
        whole = os.path.abspath(place) if place or here else ""
        if whole == _HOME:
            safe.append(_HOME)
        elif place and whole != here:
            safe.append(place)
    return safe
