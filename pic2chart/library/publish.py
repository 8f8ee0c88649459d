"""From the staging folder into the library: whole motifs at a time, whatever happens meanwhile.

The order makes any cut harmless. The files of a motif are on the disk before its folder is moved into
its place; its row is written after that. A motif that takes the place of an earlier one has the
earlier one's digest forgotten first. So a row with a digest always speaks of the files that are there;
a run that was cut short leaves at worst some motifs without one, and they are made again.

Nothing is ever replaced or removed but what the catalogue says the library put there, which is noted
before it is put; and no link is followed.
"""

from __future__ import annotations

import os
import re
import secrets
import shutil
import stat
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path

from pic2chart.core.errors import OutputError, reason
from pic2chart.core.files import make_folder
from pic2chart.core.messages import Message, message
from pic2chart.library.catalogue import Catalogue
from pic2chart.library.depot import MOTIFS, Depot, FolderDepot, real_folder, without_empty
from pic2chart.library.motif import Broken, Done, MotifRecord, place_of, sync_folder

STAGING = ".work"
_SWEPT = re.compile(r"\.swept-[0-9a-f]{16}")
_STAGED = re.compile(r"(motif|old)-[A-Za-z0-9_-]+")
_HALF_WRITTEN = re.compile(r"\.writing-[a-z0-9_]{8}")
"""Names `files.write_all` gives to files until they are whole."""
_MOST, _SECONDS = 64, 1.0
"""Results are put in place together, at most so many or so long after the first."""


class Publisher:
    """Puts results in place as they come. Use as `with publishing(...) as publisher`.

    `left`: what stood in the way and is not the library's.
    """

    def __init__(self, out: Path, catalogue: Catalogue, depot: Depot) -> None:
        self._depot = depot
        self.staging = out / STAGING
        self.left: list[Message] = []
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
        before = {d.motif.place: self._catalogue.owned(d.motif.place) for d in done}
        done = [d for d in done if self._free(d.motif, before[d.motif.place])]
        if done:
            with self._catalogue.change():
                self._catalogue.unsettle(d.motif.name for d in done if before[d.motif.place])
                for result in done:
                    self._catalogue.own(result.motif.place, result.motif.files)
        with _explained(self.staging.parent / MOTIFS):
            for result in done:
                place, files = result.motif.place, result.motif.files
                if result.folder is not None:
                    self._depot.put(place, files, result.folder, before[place])
            self._depot.settle([result.motif.place for result in done])
        with self._catalogue.change():
            for result in done:
                motif = result.motif
                self._catalogue.disown(motif.place, before[motif.place] - set(motif.files))
                self._catalogue.put(motif)
            for fault in broken:
                self._catalogue.put_broken(fault)
        self._waiting.clear()

    def _free(self, motif: MotifRecord, own: set[str]) -> bool:
        """Whether nothing of somebody else's is where a motif's files should be."""
        found = self._depot.in_the_way(motif.place, motif.files, own)
        self.left += [] if found is None else [found]
        return found is None


@contextmanager
def publishing(out: Path, catalogue: Catalogue, depot: Depot) -> Iterator[Publisher]:
    """A publisher with an empty staging folder; what came in is in place when the block ends.

    That holds for Ctrl-C too, and is tried after an error.
    """
    if isinstance(depot, FolderDepot):
        real_folder(out, out / MOTIFS, make=True)
    sweep(out)
    make_folder(out / STAGING)
    publisher = Publisher(out, catalogue, depot)
    try:
        yield publisher
        publisher.flush()
    except BaseException:
        with suppress(OutputError):
            publisher.flush()
        raise
    finally:
        sweep(out)


def settle_places(out: Path, catalogue: Catalogue) -> list[Message]:
    """Bring the folders of an older layout to where they lie today; what is left where it was."""
    left: list[Message] = []
    with _explained(out / MOTIFS):
        for name, old in catalogue.misplaced():
            left += _carry(out, old, place_of(name), catalogue.owned(old))
            with catalogue.change():
                catalogue.move(name, old, place_of(name))
    return left


def _carry(out: Path, old: str, new: str, own: set[str]) -> list[Message]:
    """Move the library's own files to another folder, one at a time, and what is left behind."""
    try:
        real_folder(out, out / old)
    except FileNotFoundError:  # moved already by a run that was cut short, or gone
        return []
    except OutputError as error:
        return [error.message]
    real_folder(out, out / new, make=True)
    for file in sorted(own):
        with suppress(FileNotFoundError):
            os.replace(out / old / file, out / new / file)
    sync_folder(out / new)
    return without_empty(out / old, old)


def clear_away(out: Path, catalogue: Catalogue, depot: Depot) -> list[Message]:
    """Remove the files of motifs that are no more, and nothing else; what is left in their folders."""
    left: list[Message] = []
    for place in catalogue.idle_places():
        own = catalogue.owned(place)
        with _explained(out / place):
            left += depot.remove(place, own)
        with catalogue.change():
            catalogue.disown(place, own)
    return left


def sweep(out: Path) -> None:
    """Remove what a run that died left half done, and nothing else. Only for who holds the lock.

    The staging folder gets another name first: workers that outlive their master by a moment find
    nothing at the old one, so none of them puts a file into what is being removed.
    """
    with suppress(OSError):  # there is none
        if stat.S_ISDIR(os.lstat(out / STAGING).st_mode):
            os.replace(out / STAGING, out / f".swept-{secrets.token_hex(8)}")
    for entry in list(os.scandir(out)):
        if _SWEPT.fullmatch(entry.name) and entry.is_dir(follow_symlinks=False):
            for staged in list(os.scandir(entry.path)):
                if _STAGED.fullmatch(staged.name) and staged.is_dir(follow_symlinks=False):
                    shutil.rmtree(staged.path, ignore_errors=True)
            with suppress(OSError):  # somebody keeps something there
                os.rmdir(entry.path)
        elif _HALF_WRITTEN.fullmatch(entry.name) and entry.is_file(follow_symlinks=False):
            with suppress(OSError):  # Windows keeps what anybody has open
                os.unlink(entry.path)


def staged(done: Done, staging: Path) -> Done:
    """The result with its files in the staging folder, when they came in memory."""
    from pic2chart.library.motif_making import write_staged

    if done.folder is not None:
        return done
    return replace(done, folder=write_staged(done.files, staging), files={})


@contextmanager
def _explained(place: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OutputError(
            message("folder-not-writable-why", folder=str(place), why=reason(error))
        ) from error
