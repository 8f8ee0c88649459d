"""Addresses of object stores and other places that fsspec knows (extra `store`): 's3://bucket/folder'.

Who may read and write there is the store's affair: its own library (s3fs for s3) takes keys and
endpoints from the environment, on this machine and on every worker.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path, PurePosixPath
from typing import IO, Any

from pic2chart.core.errors import InputError, Pic2ChartError
from pic2chart.core.messages import message

Address = Path | str
"""A folder of this machine, or an address with '://'."""


def address(text: str) -> Address:
    """A folder, or the address of a store."""
    return text.rstrip("/") if "://" in text else Path(text)


@lru_cache(maxsize=64)
def file_system(url: str) -> tuple[Any, str]:
    """The file system of an address, and the folder within it. Raises InputError."""
    try:
        from fsspec.core import url_to_fs
    except ImportError as error:
        raise InputError(message("store-not-installed", address=url)) from error
    try:
        fs, root = url_to_fs(url, use_listings_cache=False)
    except (ImportError, ValueError) as error:
        raise InputError(message("store-not-known", address=url, why=str(error))) from error
    return fs, str(root).rstrip("/")


@dataclass(frozen=True, slots=True)
class StoredFile:
    """A file at a store, as much like a path as reading needs."""

    url: str
    path: str

    @property
    def name(self) -> str:
        """The last part of its path."""
        return self.path.rpartition("/")[2]

    @property
    def suffix(self) -> str:
        return PurePosixPath(self.path).suffix

    @property
    def parent(self) -> PurePosixPath:
        return PurePosixPath(self.path).parent

    def absolute(self) -> StoredFile:
        return self

    def open(self, mode: str = "rb") -> IO[bytes]:
        """Raises OSError."""
        fs, root = file_system(self.url)
        with as_os_error():
            opened: IO[bytes] = fs.open(f"{root}/{self.path}", mode)
            return opened

    def read_bytes(self) -> bytes:
        """Raises OSError."""
        fs, root = file_system(self.url)
        with as_os_error():
            return bytes(fs.cat_file(f"{root}/{self.path}"))

    def __str__(self) -> str:
        return f"{self.url}/{self.path}"


@contextmanager
def as_os_error() -> Iterator[None]:
    """Whatever a store's library raises, as the system's own errors are raised."""
    try:
        yield
    except (OSError, Pic2ChartError):
        raise
    except Exception as error:
        raise OSError(f"{type(error).__name__}: {error}") from error


def listed(url: str) -> Iterator[tuple[StoredFile, tuple[int, int, int]]]:
    """Every file below an address with (size, time of change in nanoseconds, sign of its contents).

    Raises InputError when it cannot be read whole.
    """
    fs, root = file_system(url)
    try:
        with as_os_error():
            found = fs.find(root, detail=True)
            if not found and not fs.exists(root):
                raise InputError(message("no-folder-of-pictures", folder=url))
    except OSError as error:
        raise InputError(message("folder-unreadable", folder=url, why=str(error))) from error
    for full, facts in sorted(found.items()):
        path = full[len(root) :].lstrip("/")
        if path and not any(part.startswith(".") for part in path.split("/")):
            yield (
                StoredFile(url, path),
                (int(facts.get("size") or 0), _changed(facts), _sign(facts)),
            )


def _changed(facts: dict[str, Any]) -> int:
    for name in ("LastModified", "mtime", "created", "last_modified", "updated"):
        value = facts.get(name)
        if isinstance(value, datetime):
            return int(value.timestamp() * 1e9)
        if isinstance(value, int | float):
            return int(value * 1e9)
    return 0


def _sign(facts: dict[str, Any]) -> int:
    """A small number that changes with the store's own sign of the contents."""
    return int(hashlib.sha256(str(facts.get("ETag", "")).encode()).hexdigest()[:7], 16)
