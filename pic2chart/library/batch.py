"""A run of the library: what is new, making it, putting it in place, and writing the pages anew."""

from __future__ import annotations

import io
import json
import os
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from pic2chart.core.errors import SettingError
from pic2chart.core.files import make_folder, refuse_unwritable
from pic2chart.core.locks import held
from pic2chart.core.messages import Message, message
from pic2chart.core.settings import Settings
from pic2chart.library.catalogue import NAME, Catalogue, opened
from pic2chart.library.crew import FEW, Crew, alone, core_count, on_cores
from pic2chart.library.depot import Depot, FolderDepot
from pic2chart.library.difficulty import FORMULA
from pic2chart.library.indexing import index_fresh, numbers_changed
from pic2chart.library.motif import Done, Missed, Result
from pic2chart.library.pages import LOOK, PAGES, PER_PAGE, write_pages
from pic2chart.library.planning import RunPlan, plan_run
from pic2chart.library.publish import (
    STAGING,
    Publisher,
    clear_away,
    publishing,
    settle_places,
    sweep,
)
from pic2chart.library.recipe import Recipe
from pic2chart.library.scan import Listing, scan
from pic2chart.library.states import LOCK
from pic2chart.library.stored_library import StoreDepot, StoredLibrary
from pic2chart.library.stores import Address

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


Say = Callable[[str, float], None]
OnResult = Callable[[int, int, Result], None]
"""Called with each result: how many are done, of how many, and the result."""
_FRESH_NS = 2_000_000_000
"""A file changed so shortly before the run is read again next time: it may change within one tick."""


_MANY_GONE, _SHARE_GONE = 10, 0.2
"""When more pictures than both are gone at once, their motifs stay: a disk may not be there."""


@dataclass(frozen=True, slots=True)
class RunOptions:
    """Options of a run. `again`: make everything anew. `jobs`: processes, None for all cores.

    `cluster`: address of a dask.distributed scheduler that does the work instead. `per_page`:
    motifs on a page of the booklet. `prune`: let motifs go however many pictures are gone.
    """

    folder: Address
    out: Address
    recipe: Recipe
    again: bool = False
    jobs: int | None = None
    cluster: str | None = None
    per_page: int = PER_PAGE
    prune: bool = False

    @property
    def title(self) -> str:
        """The recipe's, or else the folder's name."""
        if self.recipe.title:
            return self.recipe.title
        folder = self.folder
        return folder.rpartition("/")[2] if isinstance(folder, str) else folder.absolute().name


@dataclass(frozen=True, slots=True)
class Summary:
    """What a run came to. `removed`: motifs let go with their pictures; `moved`: pictures that lie
    elsewhere in the folder now, whose motifs kept their numbers. `faulty`: (path, what) of every motif
    with an error-level finding; `broken`: (path, why) of every file that cannot be used; `missed`: of
    every file of which nothing was made this time and which is tried again next time; `proposed`: of
    new motifs that had better be held. `remarks`: what was passed over or left."""

    motifs: int
    made: int
    removed: int
    faulty: tuple[tuple[str, str], ...]
    broken: tuple[tuple[str, str], ...]
    remarks: tuple[Message, ...] = ()
    missed: tuple[tuple[str, str], ...] = ()
    proposed: tuple[tuple[str, str], ...] = ()
    moved: int = 0

    @property
    def unchanged(self) -> int:
        """Motifs that are as they were."""
        return self.motifs - self.made

    @property
    def good(self) -> bool:
        """Whether every file became a motif without an error-level finding."""
        return not self.broken and not self.faulty and not self.missed


def _silent(*_: object) -> None:
    """Nobody wants to know."""


def make_library(options: RunOptions, say: Say = _silent, on_result: OnResult = _silent) -> Summary:
    """Bring the library up to date with its folder.

    Raises InputError, SettingError and OutputError for what stops the whole run; whatever is wrong
    with one file is in the summary. Cut short at any point, the next run goes on from there.
    """
    if isinstance(options.out, str):
        library = StoredLibrary(options.out)
        with library.at_work() as out:

            def alive(done: int, total: int, result: Result) -> None:
                library.renew()
                on_result(done, total, result)

            return _run(replace(options, out=out), say, alive, library)
    return _run(options, say, on_result)


def _run(
    options: RunOptions, say: Say, on_result: OnResult, library: StoredLibrary | None = None
) -> Summary:
    """The run in a folder of this machine; `library`: that at a store, to which it belongs."""
    assert isinstance(options.out, Path)
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
        remarks = [*remarks_on(listing, options.recipe), *settle_places(out, catalogue)]
        depot = FolderDepot(out, out / STAGING) if library is None else StoreDepot(library.url)
        plan = plan_run(found, options.recipe, catalogue, depot, again=options.again)
        _refuse_other_folder(options, plan, catalogue)
        if _many_gone(plan, catalogue) and not options.prune:
            gone = message("many-pictures-gone", count=len(plan.lost), options=("prune",))
            remarks.append(gone)
            stay = tuple(size for size in plan.gone if size[0] not in plan.lost)
            plan = replace(plan, gone=stay, lost=frozenset())
        if plan.tasks:
            if len(plan.tasks) > FEW or not catalogue.made_by(plan.tasks[0].digest):
                say("Trying the options", 0.0)
                _prepare(options.recipe, say)
            say("Making charts", 1.0)
        if library is not None:
            _forewarn(library, plan, catalogue)
        work = _work(options, out, plan, catalogue, depot, on_result)
        _remember(plan, catalogue, began)
        pages, left = _finish(options, out, catalogue, depot, say)
        if library is not None:
            catalogue.settle()
            library.upload(pages)
        remarks += [*work.left, *left]
        return _summary(catalogue, plan, work, tuple(remarks))


def _forewarn(library: StoredLibrary, plan: RunPlan, catalogue: Catalogue) -> None:
    """Let the store's catalogue forget what is about to be replaced there."""
    if plan.tasks:
        with catalogue.change():
            catalogue.unsettle(task.name for task in plan.tasks)
        catalogue.settle()
        library.upload([])


def _many_gone(plan: RunPlan, catalogue: Catalogue) -> bool:
    return len(plan.lost) > max(_MANY_GONE, _SHARE_GONE * catalogue.count())


def _refuse_foreign(out: Path) -> None:
    """A folder that holds something else must not be written into."""
    if not out.exists() or (out / NAME).exists():
        return
    if not out.is_dir() or any(not entry.name.startswith(".") for entry in out.iterdir()):
        raise SettingError(message("not-a-library", folder=str(out), options=("out",)))


def _refuse_other_folder(options: RunOptions, plan: RunPlan, catalogue: Catalogue) -> None:
    kept = catalogue.count()
    if kept and len(plan.gone) == kept and not plan.moved and plan.lost:
        raise SettingError(
            message(
                "library-of-another-folder",
                library=str(options.out),
                folder=str(options.folder),
                motifs=kept,
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


@dataclass(slots=True)
class _Work:
    """What came of the tasks."""

    made: int = 0
    missed: dict[tuple[str, int], Missed] = field(default_factory=dict)
    broken: set[str] = field(default_factory=set)
    done: set[str] = field(default_factory=set)
    left: list[Message] = field(default_factory=list)

    def take(self, result: Result, publisher: Publisher) -> None:
        self.missed.pop((result.path, result.size), None)
        if isinstance(result, Missed):
            self.missed[result.path, result.size] = result
            return
        publisher.add(result)
        if isinstance(result, Done):
            self.made += 1
            self.done.add(result.path)
        else:
            self.broken.add(result.path)


def _work(
    options: RunOptions,
    out: Path,
    plan: RunPlan,
    catalogue: Catalogue,
    depot: Depot,
    on_result: OnResult,
) -> _Work:
    """Have the tasks done and put in place."""
    work = _Work(broken={fault.path for fault in plan.broken})
    with catalogue.change():
        catalogue.drop(plan.gone)
        catalogue.mend_broken(plan.mended)
    if not plan.tasks and not plan.broken:
        return work
    with publishing(out, catalogue, depot) as publisher:
        for fault in plan.broken:
            publisher.add(fault)
        crew = _crew(options, plan, publisher.staging)
        for count, result in enumerate(crew(plan.tasks), 1):
            work.take(result, publisher)
            on_result(count, len(plan.tasks), result)
        unread = [t for t in plan.tasks if _unread(work.missed.get((t.path, t.size)))]
        for result in alone(publisher.staging)(unread):  # a share may have been away for a moment
            work.take(result, publisher)
    work.left += publisher.left
    with catalogue.change():
        catalogue.mend_broken(work.done - work.broken)
    return work


def _unread(missed: Missed | None) -> bool:
    return missed is not None and missed.unread


def _crew(options: RunOptions, plan: RunPlan, staging: Path) -> Crew:
    if options.cluster is not None:
        from pic2chart.library.cluster import on_cluster

        return on_cluster(options.cluster, staging)
    jobs = options.jobs or core_count()
    few = jobs == 1 or len(plan.tasks) <= FEW
    return alone(staging) if few else on_cores(jobs, staging)


def _remember(plan: RunPlan, catalogue: Catalogue, began: int) -> None:
    """Note the stamps of files whose contents are in the catalogue."""
    sure = {}
    for path, stamp in plan.stamps.items():
        _, before = plan.seen.get(path, ("", None))
        if before != stamp and max(stamp[1:]) < began - _FRESH_NS:
            sha256 = catalogue.hash_made(path)
            if sha256 is not None:
                sure[path] = sha256, stamp
    gone = plan.seen.keys() - plan.stamps.keys()
    if sure or gone:
        with catalogue.change():
            catalogue.put_seen(sure, gone)


def _finish(
    options: RunOptions, out: Path, catalogue: Catalogue, depot: Depot, say: Say
) -> tuple[list[str], list[Message]]:
    """Number the motifs, find those nearly the same, write the pages that changed: these, and what
    was left where motifs went."""
    pages: list[str] = []
    say("Looking for motifs nearly the same", 0.0)
    index_fresh(catalogue)
    look = json.dumps([options.per_page, options.title, LOOK, FORMULA])
    changed = numbers_changed(catalogue)
    all_new = look != catalogue.about("look") or options.again
    there = all((out / page).is_file() for page in PAGES)
    if changed or all_new or not there:
        pages = write_pages(
            catalogue, out, options.title, options.per_page, None if all_new else changed, say
        )
        with catalogue.change():
            catalogue.clean()
            catalogue.put_about("look", look)
            catalogue.put_about("title", options.title)
            catalogue.put_about("difficulty", FORMULA)
    return pages, clear_away(out, catalogue, depot)


def _summary(
    catalogue: Catalogue, plan: RunPlan, work: _Work, remarks: tuple[Message, ...]
) -> Summary:
    return Summary(
        motifs=catalogue.count(),
        made=work.made,
        removed=len(plan.lost),
        moved=len(plan.moved),
        faulty=tuple(catalogue.faulty()),
        broken=tuple((path, row[2]) for path, row in catalogue.broken().items()),
        remarks=remarks,
        proposed=tuple(
            catalogue.connection.execute(
                "SELECT path, min(proposed) FROM listed WHERE proposed != '' AND state = 'new' "
                "GROUP BY path ORDER BY number"
            )
        ),
        missed=tuple(sorted((path, missed.message) for (path, _), missed in work.missed.items())),
    )
