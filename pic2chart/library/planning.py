"""What a run has to do: which files are new, changed, gone, or broken before they began."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from hashlib import sha256 as sha256_hash

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
    files to drop, and known stamps. `unchanged`: the hash of contents by path."""

    tasks: tuple[Task, ...]
    broken: tuple[Broken, ...]
    gone: tuple[Size, ...]
    mended: tuple[str, ...]
    stamps: dict[str, Stamp]
    unchanged: dict[str, str]
    lost: int
    """Pictures of motifs that are gone from the folder."""


@dataclass(slots=True)
class _Before:
    """What the catalogue knows, and the folders that hold what it says (looked into but once)."""

    kept: dict[Size, KeptMotif]
    broken: dict[str, tuple[str, str, str]]
    seen: dict[str, tuple[str, Stamp]]
    depot: Depot
    names: set[str] = field(default_factory=set)

    def hash_now(self, file: Found) -> str:
        """Of the contents now; files with the stamp they had are not read again."""
        sha256, stamp = self.seen.get(file.path, ("", None))
        if stamp == file.stamp:
            return sha256
        try:
            return hash_of(file.file)
        except OSError:  # told when its motif is made
            return ""

    def done_with(self, path: str, size: int, digest: str, name: str) -> set[str]:
        """The contents' hashes of which all that is asked for was made or found broken already."""
        done = set()
        if path in self.broken and self.broken[path][1] == digest:
            done.add(self.broken[path][0])
        kept = self.kept.get((path, size))
        if kept is not None and kept.digest == digest and kept.name == name:
            done |= {kept.sha256} if self.depot.there(kept.place, kept.files) else set()
        return done


def plan_run(
    found: tuple[Found, ...], recipe: Recipe, catalogue: Catalogue, depot: Depot, *, again: bool
) -> RunPlan:
    """Compare the files of the folder with the catalogue, and with what is in its depot."""
    before = _Before(catalogue.kept(), catalogue.broken(), catalogue.seen(), depot)
    before.names = {file.name.casefold() for file in found}
    tasks: list[Task] = []
    faults: list[Broken] = []
    unchanged: dict[str, str] = {}
    mended: list[str] = []
    wanted: set[Size] = set()
    for file in found:
        try:
            order = recipe.order(file.path, file.side)
            parts = _parts(file, order, recipe, before)
        except Pic2ChartError as error:
            faults.append(Broken(file.path, "", "", str(error)))
            wanted.update(size for size in before.kept if size[0] == file.path)
            continue
        wanted.update((part.path, part.size) for part in parts)
        now: str | None = None
        for part in parts:
            done = before.done_with(part.path, part.size, part.digest, part.name)
            if done and now is None:
                now = before.hash_now(file)
            if again or now not in done:
                tasks.append(part)
            else:
                unchanged[file.path] = now
                seen_broken = before.broken.get(file.path, ("",))[0]
                if seen_broken and seen_broken != now:
                    mended.append(file.path)
    paths = {file.path for file in found}
    for task in tasks:
        unchanged.pop(task.path, None)
    return RunPlan(
        tuple(tasks),
        tuple(faults),
        tuple(sorted(before.kept.keys() - wanted)),
        tuple(sorted({*mended, *(before.broken.keys() - paths)})),
        {file.path: file.stamp for file in found},
        unchanged,
        len({path for path, _ in before.kept} - paths),
    )


def _parts(file: Found, order: Order, recipe: Recipe, before: _Before) -> Iterable[Task]:
    """A task for each size that is asked for."""
    task = Task(file.path, file.file.absolute(), file.name, order, "", None)
    sizes = order.sizes if len(order.sizes) > 1 and not _only_one_size(task) else (None,)
    tasks = []
    for at, stitches in enumerate(sizes):
        part = order.of_size(at) if stitches is not None else order.alone()
        name = file.name if stitches is None else _sized(file, stitches, before.names)
        made = replace(task, name=name, order=part, digest=recipe.digest(part), size=at)
        tasks.append(made)
    return tasks


def _only_one_size(task: Task) -> bool:
    """A finished chart has the size it has."""
    from pic2chart.library.motif_making import is_chart

    return is_chart(task)


def _sized(file: Found, stitches: int, names: set[str]) -> str:
    """The name of one size, unlike that of any other picture's motif."""
    name = f"{file.name}-{stitches}"
    if name.casefold() in names:
        name += f"-{sha256_hash(file.path.encode()).hexdigest()[:8]}"
    return name
