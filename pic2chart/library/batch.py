"""A run of the library: what is new, making it, putting it in place, and writing the pages anew."""

from __future__ import annotations

import hashlib
import io
import json
import os
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pic2chart.core.errors import Pic2ChartError, SettingError
from pic2chart.core.files import make_folder, refuse_unwritable
from pic2chart.core.locks import held
from pic2chart.core.messages import Message, message
from pic2chart.core.settings import Settings
from pic2chart.library.catalogue import NAME, Catalogue, opened
from pic2chart.library.crew import FEW, Crew, alone, core_count, on_cores
from pic2chart.library.motif import FORMULA, Broken, Done, Task, sha256_of
from pic2chart.library.pages import LOOK, PAGES, PER_PAGE, write_pages
from pic2chart.library.publish import MOTIFS, STAGING, Publisher, publishing, remove_strays, sweep
from pic2chart.library.recipe import Recipe
from pic2chart.library.scan import Found, Listing, Stamp, scan

# What a run passes over without an error, and the one who asked for it should know.

_MOST = 5
"""Names listed one by one."""


def remarks_on(listing: Listing, recipe: Recipe) -> tuple[Message, ...]:
    """Files that are no pictures, side files beside no picture, and patterns that fit none."""
    return (*_strange(listing), *_lonely(listing), *_idle(listing, recipe))


def _strange(listing: Listing) -> Iterator[Message]:
    count = Counter(os.path.splitext(path)[1].lower() for path in listing.strange)
    kinds = tuple(
        message("so-many-of-a-kind", count=number, ending=ending)
        if ending
        else message("so-many-without-ending", count=number)
        for ending, number in sorted(count.items(), key=lambda kind: kind[0] or "without an ending")
    )
    if kinds:
        yield message("passed-over", kinds=kinds)


def _lonely(listing: Listing) -> Iterator[Message]:
    for path in listing.lonely[:_MOST]:
        yield message("side-file-alone", path=path)
    if len(listing.lonely) > _MOST:
        yield message("more-side-files-alone", count=len(listing.lonely) - _MOST)


def _idle(listing: Listing, recipe: Recipe) -> Iterator[Message]:
    for pattern in recipe.idle(file.path for file in listing.found):
        yield message("pattern-fits-nothing", pattern=pattern)


# What is to be done: which files are new, changed, broken before they began, or gone.


@dataclass(frozen=True, slots=True)
class RunPlan:
    """What is to be done: tasks, files broken before they began, paths to drop, and known stamps."""

    tasks: tuple[Task, ...]
    broken: tuple[Broken, ...]
    gone: tuple[str, ...]
    stamps: dict[str, Stamp]
    unchanged: dict[str, str]


def plan_run(
    found: tuple[Found, ...], recipe: Recipe, catalogue: Catalogue, out: Path, *, again: bool
) -> RunPlan:
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
    return RunPlan(tuple(tasks), tuple(faults), gone, stamps, unchanged)


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


Say = Callable[[str, float], None]
OnResult = Callable[[int, int, Done | Broken], None]
"""Called with each result: how many are done, of how many, and the result."""
LOCK = ".lock"
"""File in the library that a run holds."""
_FRESH_NS = 2_000_000_000
"""A file changed so shortly before the run is read again next time: it may change within one tick."""


@dataclass(frozen=True, slots=True)
class RunOptions:
    """Options of a run. `again`: make everything anew. `jobs`: processes, None for all cores.

    `cluster`: address of a dask.distributed scheduler that does the work instead. `per_page`:
    motifs on a page of the booklet.
    """

    folder: Path
    out: Path
    recipe: Recipe
    again: bool = False
    jobs: int | None = None
    cluster: str | None = None
    per_page: int = PER_PAGE

    @property
    def title(self) -> str:
        """The recipe's, or else the folder's name."""
        return self.recipe.title or self.folder.absolute().name


@dataclass(frozen=True, slots=True)
class Summary:
    """What a run came to. `faulty`: (path, what) of every motif with an error-level finding;
    `broken`: (path, why) of every file that cannot be used. `remarks`: what was passed over."""

    motifs: int
    made: int
    unchanged: int
    removed: int
    faulty: tuple[tuple[str, str], ...]
    broken: tuple[tuple[str, str], ...]
    remarks: tuple[Message, ...] = ()

    @property
    def good(self) -> bool:
        """Whether every file became a motif without an error-level finding."""
        return not self.broken and not self.faulty


def make_library(options: RunOptions, say: Say, on_result: OnResult) -> Summary:
    """Bring the library up to date with its folder.

    Raises InputError, SettingError and OutputError for what stops the whole run; whatever is wrong
    with one file is in the summary. Cut short at any point, the next run goes on from there.
    """
    refuse_unwritable(options.out)
    _refuse_foreign(options.out)
    began = time.time_ns()
    out = options.out.absolute()
    listing = scan(options.folder, options.recipe.files | {out})
    found = listing.found
    make_folder(out)
    taken = message("library-in-use", library=str(out))
    with held(out / LOCK, taken), opened(out) as catalogue:
        sweep(out)
        plan = plan_run(found, options.recipe, catalogue, out, again=options.again)
        _refuse_other_folder(options, found, catalogue)
        if plan.tasks:
            say("Trying the options", 0.0)
            _prepare(options.recipe, say)
            say("Making charts", 1.0)
        made = _work(options, plan, catalogue, on_result)
        _remember(plan, catalogue, began)
        _finish(options, catalogue, say)
        return _summary(catalogue, plan, made, remarks_on(listing, options.recipe))


def _refuse_foreign(out: Path) -> None:
    """A folder that holds something else must not be written into."""
    if not out.exists() or (out / NAME).exists():
        return
    if not out.is_dir() or any(not entry.name.startswith(".") for entry in out.iterdir()):
        raise SettingError(message("not-a-library", folder=str(out), options=("out",)))


def _refuse_other_folder(
    options: RunOptions, found: tuple[Found, ...], catalogue: Catalogue
) -> None:
    kept = catalogue.kept()
    if kept and not any(file.path in kept for file in found):
        raise SettingError(
            message(
                "library-of-another-folder",
                library=str(options.out),
                folder=str(options.folder),
                motifs=len(kept),
                options=("out",),
            )
        )


def _prepare(recipe: Recipe, say: Say) -> None:
    """Make one tiny chart: what is wrong with the options for all pictures shows at once, and the
    solver is compiled before many processes ask for it."""
    from PIL import Image

    from pic2chart.pipeline import make_chart

    plain: dict[str, Any] = dict.fromkeys(("crop", "background", "filler", "prove"))
    settings: Settings = recipe.order("").settings
    plain |= dict.fromkeys(("focus", "keep", "leave"), ())
    small = replace(settings, stitches=12, rounds=12, subject="none", **plain)
    square = Image.linear_gradient("L").resize((24, 24))
    data = io.BytesIO()
    square.save(data, "PNG")
    with tempfile.TemporaryDirectory() as folder:
        picture = Path(folder, "gradient.png")
        picture.write_bytes(data.getvalue())
        make_chart(picture, small, lambda step, share: _only_once(say, step, share))


def _only_once(say: Say, step: str, share: float) -> None:
    """Pass on what is prepared for this machine; the steps of the tiny chart are of no interest."""
    if step.startswith("Preparing"):
        say(step, share)


def _work(options: RunOptions, plan: RunPlan, catalogue: Catalogue, on_result: OnResult) -> int:
    """Have the tasks done and put in place; how many motifs were made."""
    if plan.gone:
        with catalogue.change():
            catalogue.drop(plan.gone)
    if not plan.tasks and not plan.broken:
        return 0
    made = 0
    with publishing(options.out.absolute(), catalogue) as publisher:
        for fault in plan.broken:
            publisher.add(fault)
        for count, result in enumerate(_crew(options, plan, publisher)(plan.tasks), 1):
            publisher.add(result)
            made += isinstance(result, Done)
            on_result(count, len(plan.tasks), result)
    return made


def _crew(options: RunOptions, plan: RunPlan, publisher: Publisher) -> Crew:
    if options.cluster is not None:
        from pic2chart.library.cluster import on_cluster

        return on_cluster(options.cluster, publisher.staging)
    jobs = options.jobs or core_count()
    return alone if jobs == 1 or len(plan.tasks) <= FEW else on_cores(jobs)


def _remember(plan: RunPlan, catalogue: Catalogue, began: int) -> None:
    """Note the stamps of files whose contents are in the catalogue."""
    sha256 = {path: row[1] for path, row in catalogue.kept().items()}
    sha256 |= {path: row[0] for path, row in catalogue.broken().items() if row[0]}
    sure = {
        path: (sha256[path], stamp)
        for path, stamp in plan.stamps.items()
        if path in sha256 and max(stamp[1:]) < began - _FRESH_NS
    }
    if sure != catalogue.seen():
        with catalogue.change():
            catalogue.put_seen(sure)


def _finish(options: RunOptions, catalogue: Catalogue, say: Say) -> None:
    """Number the motifs, find those nearly the same, write the pages; nothing when nothing changed."""
    out = options.out.absolute()
    whole = _digest(catalogue, options.per_page, options.title)
    there = all((out / page).is_file() for page in PAGES)
    if whole == catalogue.about("whole") and there and not options.again:
        return
    from pic2chart.library.alike import alike_in

    say("Looking for motifs nearly the same", 0.0)
    with catalogue.change():
        catalogue.index()
        catalogue.put_alike(alike_in(catalogue.motifs()))
    make_folder(out / MOTIFS)
    remove_strays(out, {row[0] for row in catalogue.kept().values()})
    write_pages(catalogue, out, options.title, options.per_page, say)
    with catalogue.change():
        catalogue.put_about("whole", whole)
        catalogue.put_about("title", options.title)
        catalogue.put_about("difficulty", FORMULA)


def _digest(catalogue: Catalogue, per_page: int, title: str) -> str:
    """A hash of all the pages are made from."""
    rows: Iterable[object] = sorted(catalogue.kept().items())
    plain = json.dumps([list(rows), per_page, title, LOOK])
    return hashlib.sha256(plain.encode()).hexdigest()


def _summary(
    catalogue: Catalogue, plan: RunPlan, made: int, remarks: tuple[Message, ...]
) -> Summary:
    return Summary(
        motifs=catalogue.count(),
        made=made,
        unchanged=len(plan.unchanged),
        removed=len(plan.gone),
        faulty=tuple((m.path, m.said[0] if m.said else "") for m in catalogue.motifs("errors > 0")),
        broken=tuple((path, row[2]) for path, row in catalogue.broken().items()),
        remarks=remarks,
    )
