"""Where compiled code is kept: beside the source, else in the user's cache, else among temporary files."""

from __future__ import annotations

import os
import stat
import sys
from contextlib import suppress
from functools import cache
from pathlib import Path

CHOSEN = "PIC2CHART_CODE_CACHE"
"""The variable that names another folder."""
_ACCESS_SAYS_LITTLE = os.name == "nt"
"""On Windows `os.access` takes every folder for one to write to, Program Files too."""


def cache_folder() -> Path:
    """The folder; what cannot be kept anywhere else is kept for this user until the system clears it."""
    if chosen := os.environ.get(CHOSEN):
        return Path(chosen)
    return _usual_folder()


@cache
def _usual_folder() -> Path:
    beside = Path(__file__).parent / "__pycache__"
    if _writable(beside):
        return beside
    users = _users_cache()
    return users if users is not None and _writable(users) else _temporary_cache()


def _users_cache() -> Path | None:
    """Where this user's programs keep what can be made again; None where there is no such place."""
    with suppress(RuntimeError):  # no home
        if sys.platform == "win32":
            base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
        elif sys.platform == "darwin":
            base = Path.home() / "Library" / "Caches"
        else:
            base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
        return base / "pic2chart" / "code"
    return None


def _temporary_cache() -> Path:
    """The folder, made if need be. What lies in a cache is run, so it has to be this user's alone; where
    somebody else has taken its name it is another, new each time and gone afterwards.
    """
    import tempfile

    user = os.geteuid() if hasattr(os, "geteuid") else "cache"
    folder = Path(tempfile.gettempdir(), f"pic2chart-{user}")
    with suppress(OSError):
        folder.mkdir(0o700)
    if _is_own(folder):
        return folder
    import atexit
    import shutil

    new = tempfile.mkdtemp(prefix="pic2chart-")
    atexit.register(shutil.rmtree, new, ignore_errors=True)
    return Path(new)


def _is_own(folder: Path) -> bool:
    """Whether it is a folder, no link to one, that nobody but this user may look into or write to."""
    try:
        facts = os.lstat(folder)
    except OSError:
        return False
    if not hasattr(os, "geteuid"):  # Windows: temporary folders are each user's own
        return stat.S_ISDIR(facts.st_mode)
    own = facts.st_uid == os.geteuid() and not facts.st_mode & 0o077
    return own and stat.S_ISDIR(facts.st_mode)


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if _ACCESS_SAYS_LITTLE:
            import tempfile

            tempfile.TemporaryFile(dir=folder).close()
    except OSError:
        return False
    return os.access(folder, os.W_OK)
