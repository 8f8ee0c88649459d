"""Numeric libraries kept to one thread.

The arrays of a chart are small: a product of .4 ms that OpenBLAS spreads over two cores takes a
hundred times as long where another program has one of them, since the thread that has finished waits
for the one that may not begin. One thread also adds in one order, whatever the machine.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from functools import lru_cache, wraps
from typing import Any, ParamSpec, TypeVar

Given = ParamSpec("Given")
Result = TypeVar("Result")


def on_one_thread(work: Callable[Given, Result]) -> Callable[Given, Result]:
    """The same function, with the libraries that are loaded when it is called kept to one thread.

    They are the process's own: another thread that multiplies large matrices meanwhile does so on
    one thread too, and has its own number back afterwards.
    """

    @wraps(work)
    def limited(*args: Given.args, **kwargs: Given.kwargs) -> Result:
        with _libraries(len(sys.modules)).limit(limits=1):
            return work(*args, **kwargs)

    return limited


@lru_cache(maxsize=1)
def _libraries(modules: int) -> Any:
    """The numeric libraries of this process, looked for again once more `modules` are loaded: that
    reads the whole map of the process's memory."""
    from threadpoolctl import ThreadpoolController  # type: ignore[import-untyped]

    del modules
    return ThreadpoolController()


def never_start_threads() -> None:
    """Before numpy is loaded: OpenBLAS starts no threads in this process and its children.

    A person's own setting stands.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
