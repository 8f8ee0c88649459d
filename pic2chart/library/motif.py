"""A motif as it goes from the folder into the catalogue: what is to be made, and what was made of it."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from pic2chart.library.recipe import Order

if TYPE_CHECKING:
    from pic2chart.report import YarnUse


@dataclass(frozen=True, slots=True)
class Task:
    """A file to make a motif of. `path`: within the folder. `digest`: the order's. `staging`: a
    folder for what is made, on the same disk as the library."""

    path: str
    file: Path
    name: str
    order: Order
    digest: str
    staging: Path


@dataclass(frozen=True, slots=True)
class Motif:
    """What the catalogue knows of one motif; lengths of floats in stitches.

    `path`: of the picture or chart in the folder; `sha256`: of its contents; `digest`: of what was
    asked for. `files`: of the motif, within its own folder. `contrast`: the least difference in L* between
    two yarns that share a round, None where none do; `ratio`: WCAG 2.2 contrast of that pair.
    `likeness`: 0–1, None when a finished chart was taken in. `said`: words of its findings, gravest
    first. `pixels`: a PNG of one pixel a stitch. `number`: its place by name, from 1.
    """

    name: str
    path: str
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
    yarns: tuple[YarnUse, ...] = field(default=())
    number: int = 0


@dataclass(frozen=True, slots=True)
class Done:
    """A motif that was made, whose files lie finished in `folder`."""

    motif: Motif
    folder: Path

    @property
    def path(self) -> str:
        return self.motif.path


@dataclass(frozen=True, slots=True)
class Broken:
    """A file of the folder that cannot be used, and why.

    `sha256`: of its contents, empty when these cannot be read; `digest`: of what was asked for.
    """

    path: str
    digest: str
    sha256: str
    message: str


def sync_folder(folder: Path) -> None:
    """Wait until the folder's own entries, new and gone, lie on the disk (Windows opens no folders)."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def repeat_words(motif: Motif) -> str:
    """'no repeat', 'repeat 12 × 8', 'half-drop repeat 12 × 8, mirrored'."""
    if motif.repeat_kind == "once":
        return "no repeat"
    drop = "half-drop " if motif.repeat_kind == "half-drop" else ""
    return f"{drop}repeat {motif.repeat_stitches} × {motif.repeat_rounds}" + (
        ", mirrored" if motif.mirrored else ""
    )


def sha256_of(file: Path) -> str:
    """Of the file's contents; empty when it cannot be read."""
    try:
        with file.open("rb") as data:
            return hashlib.file_digest(data, "sha256").hexdigest()
    except OSError:
        return ""
