"""What a run has to do: which files are new, changed, gone, or broken before they began."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256 as sha256_hash
from typing import NamedTuple

from pic2chart.core.errors import Pic2ChartError
from pic2chart.library.catalogue import Catalogue, KeptMotif
from pic2chart.library.depot import Depot
from pic2chart.library.motif import Broken, Task, hash_of
from pic2chart.library.recipe import Order, Recipe
from pic2chart.library.scan import Found, Stamp

Size = tuple[str, int]
"""A path, and a place among the sizes of its picture."""


@dataclass(frozen=True, slots=True)
class RunPlan:
    """What is to be done: tasks, files broken before they began, motifs to drop, notes of broken
    files to drop. `stamps`: of all files, by path; `seen`: what the catalogue remembered of them."""

    tasks: tuple[Task, ...]
    broken: tuple[Broken, ...]
    gone: tuple[Size, ...]
    mended: tuple[str, ...]
    stamps: dict[str, Stamp]
    seen: dict[str, tuple[str, Stamp]]
    lost: frozenset[str]
    """Pictures of motifs that are gone from the folder."""
    moved: frozenset[str]
    """Where pictures of motifs lay that lie elsewhere in the folder now."""


class _Part(NamedTuple):
    """One size of a picture, and what is to be made of it; `across`: its stitches, None when there is
    but one size."""

    size: int
    across: int | None
    order: Order
    digest: str


@dataclass(slots=True)
class _Before:
    """What the catalogue knows, and the folders that hold what it says (looked into but once)."""

    kept: dict[Size, KeptMotif]
    broken: dict[str, tuple[str, str, str]]
    seen: dict[str, tuple[str, Stamp]]
    depot: Depot

    def hash_now(self, file: Found) -> str:
        """Of the contents now; files with the stamp they had are not read again."""
        sha256, stamp = self.seen.get(file.path, ("", None))
        if stamp == file.stamp:
            return sha256
        try:
            return hash_of(file.file)
        except OSError:  # told when its motif is made
            return ""

    def done_with(self, path: str, name: str, part: _Part) -> set[str]:
        """The contents' hashes of which all that is asked for was made or found broken already."""
        done = set()
        if path in self.broken and self.broken[path][1] == part.digest:
            done.add(self.broken[path][0])
        kept = self.kept.get((path, part.size))
        if kept is not None and kept.digest == part.digest and kept.name == name:
            done |= {kept.sha256} if self.depot.there(kept.place, kept.files) else set()
        return done


def plan_run(
    found: tuple[Found, ...], recipe: Recipe, catalogue: Catalogue, depot: Depot, *, again: bool
) -> RunPlan:
    """Compare the files of the folder with the catalogue, and with what is in its depot."""
    before = _Before(catalogue.kept(), catalogue.broken(), catalogue.seen(), depot)
    parts_of = _Parts(recipe, found)
    tasks: list[Task] = []
    faults: list[Broken] = []
    mended: list[str] = []
    wanted: set[Size] = set()
    for file in found:
        try:
            parts = parts_of.file(file)
        except Pic2ChartError as error:
            faults.append(Broken(file.path, "", "", str(error)))
            wanted.update(size for size in before.kept if size[0] == file.path)
            continue
        now: str | None = None
        for part in parts:
            wanted.add((file.path, part.size))
            name = parts_of.name(file, part)
            done = before.done_with(file.path, name, part)
            if done and now is None:
                now = before.hash_now(file)
            if again or now not in done:
                task = Task(file.path, file.file, name, part.order, part.digest, None, part.size)
                tasks.append(task)
            else:
                seen_broken = before.broken.get(file.path, ("",))[0]
                if seen_broken and seen_broken != now:
                    mended.append(file.path)
    stamps = {file.path: file.stamp for file in found}
    gone = before.kept.keys() - wanted
    lost = {path for path, _ in gone} - stamps.keys()
    moved = _moved(found, before, lost)
    return RunPlan(
        tuple(tasks),
        tuple(faults),
        tuple(sorted(gone)),
        tuple(sorted({*mended, *(before.broken.keys() - stamps.keys())})),
        stamps,
        before.seen,
        frozenset(lost - moved),
        frozenset(moved),
    )


def _moved(found: tuple[Found, ...], before: _Before, lost: set[str]) -> set[str]:
    """Of the paths that are gone those whose contents lie at a new path now. New files are read only
    where something is gone, and only those as long as what is gone, if that is known."""
    if not lost:
        return set()
    known = {path: kept.sha256 for (path, _), kept in before.kept.items()}
    lengths = {before.seen[path][1][0] for path in lost if path in before.seen}
    unsure = any(path not in before.seen for path in lost)
    new = (file for file in found if file.path not in known)
    there = Counter(before.hash_now(f) for f in new if unsure or f.stamp[0] in lengths)
    moved = set()
    for path in sorted(lost):
        if there[known[path]]:
            there[known[path]] -= 1
            moved.add(path)
    return moved


class _Parts:
    """The parts of each file by the recipe; what it says of many alike is worked out once."""

    def __init__(self, recipe: Recipe, found: tuple[Found, ...]) -> None:
        self._recipe, self._found = recipe, found
        self._known: dict[tuple[int, bool], tuple[_Part, ...]] = {}

    def file(self, file: Found) -> tuple[_Part, ...]:
        """A part for each size. Raises Pic2ChartError."""
        order = self._recipe.order(file.path, file.side)
        several = len(order.sizes) > 1 and not _is_chart(file, order)
        if file.side is not None:  # its order is its own, and not kept
            return self._each(order, several)
        key = id(order), several
        if key not in self._known:
            self._known[key] = self._each(order, several)
        return self._known[key]

    def _each(self, order: Order, several: bool) -> tuple[_Part, ...]:
        digest = self._recipe.digest
        if not several:
            return (_Part(0, None, order.alone(), digest(order.alone())),)
        orders = [order.of_size(at) for at in range(len(order.sizes))]
        sizes = zip(order.sizes, orders, strict=True)
        return tuple(_Part(at, n, own, digest(own)) for at, (n, own) in enumerate(sizes))

    def name(self, file: Found, part: _Part) -> str:
        """The name of the motif, unlike that of any other picture's."""
        if part.across is None:
            return file.name
        name = f"{file.name}-{part.across}"
        if name.casefold() in self._names:
            name += f"-{sha256_hash(file.path.encode()).hexdigest()[:8]}"
        return name

    @cached_property
    def _names(self) -> set[str]:
        return {file.name.casefold() for file in self._found}


def _is_chart(file: Found, order: Order) -> bool:
    """Whether a file is a finished chart, which has the size it has."""
    from pic2chart.library.motif_making import is_chart

    return is_chart(Task(file.path, file.file, file.name, order, "", None))
