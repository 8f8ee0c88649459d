"""From a problem to stitches: the energy, exact round steps, sweeps, the bound and the catch plan."""

from __future__ import annotations

import gc
import os
import stat
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
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
    to load what is needed next: a fifth of a cold chart's time where a second core is idle. An import
    that is under way in the thread is waited for by Python itself, and the solver waits for the rest
    (`wait_for_loading`). What cannot be loaded is met again, and told, where it is used.
    """
    thread = threading.Thread(target=_load, name="solver's loading", daemon=True)
    thread.start()
    return thread


def wait_for_loading() -> None:
    """Wait until what was begun ahead is done, if it was.

    numba looks up the type of a kernel's arguments in a table that grows while it is loaded, and fails
    (RuntimeError: dictionary changed size during iteration) where both happen at once.
    """
    if load_ahead.cache_info().currsize:
        load_ahead().join()


def _load() -> None:
    try:
        from pic2chart.solve import solver  # noqa: F401  isort: skip  (asks numba to do without BLAS)
        from numba.core.compiler_lock import global_compiler_lock
        from numba.core.registry import cpu_target

        from pic2chart.solve import catches  # noqa: F401

        with global_compiler_lock:
            cpu_target.typing_context.refresh()
            cpu_target.target_context.refresh()
    except Exception:
        return


@contextmanager
def compiling() -> Iterator[None]:
    """While kernels are compiled: what is not used any more is collected afterwards, not meanwhile.

    numba makes millions of small objects and keeps most; to look through them again and again takes a
    tenth of the time.
    """
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def kernels_ready(name: str = "sweep") -> bool:
    """True when numba's cache holds the solver's kernel of that name for the current source.

    The first run compiles them, which takes about a minute; afterwards they are loaded from the cache.
    """
    from pic2chart.solve import kernels

    kernel = getattr(kernels, name)
    if kernel.signatures:
        return True
    folder = Path(kernel.stats.cache_path or "")
    newest = Path(kernels.__file__).stat().st_mtime
    indexes = folder.glob(f"kernels.{name}-*.nbi")
    return any(index.stat().st_mtime >= newest for index in indexes)
