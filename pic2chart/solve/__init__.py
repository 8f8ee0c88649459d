"""From a problem to stitches: the energy, exact round steps, sweeps, the bound and the catch plan."""

from __future__ import annotations

import threading
from functools import cache


@cache
def load_ahead() -> threading.Thread:
    """Begin to load the solver beside whatever comes first; once for a process.

    Reading a picture and finding its subject spend their time in compiled code, where Python is free
    to load what is needed next. Nothing waits for the thread; an import that is under way in it is
    waited for by Python itself. What cannot be loaded is met again, and told, where it is used.
    """
    thread = threading.Thread(target=_load, name="solver's loading", daemon=True)
    thread.start()
    return thread


def _load() -> None:
    try:
        from pic2chart.solve import catches, native, solver  # noqa: F401

        native.machine()
    except Exception:
        return


def kernels_ready(*names: str) -> bool:
    """Whether the kernels of those names, by default the solver's first, need not be compiled any more.

    That is done once, when they are first called; afterwards they are loaded.
    """
    from pic2chart.solve import kernels

    return all(getattr(kernels, name).ready for name in names or ("sweep",))
