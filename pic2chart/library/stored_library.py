"""A library at an object store: its motifs' files there alone, its catalogue with one coordinator."""

from __future__ import annotations

import hashlib
import json
import os
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from pic2chart.core.errors import InputError, OutputError
from pic2chart.core.files import make_folder, write_all
from pic2chart.core.messages import Message, message
from pic2chart.core.processes import alive
from pic2chart.library.catalogue import NAME
from pic2chart.library.stores import as_os_error, file_system

_STALE_S, _RENEWED_S = 600, 60
"""Seconds after which the lock of a run that no longer renews it is taken over, and is renewed."""
_GENERATION = "catalogue.generation"
_LOCK = "library.lock"


class StoreDepot:
    """Motifs' files at a store. What `FolderDepot` says of each method holds here."""

    def __init__(self, url: str) -> None:
        self._fs, self._root = file_system(url)
        with _explained(url), as_os_error():
            prefix = f"{self._root}/"
            self._there = {path[len(prefix) :] for path in self._fs.find(f"{self._root}/motifs")}

    def there(self, place: str, files: tuple[str, ...]) -> bool:
        return all(f"{place}/{file}" in self._there for file in files)

    def in_the_way(self, place: str, files: tuple[str, ...], own: set[str]) -> Message | None:
        foreign = [f for f in files if f not in own and f"{place}/{f}" in self._there]
        if not foreign:
            return None
        return message("not-ours-in-the-way", place=place, files=tuple(foreign))

    def put(self, place: str, files: tuple[str, ...], staged: Path, own: set[str]) -> None:
        with _explained(self._root), as_os_error():
            data = {f"{place}/{file}": (staged / file).read_bytes() for file in files}
            self._fs.pipe({f"{self._root}/{name}": value for name, value in data.items()})
            self._there.update(data)
            self._drop(place, own - set(files))

    def settle(self, places: list[str]) -> None:
        pass

    def remove(self, place: str, own: set[str]) -> list[Message]:
        with _explained(self._root), as_os_error():
            self._drop(place, own)
        return []

    def _drop(self, place: str, files: set[str]) -> None:
        gone = [f"{place}/{file}" for file in sorted(files) if f"{place}/{file}" in self._there]
        if gone:
            self._fs.rm([f"{self._root}/{name}" for name in gone])
            self._there.difference_update(gone)


class StoredLibrary:
    """A library at a store, worked on by one coordinator: its catalogue and pages lie in a folder of
    this machine meanwhile, its motifs' files at the store alone.

    Before anything is replaced the store is given a catalogue that has forgotten what will be, so
    whoever goes on after this machine has failed makes that anew.
    """

    def __init__(self, url: str) -> None:
        self.url = url
        self._fs, self._root = file_system(url)
        self._renewed = -float("inf")
        cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
        self.out = cache / "pic2chart" / hashlib.sha256(url.encode()).hexdigest()[:16]

    @contextmanager
    def at_work(self) -> Iterator[Path]:
        """The folder of this machine, with the catalogue as the store has it. Raises OutputError
        when another machine is at work."""
        make_folder(self.out)
        with _explained(self.url), as_os_error():
            self._lock()
            self._fetch()
        try:
            yield self.out
        finally:
            with suppress(Exception):
                self._fs.rm_file(f"{self._root}/{_LOCK}")

    def reading(self) -> Path:
        """The folder with the catalogue as the store has it now, for questions."""
        make_folder(self.out)
        with _explained(self.url), as_os_error():
            if not self._fs.exists(f"{self._root}/{NAME}"):
                raise InputError(message("no-library", folder=self.url, file=NAME))
            self._fetch()
        return self.out

    def renew(self) -> None:
        """Say now and then that the run is still at work."""
        if time.monotonic() - self._renewed < _RENEWED_S:
            return
        self._renewed = time.monotonic()
        own = {"host": socket.gethostname(), "pid": os.getpid(), "time": time.time()}
        self._fs.pipe_file(f"{self._root}/{_LOCK}", json.dumps(own).encode())

    def upload(self, pages: list[str]) -> None:
        """Give the store the catalogue and these pages, the catalogue last."""
        with _explained(self.url), as_os_error():
            for page in pages:
                self._fs.pipe_file(f"{self._root}/{page}", (self.out / page).read_bytes())
            data = (self.out / NAME).read_bytes()
            generation = hashlib.sha256(data).hexdigest()
            self._fs.pipe_file(f"{self._root}/{NAME}", data)
            self._fs.pipe_file(f"{self._root}/{_GENERATION}", generation.encode())
        write_all({self.out / _GENERATION: generation})

    def _fetch(self) -> None:
        """The store's catalogue, unless this machine worked on that one last and knows more."""
        theirs = self._cat(_GENERATION)
        with suppress(OSError):
            if (
                theirs
                and (self.out / _GENERATION).read_bytes() == theirs
                and (self.out / NAME).exists()
            ):
                return
        for stale in self.out.glob("*"):
            if stale.is_file() and stale.name != ".lock":
                stale.unlink()
        data = self._cat(NAME)
        if data is not None:
            write_all({self.out / NAME: data, self.out / _GENERATION: theirs or b""})

    def _cat(self, name: str) -> bytes | None:
        try:
            return bytes(self._fs.cat_file(f"{self._root}/{name}"))
        except FileNotFoundError:
            return None

    def _lock(self) -> None:
        data = self._cat(_LOCK)
        if data is not None:
            try:
                other = json.loads(data)
                fresh = time.time() - float(other["time"]) < _STALE_S
                ours = other["host"] == socket.gethostname() and not _other_alive(other["pid"])
            except (ValueError, KeyError, TypeError):
                fresh, ours, other = True, False, {"host": "?"}
            if fresh and not ours:
                raise OutputError(
                    message("store-in-use", library=self.url, host=str(other["host"]))
                )
        self.renew()


def _other_alive(pid: Any) -> bool:
    """Whether the run of that process of this machine is another one, still at work."""
    return int(pid) != os.getpid() and alive(int(pid))


def local_folder(out: str) -> Path:
    """The folder of a library for questions; of one at a store, a copy of its catalogue."""
    return StoredLibrary(out).reading() if "://" in out else Path(out)


@contextmanager
def _explained(place: str) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OutputError(
            message("store-not-written", place=place, why=str(error) or type(error).__name__)
        ) from error
