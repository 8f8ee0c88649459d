"""Reading with a limit and writing all at once: a file is either the old one or the new one."""

from __future__ import annotations

import contextlib
import os
import re
import tempfile
import time
from collections.abc import Iterable, Iterator, Mapping
from hashlib import sha256
from pathlib import Path
from typing import BinaryIO

from pic2chart.core.errors import InputError, OutputError, reason
from pic2chart.core.locks import hold
from pic2chart.core.messages import message

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

_WRITING = ".writing-"
_TEMPORARY = re.compile(re.escape(_WRITING) + r"[a-z0-9_]{8}")
"""What the temporary names come to; anything else that begins so is somebody's own."""
_OPEN_STAYS = os.name == "nt"
"""On Windows a file that is open can be neither renamed nor removed."""
_LONGEST_STEM = 180
"""Bytes: most file systems take names of 255, and the program puts endings behind a stem."""
_MOST_LETTERS = 90
"""Letters of a stem: Windows takes paths of 260 in which it may stand twice, in folder and file."""
_NO_SIGNS = frozenset('/\\:*?"<>|')
"""What no name on Windows may hold; charts are sent to others, so none has it anywhere."""
_DEVICES = frozenset(
    ("con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in "123456789¹²³"))
)
"""Names that mean devices on Windows, whatever ending follows."""
_LONG_PATH = 240
"""From so many signs on a path is given to Windows in the form that takes longer ones than 260."""
_MOVED_WITHIN = 1.0
"""Seconds in which a folder must let itself be moved on Windows."""
_SWEPT_AFTER = 3600.0
"""Seconds after which a temporary file is taken for a dead run's, where locks cannot say."""


def read_bytes(path: Path, limit: int, what: str) -> bytes:
    """Read a whole file of at most `limit` bytes; raises InputError naming `what` it should be."""
    try:
        with long_path(path).open("rb") as file:
            data = file.read(limit + 1)
    except (OSError, ValueError) as error:  # ValueError: no file can have such a name
        raise InputError(
            message("file-unreadable", what=what, path=str(path), why=reason(error))
        ) from error
    if len(data) > limit:
        raise InputError(
            message("file-too-large", what=what, path=str(path), megabytes=limit / 1000000.0)
        )
    return data


def read_text(path: Path, limit: int, what: str) -> str:
    """Read a UTF-8 text file of at most `limit` bytes (a byte-order mark is dropped)."""
    try:
        return read_bytes(path, limit, what).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            message("file-not-utf8", what=what, path=str(path), byte=error.start)
        ) from error


def write_atomic(path: Path, data: bytes | str) -> None:
    """Write a file so that nobody ever sees half of it: temporary file, fsync, rename.

    Raises OutputError, and removes the temporary file, when the disk or the folder refuses.
    """
    write_all({path: data})


def write_all(contents: Mapping[Path, bytes | str]) -> None:
    """Write several files, none before all of them lie safely on the disk under temporary names.

    Raises OutputError, and removes the temporary files, when the disk or a folder refuses. Temporary
    files of runs that were killed are removed as well.
    """
    for path in contents:  # or only the rename would find it, when others are in place already
        if os.path.isdir(path):
            raise OutputError(message("target-is-folder", path=str(path)))
    contents = {long_path(path): data for path, data in contents.items()}
    for folder in {path.parent: None for path in contents}:
        _sweep(folder)
    with contextlib.ExitStack() as held:
        waiting = []
        for path, data in contents.items():
            with _explained(path):
                waiting.append((held.enter_context(_temporary(path, data)), path))
        for temporary, path in waiting:
            with _explained(path):
                os.replace(temporary, path)


@contextlib.contextmanager
def _temporary(path: Path, data: bytes | str) -> Iterator[str]:
    """The data safely on the disk, under a name that is gone afterwards.

    As long as it is there it is locked, so that others can tell it from what a killed run left.
    """
    file, temporary = _new_locked(path.parent)
    try:
        with file:
            file.write(data.encode("utf-8") if isinstance(data, str) else data)
            file.flush()
            sync(file.fileno())
            os.chmod(temporary, 0o666 & ~_umask())
            if _OPEN_STAYS:
                file.close()
            yield temporary
    finally:
        with contextlib.suppress(OSError):  # it has its own name by now
            os.unlink(temporary)


def _new_locked(folder: Path) -> tuple[BinaryIO, str]:
    while True:
        handle, name = tempfile.mkstemp(prefix=_WRITING, dir=folder)
        file = os.fdopen(handle, "wb")
        if not _OPEN_STAYS:
            try:
                hold(file)
            except BlockingIOError:  # it is being swept away
                file.close()
                continue
            except OSError:  # no locks here: then nobody sweeps either
                pass
        if os.path.exists(name):  # else it was swept away before the lock was taken
            return file, name
        file.close()


def _sweep(folder: Path) -> None:
    """Remove temporary files that nobody holds: a run that was killed left them.

    On Windows they cannot be held until they are renamed: old ones go that nobody has open.
    """
    with contextlib.suppress(OSError):
        stale = [entry for entry in os.scandir(folder) if _TEMPORARY.fullmatch(entry.name)]
        for entry in stale:
            with contextlib.suppress(OSError):
                if not _OPEN_STAYS:
                    with open(entry.path, "rb") as file:
                        hold(file)  # refused while it is written
                        os.unlink(entry.path)
                elif time.time() - entry.stat().st_mtime > _SWEPT_AFTER:
                    os.unlink(entry.path)


def sync(handle: int) -> None:
    """Wait until a file lies on the disk. On macOS fsync(2) stops at the drive's own memory."""
    full = getattr(fcntl, "F_FULLFSYNC", None)
    if full is not None:
        with contextlib.suppress(OSError):  # a share may not know it
            fcntl.fcntl(handle, full)
            return
    os.fsync(handle)


def long_path(path: Path) -> Path:
    """The path as Windows takes it when it is longer than 260 signs; elsewhere as it is."""
    return Path(_extended(str(path.absolute()))) if _OPEN_STAYS else path


def _extended(whole: str) -> str:
    """A whole path of Windows in its long form where it needs that; a share's has one of its own."""
    if len(whole) < _LONG_PATH or whole.startswith("\\\\?\\"):
        return whole
    return "\\\\?\\UNC" + whole[1:] if whole.startswith("\\\\") else "\\\\?\\" + whole


def move_folder(folder: Path, to: Path) -> None:
    """Give a folder another place on its disk. Raises OutputError, and leaves it where it is.

    On Windows a folder stays while a file in it is open anywhere, as for a search's index: it is tried for
    a moment.
    """
    until = time.monotonic() + _MOVED_WITHIN
    while True:
        try:
            os.rename(long_path(folder), long_path(to))
            return
        except OSError as error:
            if not _OPEN_STAYS or time.monotonic() > until:
                why = reason(error)
                raise OutputError(message("folder-not-moved", path=str(folder), why=why)) from error
            time.sleep(_MOVED_WITHIN / 20)


@contextlib.contextmanager
def _explained(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OutputError(message("file-not-written", path=str(path), why=reason(error))) from error


def plain_name(path: Path) -> str:
    """The file's name as text that can be kept and printed, also when it is no UTF-8."""
    text = os.fsencode(path.name).decode("utf-8", "backslashreplace")
    return "".join(c if c.isprintable() else "_" for c in text)


def file_stem(name: str) -> str:
    """A name for files, of a picture or title, that every system takes: endings still fit behind it.

    What had to be shortened or changed gets a few signs of its hash, so that it stays unlike others.
    """
    plain = "".join(c if c.isprintable() and c not in _NO_SIGNS else "_" for c in name)
    cut = plain.lstrip("-. ")[:_MOST_LETTERS].encode()[:_LONGEST_STEM]
    short = cut.decode("utf-8", "ignore").rstrip(". ") or "untitled"
    if is_device(short):
        short = f"_{short}"
    if short == name:
        return short
    return f"{short}-{sha256(os.fsencode(name)).hexdigest()[:8]}"


def is_device(name: str) -> bool:
    """Whether Windows takes a file of that name for a device, such as nul or con.txt."""
    return name.partition(".")[0].rstrip(" ").casefold() in _DEVICES


def refuse_over(source: Path, targets: Iterable[Path]) -> None:
    """Raise OutputError when writing one of `targets` would replace the file that was read."""
    for target in targets:
        if os.path.exists(target) and os.path.samefile(source, target):
            raise OutputError(message("would-replace-source", path=str(target), options=("out",)))


def make_folder(path: Path, *, own: bool = False) -> Path:
    """Create the folder and its parents; raises OutputError when that is not allowed.

    `own`: for the eyes of its owner alone, where it is new; Windows has no umask (Python from 3.12.4
    on heeds this there).
    """
    try:
        long_path(path).mkdir(0o700 if own else 0o777, parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(message("folder-not-made", path=str(path), why=reason(error))) from error
    return path


@contextlib.contextmanager
def folder_made(path: Path) -> Iterator[None]:
    """Make the folder and its parents; those that are new go again when the work inside fails."""
    new = [folder for folder in (path, *path.parents) if not os.path.exists(folder)]
    make_folder(path)
    try:
        yield
    except BaseException:
        for folder in new:
            with contextlib.suppress(OSError):  # someone else has put something there
                folder.rmdir()
        raise


def refuse_unwritable(folder: Path) -> None:
    """Raise OutputError when files cannot be written to `folder`, which need not exist yet.

    For use before long work; nothing is made. A disk may still fill up later.
    """
    there = folder.absolute()
    while not os.path.exists(there) and there != there.parent:  # False where one may not look
        there = there.parent
    if not os.path.isdir(there):
        raise OutputError(message("not-a-folder", there=str(there), folder=str(folder)))
    if not os.access(there, os.W_OK | os.X_OK):
        raise OutputError(message("folder-not-writable", folder=str(there)))


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask


def write_folder(
    files: Mapping[str, bytes | str], out: Path, source: Path | None = None
) -> list[Path]:
    """Write files by name into a folder that is made if need be, and folders in it, all or none.

    Raises OutputError, also when one of them would replace `source`, the file that was read.
    """
    contents = {out / name: data for name, data in files.items()}
    if source is not None:
        refuse_over(source, contents)
    with contextlib.ExitStack() as made:
        for folder in sorted({out, *(path.parent for path in contents)}):
            made.enter_context(folder_made(folder))
        write_all(contents)
    return list(contents)
