"""What the folder holds: every picture and chart, in a steady order, each with a name of its own."""

from __future__ import annotations

import hashlib
import os
import unicodedata
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pic2chart.core.errors import InputError, reason
from pic2chart.core.files import is_device
from pic2chart.core.messages import message
from pic2chart.library.stores import Address, StoredFile, listed
from pic2chart.sheets.thing_file import ENDING, PARTS
from pic2chart.yarns.shelf import begins_as_shelf

PICTURES = (
    ".jpg",
    ".jpeg",
    ".png",
    ".webp",
    ".tif",
    ".tiff",
    ".gif",
    ".bmp",
    ".heic",
    ".heif",
)
CHART_FILE = ".chart.json"
CHARTS = (CHART_FILE, ".csv")
SIDE_FILE = ".toml"
_OWN_FILES = (CHART_FILE, ENDING)
COMPANIONS = (".png", "-front.png")
"""Written beside NAME.chart.json by the commands; they show the same chart once more."""
_BEGINNING = 2000
_LONGEST = 80
"""Bytes of a motif's name: endings fit behind it on any file system."""

SourceFile = Path | StoredFile
"""A file of this machine, or at a store."""
Stamp = tuple[int, int, int]
"""Size in bytes, times of change of contents and of the file's entry, both in nanoseconds."""


@dataclass(frozen=True, slots=True)
class Found:
    """One file of the folder. `path`: within the folder, '/' between, as text that always prints.

    `name`: of its motif, unlike any other's, good as a file name anywhere. `side`: its own options.
    """

    path: str
    file: SourceFile
    name: str
    stamp: Stamp
    side: SourceFile | None


@dataclass(frozen=True, slots=True)
class Listing:
    """What a folder holds. `found`: every picture and chart, sorted by path. By path as well:
    `strange`: files that are neither, and belong to none; `lonely`: side files beside no picture."""

    found: tuple[Found, ...]
    strange: tuple[str, ...]
    lonely: tuple[str, ...]


def scan(folder: Address, leave_out: frozenset[Path]) -> Listing:
    """What the folder, or the address of a store, holds, and the folders in it.

    Left out: names that begin with a dot, links to folders, `leave_out` (whole paths, the library
    itself among them), shelves of yarns, and what a chart file or a garment has beside it. Raises
    InputError.
    """
    files: dict[str, tuple[SourceFile, Stamp]]
    if isinstance(folder, str):
        files = {file.path: (file, stamp) for file, stamp in listed(folder)}
    else:
        if not folder.is_dir():
            raise InputError(message("no-folder-of-pictures", folder=str(folder)))
        files = {_shown(file, folder): (file, stamp) for file, stamp in _files(folder, leave_out)}
    taken = {
        path: pair
        for path, pair in files.items()
        if _wanted(path, files) and not _is_shelf(pair[0])
    }
    names = _names(sorted(taken))
    found = tuple(
        Found(path, taken[path][0], names[path], taken[path][1], _side(path, files))
        for path in sorted(taken)
    )
    sides = {file.side for file in found}
    rest = sorted(path for path in files.keys() - taken.keys() if files[path][0] not in sides)
    lonely = tuple(path for path in rest if path.lower().endswith(SIDE_FILE))
    return Listing(found, tuple(path for path in rest if _strange(path, files)), lonely)


def _strange(path: str, files: dict[str, tuple[SourceFile, Stamp]]) -> bool:
    """Whether a file that is not taken is no side file, no shelf, and none that goes with a chart file."""
    if path.lower().endswith((*PICTURES, *CHARTS, SIDE_FILE)):
        return False
    folder, slash, name = path.rpartition("/")
    ends = (i for i, sign in enumerate(name) if sign in ".-")
    begins = [f"{folder}{slash}{name[:end]}" for end in ends]
    return not any(begin + ending in files for begin in begins for ending in _OWN_FILES)


def _files(folder: Path, leave_out: frozenset[Path]) -> Iterator[tuple[Path, Stamp]]:
    try:
        with os.scandir(folder) as entries:
            listed = sorted(entries, key=lambda entry: os.fsencode(entry.name))
        made = any(entry.name.endswith(CHART_FILE) for entry in listed)
        for entry in listed:
            path = Path(entry.path)
            if made and entry.name == PARTS:  # drawings of the charts beside it
                continue
            if entry.name.startswith(".") or path.absolute() in leave_out:
                continue
            if entry.is_dir(follow_symlinks=False):
                yield from _files(path, leave_out)
            elif (facts := _facts(entry)) is not None:
                yield path, (facts.st_size, facts.st_mtime_ns, facts.st_ctime_ns)
    except OSError as error:
        raise InputError(
            message("folder-unreadable", folder=str(folder), why=reason(error))
        ) from error


def _facts(entry: os.DirEntry[str]) -> os.stat_result | None:
    """Of a file, or of the one a link leads to; None for what is neither, or a link that leads nowhere."""
    try:
        return entry.stat() if entry.is_file() else None
    except OSError:
        if entry.is_symlink():  # round in a circle, or through a folder that may not be read
            return None
        raise


def _shown(file: Path, folder: Path) -> str:
    return os.fsencode(file.relative_to(folder).as_posix()).decode("utf-8", "backslashreplace")


def _wanted(path: str, files: dict[str, tuple[SourceFile, Stamp]]) -> bool:
    lower = path.lower()
    if not lower.endswith(PICTURES + CHARTS):
        return False
    return not any(
        path.endswith(ending) and path.removesuffix(ending) + CHART_FILE in files
        for ending in COMPANIONS
    )


def _is_shelf(file: SourceFile) -> bool:
    """Whether a table is a shelf of yarns, by its headings; it may lie among the pictures."""
    if file.suffix.lower() != ".csv":
        return False
    try:
        with file.open("rb") as opened:
            return begins_as_shelf(opened.read(_BEGINNING))
    except OSError:  # reported when it is read as a chart
        return False


def _side(path: str, files: dict[str, tuple[SourceFile, Stamp]]) -> SourceFile | None:
    pair = files.get(f"{_stem(path)}{SIDE_FILE}")
    return None if pair is None else pair[0]


def _stem(path: str) -> str:
    ending = CHART_FILE if path.lower().endswith(CHART_FILE) else os.path.splitext(path)[1]
    return path[: len(path) - len(ending)]


def _names(paths: list[str]) -> dict[str, str]:
    """A name for each path: its words, and a few signs of its hash where these are too long or not its own."""
    plain = {path: _slug(_stem(path)) for path in paths}
    count = Counter(map(_alike, plain.values()))
    return {
        path: name
        if count[_alike(name)] == 1 and len(name.encode()) <= _LONGEST and not is_device(name)
        else f"{_cut(name)}-{hashlib.sha256(path.encode()).hexdigest()[:8]}"
        for path, name in plain.items()
    }


def _alike(name: str) -> str:
    """The same for names that some file systems take for one."""
    return unicodedata.normalize("NFC", name.casefold())


def _cut(name: str) -> str:
    return name.encode()[:_LONGEST].decode("utf-8", "ignore").rstrip("-")


def _slug(text: str) -> str:
    """Letters and figures as they are, each stretch of anything else one hyphen."""
    whole = unicodedata.normalize("NFC", text)  # letters and accents apart become one
    words = "".join(c if c.isalnum() else " " for c in whole).split()
    return "-".join(words)[: 4 * _LONGEST] or "motif"
