"""Whether a process is there, and waiting until it is gone: on Windows by other means than elsewhere."""

from __future__ import annotations

import os
import time
from typing import Any

WINDOWS = os.name == "nt"
_SYNCHRONIZE, _INFINITE, _TIMED_OUT = 0x00100000, 0xFFFFFFFF, 0x102
_DENIED = 5
_LOOK_SECONDS = 0.5


def alive(pid: int) -> bool:
    """Whether a process of this number is there, also one that is not ours to signal."""
    if WINDOWS:  # where os.kill would end it
        return _windows_wait(pid, 0)
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def wait_for_parent(parent: int) -> None:
    """Return when the process that began this one is gone; `parent` is its number, asked for early.

    Elsewhere than on Windows an orphan is given another parent; there it keeps the number for good.
    """
    if WINDOWS:
        _windows_wait(parent, _INFINITE)
        return
    while os.getppid() == parent:
        time.sleep(_LOOK_SECONDS)


def _kernel32() -> Any:
    import ctypes

    return ctypes.WinDLL("kernel32", use_last_error=True)  # type: ignore[attr-defined]


def _last_error() -> int:
    import ctypes

    return int(ctypes.get_last_error())  # type: ignore[attr-defined]


def _windows_wait(pid: int, milliseconds: int) -> bool:
    """Wait for a process to end, so long at most; whether it is still there."""
    kernel32 = _kernel32()
    handle = kernel32.OpenProcess(_SYNCHRONIZE, False, pid)
    if not handle:
        return _last_error() == _DENIED
    try:
        return bool(kernel32.WaitForSingleObject(handle, milliseconds) == _TIMED_OUT)
    finally:
        kernel32.CloseHandle(handle)
