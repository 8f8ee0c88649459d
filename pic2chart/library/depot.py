"""Where motifs' files lie in a library of this machine; nothing but its own is replaced or removed,
and no link is followed."""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from pathlib import Path
from typing import Protocol

from pic2chart.core.errors import OutputError
from pic2chart.core.files import make_folder
from pic2chart.core.messages import Message, message
from pic2chart.library.motif import sync_folder

MOTIFS = "motifs"


class Depot(Protocol):
    """A place for motifs' files. `own`: the files that the catalogue says the library put there."""

    def there(self, place: str, files: tuple[str, ...]) -> bool:
        """Whether a motif's files are all in its folder."""

    def in_the_way(self, place: str, files: tuple[str, ...], own: set[str]) -> Message | None:
        """What of somebody else's is where a motif's files should be."""

    def put(self, place: str, files: tuple[str, ...], staged: Path, own: set[str]) -> None:
        """Put a motif's files in their place, which is free for them, instead of its own there."""

    def settle(self, places: list[str]) -> None:
        """Wait until what was put there is safe."""

    def remove(self, place: str, own: set[str]) -> list[Message]:
        """Remove a motif's own files, and what is left in its folder."""


class FolderDepot:
    """The depot of a library in a folder."""

    def __init__(self, out: Path, staging: Path) -> None:
        self._out, self._staging = out, staging

    def there(self, place: str, files: tuple[str, ...]) -> bool:
        try:
            return set(os.listdir(f"{self._out}/{place}")).issuperset(files)
        except OSError:
            return False

    def in_the_way(self, place: str, files: tuple[str, ...], own: set[str]) -> Message | None:
        try:
            there = set(os.listdir(real_folder(self._out, self._out / place)))
        except FileNotFoundError:
            return None
        except OutputError as error:
            return error.message
        foreign = tuple(sorted((there - own) & set(files)))
        return message("not-ours-in-the-way", place=place, files=foreign) if foreign else None

    def put(self, place: str, files: tuple[str, ...], staged: Path, own: set[str]) -> None:
        if not staged.exists():  # a flush that was interrupted moved it
            return
        folder = self._out / place
        real_folder(self._out, folder.parent, make=True)
        if os.path.lexists(folder) and set(os.listdir(folder)) <= own:
            os.replace(folder, self._staging / f"old-{staged.name}")
        if not os.path.lexists(folder):
            os.replace(staged, folder)
            return
        for file in files:
            os.replace(staged / file, folder / file)
        for file in own - set(files):
            (folder / file).unlink(missing_ok=True)
        sync_folder(folder)

    def settle(self, places: list[str]) -> None:
        for folder in sorted({(self._out / place).parent for place in places}):
            sync_folder(folder)

    def remove(self, place: str, own: set[str]) -> list[Message]:
        try:
            real_folder(self._out, self._out / place)
        except FileNotFoundError:
            return []
        except OutputError as error:
            return [error.message]
        for file in sorted(own):
            with suppress(IsADirectoryError, PermissionError):
                (self._out / place / file).unlink(missing_ok=True)
        return without_empty(self._out / place, place)


def real_folder(out: Path, folder: Path, *, make: bool = False) -> Path:
    """The folder within the library, when neither it nor one above it is a link or no folder.

    Raises OutputError.
    """
    place = out
    for part in folder.relative_to(out).parts:
        place = place / part
        if make and not os.path.lexists(place):
            make_folder(place)
        if not stat.S_ISDIR(os.lstat(place).st_mode):
            raise OutputError(message("not-a-folder-of-ours", path=str(place)))
    return folder


def without_empty(folder: Path, shown: str) -> list[Message]:
    """Remove a folder that is empty now; what somebody else keeps in it."""
    try:
        folder.rmdir()
    except OSError:
        files = sorted(os.listdir(folder))
        return [message("left-in-place", place=shown, files=tuple(files[:5]), count=len(files))]
    with suppress(OSError):  # other motifs share it
        if folder.parent.name != MOTIFS:
            folder.parent.rmdir()
    return []
