"""Whether the kernels have been compiled on this machine before."""

from __future__ import annotations

from pathlib import Path


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
