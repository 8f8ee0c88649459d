"""From a problem to stitches: the energy, exact round steps, sweeps, the bound and the catch plan."""

from __future__ import annotations

import os
import stat
import sys
import threading
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any


def _cache_somewhere() -> None:
    """Let the kernels compile where neither the package nor the user's cache can be written.

    numba refuses to compile a function that it is to cache and can cache nowhere. It then gets a folder
    of this user's among the temporary ones, the same for every process, so that the solver is compiled
    once, as it says, until the system clears them.
    """
    if os.access(Path(__file__).parent, os.W_OK):
        return
    import numba

    config: Any = numba.config
    if not _writable(Path(config.CACHE_DIR or _users_cache())):
        config.CACHE_DIR = os.environ["NUMBA_CACHE_DIR"] = str(_temporary_cache())


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


def _users_cache() -> str:
    """Where numba caches what it cannot cache beside the source."""
    from numba.misc.appdirs import AppDirs

    folder: str = AppDirs("numba", appauthor=False).user_cache_dir  # type: ignore[no-untyped-call]
    return folder


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return False
    return os.access(folder, os.W_OK)


_cache_somewhere()


def cache_folder() -> Path:
    """Where compiled kernels are kept, numba's and the solver's own."""
    if chosen := os.environ.get("NUMBA_CACHE_DIR"):
        return Path(chosen)
    beside = Path(__file__).parent
    return beside / "__pycache__" if os.access(beside, os.W_OK) else Path(_users_cache())


def load_numba_without_blas() -> None:
    """Keep numba from loading scipy's linear algebra, which no kernel uses (0.15 s of a cold
    start).

    numba asks for it once, when its array functions are first loaded. Only `numpy.cov` and
    `numpy.corrcoef` inside compiled code would miss it afterwards. Where numba or scipy is loaded
    already, or numba has changed, nothing is done.
    """
    if "scipy.linalg" in sys.modules or "numba.np.arraymath" in sys.modules:
        return

    def refuse() -> None:
        raise ImportError("not needed here")

    try:
        import numba.np.linalg as linalg

        ensure, linalg.ensure_blas = linalg.ensure_blas, refuse
    except (ImportError, AttributeError):
        return
    try:
        import numba.np.arraymath  # noqa: F401
    finally:
        linalg.ensure_blas = ensure


@cache
def load_ahead() -> threading.Thread:
    """Begin to load the solver beside whatever comes first; once for a process.

    Reading a picture and finding its subject spend their time in compiled code, where Python is free
    to load what is needed next: a fifth of a cold chart's time where a second core is idle. Nothing
    waits for the thread; an import that is under way in it is waited for by Python itself. What
    cannot be loaded is met again, and told, where it is used.
    """
    thread = threading.Thread(target=_load, name="solver's loading", daemon=True)
    thread.start()
    return thread


def _load() -> None:
    try:
        from pic2chart.solve import solver  # noqa: F401

        load_numba_without_blas()
        from numba.core.compiler_lock import global_compiler_lock
        from numba.core.registry import cpu_target

        from pic2chart.solve import catches  # noqa: F401

        with global_compiler_lock:
            cpu_target.typing_context.refresh()
            cpu_target.target_context.refresh()
    except Exception:
        return


def kernels_ready(*names: str) -> bool:
    """Whether the kernels of those names, by default the solver's first, need not be compiled any more.

    That is done once, when they are first called; afterwards they are loaded.
    """
    from pic2chart.solve import kernels

    return all(getattr(kernels, name).ready for name in names or ("sweep",))
