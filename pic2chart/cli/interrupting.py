"""One interrupt ends a command, whatever it is doing.

Python raises KeyboardInterrupt between two steps of its own: not while compiled code runs, and where
a library is called back from such code, it is lost with a traceback. So one that is lost ends the
process, and a thread waits for the signal too and ends it if nothing else has. Files are written whole
or not at all, whenever a process ends.
"""

from __future__ import annotations

import os
import signal
import socket
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

INTERRUPTED = 130
GRACE = 1.0
"""Seconds in which an interrupted command may end by itself."""
_SHOW_CURSOR = "\x1b[?25h\n"


@contextmanager
def interruptible() -> Iterator[None]:
    """Within this, the process is over at most GRACE seconds after an interrupt.

    Does nothing outside the main thread, or where somebody else handles interrupts.
    """
    ours = signal.getsignal(signal.SIGINT) is signal.default_int_handler
    if not ours or threading.current_thread() is not threading.main_thread():
        yield
        return
    hears, rings = socket.socketpair()
    rings.setblocking(False)
    before = signal.set_wakeup_fd(rings.fileno(), warn_on_full_buffer=False)
    over = threading.Event()
    threading.Thread(target=_watch, args=(hears, over), name="interrupts", daemon=True).start()
    hook, sys.unraisablehook = sys.unraisablehook, _lost
    try:
        yield
    finally:
        sys.unraisablehook = hook
        over.set()
        signal.set_wakeup_fd(before)
        rings.close()  # whereupon the thread ends


def came_of_interrupt(error: BaseException | None) -> bool:
    """Whether an interrupt is behind an error: Python 3.11 raises RuntimeError for one that comes while
    a class names its fields.
    """
    while error is not None and not isinstance(error, KeyboardInterrupt):
        error = error.__cause__ or error.__context__
    return error is not None


def _watch(hears: socket.socket, over: threading.Event) -> None:
    """Wait for the interrupt; end the process if it is not over soon after."""
    with hears:
        while heard := hears.recv(1):
            if heard[0] == signal.SIGINT and not over.wait(GRACE):
                _end()


def _lost(what: sys.UnraisableHookArgs) -> None:
    """Heed an interrupt that no code can meet; anything else that is lost is told as ever."""
    if issubclass(what.exc_type, KeyboardInterrupt):
        _end()
    sys.__unraisablehook__(what)


def _end() -> None:
    if sys.stderr.isatty():
        os.write(2, _SHOW_CURSOR.encode())  # a progress bar hides it
    os._exit(INTERRUPTED)
