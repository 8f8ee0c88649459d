"""From the staging folder into the library: whole motifs at a time, whatever happens meanwhile.

The order makes any cut harmless. The files of a motif are on the disk before its folder is moved into
its place; its row is written after that. A motif that takes the place of an earlier one has the
earlier one's digest forgotten first. So a row with a digest always speaks of the files that are there;
a run that was cut short leaves at worst some motifs without one, and they are made again.
"""

from __future__ import annotations

import os
import secrets
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from pic2chart.core.errors import OutputError, reason
from pic2chart.core.files import make_folder
from pic2chart.library.catalogue import Catalogue
from pic2chart.library.motif import Broken, Done, sync_folder

MOTIFS = "motifs"
STAGING = ".work"
_SWEPT = ".swept-"
_HALF_WRITTEN = ".writing-*"
"""Names `files.write_all` gives to files until they are whole."""
_MOST, _SECONDS = 64, 1.0
"""Results are put in place together, at most so many or so long after the first."""


class Publisher:
    """Puts results in place as they come. Use as `with publishing(...) as publisher`."""

    def __init__(self, out: Path, catalogue: Catalogue) -> None:
        self._motifs = out / MOTIFS
        self.staging = out / STAGING
        self._catalogue = catalogue
        self._waiting: list[Done | Broken] = []
        self._since = time.monotonic()

    def add(self, result: Done | Broken) -> None:
        """Take a result; it is in place at the latest after `flush`."""
        if not self._waiting:
            self._since = time.monotonic()
        self._waiting.append(result)
        if len(self._waiting) >= _MOST or time.monotonic() - self._since > _SECONDS:
            self.flush()

    def flush(self) -> None:
        """Put all that waits in place. Raises OutputError."""
        done = [result for result in self._waiting if isinstance(result, Done)]
        broken = [result for result in self._waiting if isinstance(result, Broken)]
        replaced = [d.motif.name for d in done if (self._motifs / d.motif.name).exists()]
        if replaced:
            with self._catalogue.change():
                self._catalogue.unsettle(replaced)
        with _explained(self._motifs):
            for result in done:
                self._move(result)
            sync_folder(self._motifs)
        with self._catalogue.change():
            for result in done:
                self._catalogue.put(result.motif)
            for fault in broken:
                self._catalogue.put_broken(fault)
        self._waiting.clear()

    def _move(self, done: Done) -> None:
        """Move a motif's folder into its place, unless a flush that was interrupted did so."""
        if not done.folder.exists():
            return
        place = self._motifs / done.motif.name
        if place.exists():
            os.replace(place, self.staging / f"old-{done.folder.name}")
        os.replace(done.folder, place)


@contextmanager
def publishing(out: Path, catalogue: Catalogue) -> Iterator[Publisher]:
    """A publisher with an empty staging folder; what came in is in place when the block ends.

    That holds for Ctrl-C too, and is tried after an error.
    """
    make_folder(out / MOTIFS)
    sweep(out)
    make_folder(out / STAGING)
    publisher = Publisher(out, catalogue)
    try:
        yield publisher
        publisher.flush()
    except BaseException:
        with suppress(OutputError):
            publisher.flush()
        raise
    finally:
        sweep(out)


def remove_strays(out: Path, names: set[str]) -> None:
    """Remove motif folders that no row speaks of: of pictures that are gone, or from a run cut short."""
    with _explained(out / MOTIFS):
        for folder in sorted((out / MOTIFS).iterdir()):
            if folder.name not in names:
                shutil.rmtree(folder, ignore_errors=True)


def sweep(out: Path) -> None:
    """Remove the staging folder, and pages half written by a run that died. Only for who holds the lock.

    The folder gets another name first: workers that outlive their master by a moment find nothing
    at the old one, so none of them puts a file into what is being removed.
    """
    with suppress(OSError):  # there is none
        os.replace(out / STAGING, out / f"{_SWEPT}{secrets.token_hex(8)}")
    for swept in out.glob(f"{_SWEPT}*"):
        shutil.rmtree(swept, ignore_errors=True)
    for page in out.glob(_HALF_WRITTEN):
        page.unlink(missing_ok=True)


@contextmanager
def _explained(place: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OutputError(f"'{place}' cannot be written to: {reason(error)}.") from error
