"""One motif of a library as it goes from the folder into the catalogue."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from pic2chart.core.files import sync
from pic2chart.library.recipe import Order
from pic2chart.library.rights import Rights
from pic2chart.library.stores import StoredFile

if TYPE_CHECKING:
    from pic2chart.checks.report import YarnUse


@dataclass(frozen=True, slots=True)
class Task:
    """A file to make a motif of. `path`: within the folder. `digest`: the order's. `staging`: a
    folder for what is made, on the same disk as the library; None: it is given back in memory.
    `size`: its place among the sizes of its picture, from 0.

    `at_hand`: options that name a file, and where that file lies on the machine that does the work.
    """

    path: str
    file: Path | StoredFile
    name: str
    order: Order
    digest: str
    staging: Path | None
    size: int = 0
    at_hand: Mapping[str, str] = field(default_factory=dict)

    @property
    def here(self) -> Path:
        """The file, which is on this machine. Raises TypeError when it is not."""
        if not isinstance(self.file, Path):
            raise TypeError(f"{self.file} is not on this machine")
        return self.file


@dataclass(frozen=True, slots=True)
class MotifRecord:
    """What the catalogue knows of one motif; lengths of floats in stitches.

    `path`: of the picture or chart in the folder; `sha256`: of its contents; `digest`: of what was
    asked for. `size`: its place among the sizes of that picture. `files`: of the motif, within its own
    folder, which `place` names within the library. `contrast`: the least difference in L* between
    two yarns that share a round, None where none do; `ratio`: WCAG 2.2 contrast of that pair.
    `likeness`: 0–1, None when a finished chart was taken in. `said`: words of its findings, gravest
    first. `pixels`: a PNG of one pixel a stitch. `parts`: of the difficulty, in the order of PARTS.
    `proposed`: why it had better be held back, '' when nothing speaks against it. `number`: its
    picture's for good, 0 until it has one; `state`: one of STATES; `why`: the reason given for it.
    """

    name: str
    path: str
    size: int
    place: str
    sha256: str
    digest: str
    title: str
    kind: str
    files: tuple[str, ...]
    tags: tuple[str, ...]
    worked: str
    hand: str
    gauge: str
    stitches: int
    rounds: int
    width_cm: float
    height_cm: float
    repeat_kind: str
    repeat_stitches: int
    repeat_rounds: int
    mirrored: bool
    agreement: float
    colours_per_round: int
    longest_float: int
    longest_uncaught: int
    float_limit: int
    catches: int
    isolated: int
    ends: int
    contrast: float | None
    ratio: float | None
    likeness: float | None
    difficulty: float
    errors: int
    warnings: int
    notes: int
    said: tuple[str, ...]
    pixels: bytes
    parts: tuple[float, ...] = ()
    rights: Rights = field(default_factory=Rights)
    proposed: str = ""
    yarns: tuple[YarnUse, ...] = field(default=())
    number: int = 0
    state: str = "new"
    why: str = ""


@dataclass(frozen=True, slots=True)
class Done:
    """A motif that was made, whose files lie finished in `folder`, or in memory when that is None."""

    motif: MotifRecord
    folder: Path | None
    files: Mapping[str, bytes | str] = field(default_factory=dict)

    @property
    def path(self) -> str:
        return self.motif.path

    @property
    def size(self) -> int:
        return self.motif.size


@dataclass(frozen=True, slots=True)
class Broken:
    """A file of the folder whose contents cannot be used, and why: trying again would not help.

    `sha256`: of its contents; `digest`: of what was asked for; both empty when the options are wrong.
    """

    path: str
    digest: str
    sha256: str
    message: str
    size: int = 0


@dataclass(frozen=True, slots=True)
class Missed:
    """A file of which nothing was made this time, and why: it could not be read, or the process
    ended. That says nothing of the picture, so its motif stays as it is and the next run tries again.

    `unread`: whether trying at once in another place may help.
    """

    path: str
    message: str
    size: int = 0
    unread: bool = False


Result: TypeAlias = "Done | Broken | Missed"


STATES = ("new", "approved", "held", "withdrawn")
"""What may be decided about a motif; the last two are not published."""


def place_of(name: str) -> str:
    """The folder of a motif within the library: split by hash, so that no folder grows too long."""
    return f"motifs/{hashlib.sha256(name.encode()).hexdigest()[:2]}/{name}"


def sync_folder(folder: Path) -> None:
    """Wait until the folder's own entries, new and gone, lie on the disk (Windows opens no folders)."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        sync(handle)
    finally:
        os.close(handle)


def repeat_words(motif: MotifRecord) -> str:
    """'no repeat', 'repeat 12 × 8', 'half-drop repeat 12 × 8, mirrored'."""
    if motif.repeat_kind == "once":
        return "no repeat"
    drop = "half-drop " if motif.repeat_kind == "half-drop" else ""
    return f"{drop}repeat {motif.repeat_stitches} × {motif.repeat_rounds}" + (
        ", mirrored" if motif.mirrored else ""
    )


def hash_of(file: Path | StoredFile) -> str:
    """SHA-256 of the file's contents. Raises OSError when they cannot be read."""
    data: Any
    with file.open("rb") as data:
        return hashlib.file_digest(data, "sha256").hexdigest()
