"""What differs between systems about processes: whether one is there, waiting until it is gone, and how
many files one may have open.
"""

from __future__ import annotations

import contextlib
import os
import time
from typing import Any

try:
    import resource
except ImportError:  # Windows, where the C library's own limit of 8192 is enough
    resource = None  # type: ignore[assignment]

WINDOWS = os.name == "nt"
_SYNCHRONIZE, _INFINITE, _TIMED_OUT = 0x00100000, 0xFFFFFFFF, 0x102
_DENIED = 5
_LOOK_SECONDS = 0.5
_OPEN_FILES = 4096
"""A desk with two listeners holds some 500; macOS lets a process begin with 256."""


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


def allow_open_files() -> None:
    """As many open files as the system allows anyway, up to a few thousand, here and in children."""
    if resource is None:
        return
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = _OPEN_FILES if hard == resource.RLIM_INFINITY else min(hard, _OPEN_FILES)
    if soft != resource.RLIM_INFINITY and soft < wanted:
        with contextlib.suppress(OSError, ValueError):  # macOS has a second limit, told by nobody
            resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))


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
