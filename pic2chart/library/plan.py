"""What is to be done: which files are new, changed, broken before they began, or gone."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pic2chart.errors import Pic2ChartError
from pic2chart.library.catalogue import Catalogue
from pic2chart.library.motif import Broken, Task, sha256_of
from pic2chart.library.publish import MOTIFS, STAGING
from pic2chart.library.recipe import Recipe
from pic2chart.library.scan import Found, Stamp


@dataclass(frozen=True, slots=True)
class Plan:
    """What is to be done: tasks, files broken before they began, paths to drop, and known stamps."""

    tasks: tuple[Task, ...]
    broken: tuple[Broken, ...]
    gone: tuple[str, ...]
    stamps: dict[str, Stamp]
    unchanged: dict[str, str]


def plan_run(
    found: tuple[Found, ...], recipe: Recipe, catalogue: Catalogue, out: Path, *, again: bool
) -> Plan:
    """Compare the files of the folder with the catalogue of the library at `out`, a whole path."""
    staging = out / STAGING
    kept, broken, seen = catalogue.kept(), catalogue.broken(), catalogue.seen()
    tasks, faults = [], []
    unchanged: dict[str, str] = {}
    for file in found:
        try:
            order = recipe.order(file.path, file.side)
            digest = recipe.digest(order)
        except Pic2ChartError as error:
            faults.append(Broken(file.path, "", "", str(error)))
            continue
        task = Task(file.path, file.file.absolute(), file.name, order, digest, staging)
        before = _before(file, digest, kept, broken, out)
        if again or not before or before != _contents(file, seen):
            tasks.append(task)
        else:
            unchanged[file.path] = before
    paths = {file.path for file in found}
    gone = tuple(sorted((kept.keys() | broken.keys()) - paths))
    stamps = {file.path: file.stamp for file in found}
    return Plan(tuple(tasks), tuple(faults), gone, stamps, unchanged)


def _before(
    file: Found,
    digest: str,
    kept: dict[str, tuple[str, str, str, tuple[str, ...]]],
    broken: dict[str, tuple[str, str, str]],
    out: Path,
) -> str:
    """The contents' hash from which all that is asked for was made already, or ''."""
    if file.path in broken:
        sha256, then, _ = broken[file.path]
        return sha256 if then == digest else ""
    name, sha256, then, files = kept.get(file.path, ("", "", "", ()))
    if then != digest or name != file.name:
        return ""
    place = out / MOTIFS / name
    return sha256 if all((place / each).is_file() for each in files) else ""


def _contents(file: Found, seen: dict[str, tuple[str, Stamp]]) -> str:
    """The hash of the contents now; files with the stamp they had are not read again."""
    sha256, stamp = seen.get(file.path, ("", None))
    return sha256 if stamp == file.stamp else sha256_of(file.file)
