"""What the folder holds: every picture and chart, in a steady order, each with a name of its own."""

from __future__ import annotations

import hashlib
import os
import re
import unicodedata
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from operator import attrgetter
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
_WORDS = re.compile(r"[^\W_]+")
_LONGEST = 80
"""Bytes of a motif's name: endings fit behind it on any file system."""

SourceFile = Path | StoredFile
"""A file of this machine, or at a store."""
Location = str | StoredFile
"""Where a file lies; a path is made of the text only where it is needed, since most need none."""
Stamp = tuple[int, int, int]
"""Size in bytes, times of change of contents and of the file's entry, both in nanoseconds."""


@dataclass(frozen=True, slots=True)
class Found:
    """One file of the folder. `path`: within the folder, '/' between, as text that always prints.

    `at`: where it lies, a path of this machine as text. `name`: of its motif, unlike any other's, good
    as a file name anywhere. `side`: its own options, None when there are none.
    """

    path: str
    at: Location
    name: str
    stamp: Stamp
    side: SourceFile | None

    @property
    def file(self) -> SourceFile:
        """The file, of this machine by its whole path."""
        return _file(self.at).absolute()


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
    files: dict[str, tuple[Location, Stamp]]
    if isinstance(folder, str):
        files = {file.path: (file, stamp) for file, stamp in listed(folder)}
    else:
        if not folder.is_dir():
            raise InputError(message("no-folder-of-pictures", folder=str(folder)))
        files = {path: (at, stamp) for path, at, stamp in _files(str(folder), "", leave_out)}
    stems = {path: _stem(path) for path in sorted(files) if _wanted(path, files)}
    names = _names(stems)
    found = tuple(
        Found(path, files[path][0], names[path], files[path][1], _side(stem, files))
        for path, stem in stems.items()
    )
    sides = {f"{stem}{SIDE_FILE}" for stem in stems.values()}
    rest = sorted(files.keys() - stems.keys() - sides)
    lonely = tuple(path for path in rest if path.lower().endswith(SIDE_FILE))
    return Listing(found, tuple(path for path in rest if _strange(path, files)), lonely)


def _file(at: Location) -> SourceFile:
    return Path(at) if isinstance(at, str) else at


def _strange(path: str, files: Mapping[str, object]) -> bool:
    """Whether a file that is not taken is no side file, no shelf, and none that goes with a chart file."""
    if path.lower().endswith((*PICTURES, *CHARTS, SIDE_FILE)):
        return False
    folder, slash, name = path.rpartition("/")
    ends = (i for i, sign in enumerate(name) if sign in ".-")
    begins = [f"{folder}{slash}{name[:end]}" for end in ends]
    return not any(begin + ending in files for begin in begins for ending in _OWN_FILES)


def _files(
    folder: str, within: str, leave_out: frozenset[Path]
) -> Iterator[tuple[str, str, Stamp]]:
    """Of every file: its path `within` the whole, as text that prints; where it lies; its stamp."""
    names = {os.path.normcase(path.name) for path in leave_out}
    try:
        with os.scandir(folder) as entries:
            listed = sorted(entries, key=attrgetter("name"))
        made = any(entry.name.endswith(CHART_FILE) for entry in listed)
        for entry in listed:
            if made and entry.name == PARTS:  # drawings of the charts beside it
                continue
            if entry.name.startswith("."):
                continue
            if os.path.normcase(entry.name) in names and Path(entry.path).absolute() in leave_out:
                continue
            path = f"{within}{_printed(entry.name)}"
            if entry.is_dir(follow_symlinks=False):
                yield from _files(entry.path, f"{path}/", leave_out)
            elif (facts := _facts(entry)) is not None:
                yield path, entry.path, (facts.st_size, facts.st_mtime_ns, facts.st_ctime_ns)
    except OSError as error:
        raise InputError(message("folder-unreadable", folder=folder, why=reason(error))) from error


def _facts(entry: os.DirEntry[str]) -> os.stat_result | None:
    """Of a file, or of the one a link leads to; None for what is neither, or a link that leads nowhere."""
    try:
        return entry.stat() if entry.is_file() else None
    except OSError:
        if entry.is_symlink():  # round in a circle, or through a folder that may not be read
            return None
        raise


def _printed(name: str) -> str:
    if name.isascii():
        return name
    return os.fsencode(name).decode("utf-8", "backslashreplace")


def _wanted(path: str, files: Mapping[str, tuple[Location, Stamp]]) -> bool:
    """Whether a file is a picture or a chart."""
    lower = path.lower()
    if not lower.endswith(PICTURES + CHARTS):
        return False
    for ending in COMPANIONS:
        if path.endswith(ending) and path.removesuffix(ending) + CHART_FILE in files:
            return False
    return not (lower.endswith(".csv") and _is_shelf(_file(files[path][0])))


def _is_shelf(file: SourceFile) -> bool:
    """Whether a table is a shelf of yarns, by its headings; it may lie among the pictures."""
    try:
        with file.open("rb") as opened:
            return begins_as_shelf(opened.read(_BEGINNING))
    except OSError:  # reported when it is read as a chart
        return False


def _side(stem: str, files: Mapping[str, tuple[Location, Stamp]]) -> SourceFile | None:
    pair = files.get(f"{stem}{SIDE_FILE}")
    return None if pair is None else _file(pair[0])


def _stem(path: str) -> str:
    ending = CHART_FILE if path.lower().endswith(CHART_FILE) else os.path.splitext(path)[1]
    return path[: len(path) - len(ending)]


def _names(stems: Mapping[str, str]) -> dict[str, str]:
    """A name for each path: its words, and a few signs of its hash where these are too long or not its own."""
    plain = {path: _slug(stem) for path, stem in stems.items()}
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
    words = _WORDS.findall(unicodedata.normalize("NFC", text))  # letters and accents become one
    return "-".join(words)[: 4 * _LONGEST] or "motif"
