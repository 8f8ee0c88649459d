"""One motif of a library: its task, what was made of it, and how demanding it is to knit."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from pic2chart.checks.report import Report
from pic2chart.library.recipe import Order
from pic2chart.model.chart import Chart
from pic2chart.model.measure import Live

if TYPE_CHECKING:
    from pic2chart.checks.report import YarnUse


# A motif as it goes from the folder into the catalogue: what is to be made, and what was made of it.


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
class MotifRecord:
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

    motif: MotifRecord
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


def repeat_words(motif: MotifRecord) -> str:
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


# How demanding a motif is to knit, from 1 to 10, by a plain formula that anyone can follow.
#
#     difficulty = 1 + Σ weight · min(1, amount / full)
#
# | what is counted | full at | weight |
# |---|---|---|
# | changes of yarn along the rounds, for each stitch | 0.5 | 3 |
# | catches for each 100 stitches | 6 | 2 |
# | share of rounds with three yarns or more | 1 | 2 |
# | yarns beyond two | 4 | 1 |
# | ends to weave in for each 10 rounds | 4 | 0.5 |
# | isolated stitches for each 100 | 5 | 0.5 |
#
# The order of the weights is common practice (many changes and many catches slow every round; three
# yarns in a round are slow and thick); the numbers are the project's own and no study stands behind
# them. They rank the motifs of a library against one another, no more.

WEIGHTS = {
    "changes of yarn": (0.5, 3.0, "one for every second stitch"),
    "catches": (6.0, 2.0, "6 in 100 stitches"),
    "rounds of three yarns": (1.0, 2.0, "every round"),
    "yarns beyond two": (4.0, 1.0, "4"),
    "ends": (4.0, 0.5, "4 in 10 rounds"),
    "isolated stitches": (5.0, 0.5, "5 in 100 stitches"),
}
"""What is counted: the amount at which it counts in full, its weight, and that amount in words."""
FORMULA = "1" + "".join(
    f" + up to {weight:g} for {name} (in full at {words})"
    for name, (_, weight, words) in WEIGHTS.items()
)
"""In words, for those who read a library."""
GRADES = ((3.0, "easy"), (5.0, "steady"), (7.0, "demanding"), (11.0, "hard"))
"""Words for a difficulty below each bound."""


def difficulty_of(chart: Chart, report: Report) -> float:
    """The difficulty, 1 to 10, to one digit."""
    amounts = {
        "changes of yarn": changes(chart) / report.live,
        "catches": 100 * report.catches / report.live,
        "rounds of three yarns": sum(report.rounds_with[2:]) / report.rounds,
        "yarns beyond two": max(0, sum(yarn.stitches > 0 for yarn in report.yarns) - 2),
        "ends": 10 * report.ends / report.rounds,
        "isolated stitches": 100 * report.isolated / report.live,
    }
    parts = (w * min(1.0, amounts[name] / full) for name, (full, w, _) in WEIGHTS.items())
    return round(1.0 + sum(parts), 1)


def grade(difficulty: float) -> str:
    """'easy', 'steady', 'demanding' or 'hard'."""
    return next(word for bound, word in GRADES if difficulty < bound)


def changes(chart: Chart) -> int:
    """Times the next live stitch of a round has another yarn, round the join when in the round."""
    live = Live.of(chart.stitches)
    same_round = live.round[1:] == live.round[:-1]
    count = int((same_round & (live.yarn[1:] != live.yarn[:-1])).sum())
    if chart.in_round:
        first = np.flatnonzero(np.r_[True, ~same_round])
        last = np.r_[first[1:], len(live.round)] - 1
        count += int((live.yarn[first] != live.yarn[last]).sum())
    return count
