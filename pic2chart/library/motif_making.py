"""Making one motif: from a file of the folder to its own files and its facts, in any process or machine."""

from __future__ import annotations

import multiprocessing
import os
import signal
import tempfile
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from pic2chart.core.confined import confining, start_ahead
from pic2chart.core.errors import (
    InputError,
    OutputError,
    Pic2ChartError,
    SettingError,
    reason,
)
from pic2chart.core.messages import message
from pic2chart.core.processes import wait_for_parent
from pic2chart.core.safe_path import import_from_safe_places
from pic2chart.library.holding import why_held
from pic2chart.library.motif import (
    Broken,
    Done,
    Missed,
    MotifRecord,
    Result,
    Task,
    hash_of,
    place_of,
    sync_folder,
)
from pic2chart.library.rights import Rights, rights_of_picture, svg_with_rights
from pic2chart.library.stores import StoredFile

if TYPE_CHECKING:
    from pic2chart.checks.finding import Finding
    from pic2chart.checks.report import Report
    from pic2chart.model.chart import Chart
    from pic2chart.sheets.sheet_settings import SheetSettings

MOST_CHART_SIDE = 160
"""A PNG is taken as a chart of one pixel a stitch when neither side is longer and it has at most 12
colours; a recipe's `take` overrules this."""
MOST_SAID = 20
"""Findings whose words the catalogue keeps."""


def make_motif(task: Task) -> Result:
    """Make the chart, measure it, and write its files into a new folder of the staging folder.

    A file that cannot be used is told in the result, and so are a file that cannot be read now and
    a fault of the program's own: those two are tried again in the next run. Raises OutputError when
    writing fails.
    """
    _be_a_worker()
    if isinstance(task.file, StoredFile):
        return _fetched(task, task.file)
    try:
        with confining():
            made = _chart(task)
            rights = task.order.rights.over(rights_of_picture(task.here))
        made = replace(made, chart=_with_rights(made.chart, rights))
        files = _files(made.chart, task, rights)
        motif = _facts(task, made, rights, files)
    except (InputError, SettingError) as error:
        return _refused(task, error)
    except OSError as error:
        return unread(task, error)
    except Exception as error:  # one picture must not stop the others
        words = f"{type(error).__name__}: {error}"
        return Missed(task.path, str(message("motif-fault", words=words)), task.size)
    if task.staging is None:
        return Done(motif, None, files)
    return Done(motif, write_staged(files, task.staging))


def _fetched(task: Task, file: StoredFile) -> Result:
    """The motif of a picture that lies at a store."""
    with tempfile.TemporaryDirectory(prefix="pic2chart-") as folder:
        here = Path(folder, file.name)
        try:
            here.write_bytes(file.read_bytes())
        except OSError as error:
            return unread(task, error)
        return make_motif(replace(task, file=here))


def _refused(task: Task, error: Pic2ChartError) -> Broken | Missed:
    """Only a file that can be read whole, and every file it needs, can be said to be broken."""
    try:
        sha256 = hash_of(task.file)
        for needed in task.at_hand.values():
            hash_of(Path(needed))
    except OSError as cause:
        return unread(task, cause)
    return Broken(task.path, task.digest, sha256, _words(error, task), task.size)


def unread(task: Task, error: OSError) -> Missed:
    """The file, or one it needs, could not be read."""
    return Missed(
        task.path, str(message("motif-unread", why=reason(error))), task.size, unread=True
    )


def _words(error: Exception, task: Task) -> str:
    """What is wrong with a file; its path stands beside it wherever it is told, so not in it again."""
    words = str(error)
    for name in (str(task.file), task.file.name):
        for place in (f"'{name}': ", f"'{name}', "):
            words = words.removeprefix(place)
        words = words.replace(f" '{name}'", "", 1)
    return words[:1].upper() + words[1:]


def _be_a_worker() -> None:
    """One thread. In a process of joblib's: Ctrl-C is left to the one that gave the work, and when
    that one is gone, so is the reason to stay."""
    import cv2

    cv2.setNumThreads(1)
    if multiprocessing.current_process().name != "MainProcess":
        import_from_safe_places()
    if multiprocessing.current_process().name.startswith("Loky"):
        _serve(os.getppid())


@cache
def _serve(master: int) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_leave_with, args=(master,), daemon=True).start()


def _leave_with(master: int) -> None:
    wait_for_parent(master)
    os._exit(1)


@dataclass(frozen=True, slots=True)
class _Charted:
    """A chart, what is said of it, of what `kind` it came, and why it had better be held back."""

    chart: Chart
    findings: Sequence[Finding]
    report: Report
    kind: str
    proposed: str = ""


def _with_rights(chart: Chart, rights: Rights) -> Chart:
    """The chart with the rights among the facts of its source; those a chart file has say what
    nobody else does."""
    own = chart.source.get("rights")
    said = rights.said()
    if isinstance(own, dict):
        said = {name: str(value) for name, value in own.items()} | said
    return chart.with_(source={**chart.source, "rights": said}) if said else chart


def _chart(task: Task) -> _Charted:
    from pic2chart.design.checked import check_chart
    from pic2chart.picture.decode import decoded_parts

    if is_chart(task):
        checked = check_chart(task.here)
        return _Charted(checked.chart, checked.findings, checked.report, "chart")
    start_ahead(decoded_parts)  # while the rest is loaded
    from pic2chart.pipeline import make_chart

    settings = task.order.settings
    at_hand: dict[str, Any] = dict(task.at_hand)
    made = make_chart(task.here, replace(settings, **at_hand))
    name = task.path.rpartition("/")[2]
    source = {**made.chart.source, "picture": name, "settings": settings.changed()}
    chart = made.chart.with_(title=_printed(made.chart.title), source=source)
    held = why_held(made, settings)
    return _Charted(chart, made.findings, made.report, "picture", held)


def _printed(name: str) -> str:
    """A file's name as text, also where its bytes are none (as `scan` writes it)."""
    return os.fsencode(name).decode("utf-8", "backslashreplace")


def is_chart(task: Task) -> bool:
    """Whether the file is taken as a finished chart."""
    lower = task.path.lower()
    if task.order.take != "auto" or not lower.endswith((".png", ".json", ".csv")):
        return task.order.take == "chart"
    if isinstance(task.file, StoredFile):
        return not lower.endswith(".png")
    from pic2chart.model.any_file import is_pixel_chart

    return not lower.endswith(".png") or is_pixel_chart(task.here, MOST_CHART_SIDE)


def _files(chart: Chart, task: Task, rights: Rights) -> Mapping[str, bytes | str]:
    """The motif's files: chart file, pixels and chart sheet, or the sheets asked for; the fabric's
    front, which is most of the work and of the room, only when it is asked for."""
    from pic2chart.model.chart_file import chart_to_text
    from pic2chart.sheets.chart.chart_sheet import chart_sheet
    from pic2chart.sheets.document import sheet_files
    from pic2chart.sheets.fabric.front import fabric_front
    from pic2chart.sheets.writers.png import pixels_png
    from pic2chart.sheets.writers.svg import sheet_svg

    name, order = task.name, task.order
    files: dict[str, bytes | str] = {}
    if order.sheets is None:
        files[f"{name}.svg"] = sheet_svg(chart_sheet(chart), chart)
    else:
        files |= sheet_files(chart, _signed(order.sheets, rights), name)
    for file, data in files.items():
        if file.endswith(".svg") and isinstance(data, str):
            files[file] = svg_with_rights(data, chart.title, rights)
    if order.front:
        files[f"{name}-front.png"] = fabric_front(chart)
    files[f"{name}.chart.json"] = chart_to_text(chart)
    files[f"{name}.png"] = pixels_png(chart)
    return files


def _signed(sheets: SheetSettings, rights: Rights) -> SheetSettings:
    """The sheets with the author of the picture where none is named."""
    return sheets if sheets.author or not rights.author else replace(sheets, author=rights.author)


def _facts(
    task: Task, made: _Charted, rights: Rights, files: Mapping[str, bytes | str]
) -> MotifRecord:
    from pic2chart.library.difficulty import amounts_in, difficulty_of, parts_of
    from pic2chart.model.repeat import find_repeat

    chart, report, findings, kind = made.chart, made.report, made.findings, made.kind
    repeat = find_repeat(chart.stitches, circular=chart.in_round)
    parts = parts_of(amounts_in(chart, report, repeat))
    said = chart.source.get("rights") or {}
    pair = report.pairs[0] if report.pairs else None
    kept = report.likeness
    return MotifRecord(
        name=task.name,
        path=task.path,
        size=task.size,
        place=place_of(task.name),
        sha256=str(chart.source["sha256"]) if kind == "picture" else hash_of(task.file),
        digest=task.digest,
        title=chart.title,
        kind=kind,
        files=tuple(sorted(files)),
        tags=task.order.tags,
        worked=chart.worked,
        hand=chart.hand,
        gauge=str(chart.gauge),
        stitches=chart.stitch_count,
        rounds=chart.round_count,
        width_cm=report.width_cm,
        height_cm=report.height_cm,
        repeat_kind=repeat.kind,
        repeat_stitches=repeat.box[0],
        repeat_rounds=repeat.box[1],
        mirrored=repeat.mirrored,
        agreement=round(repeat.agreement, 4),
        colours_per_round=len(report.rounds_with),
        longest_float=report.longest_float,
        longest_uncaught=report.longest_uncaught,
        float_limit=report.float_limit,
        catches=report.catches,
        isolated=report.isolated,
        ends=report.ends,
        contrast=None if pair is None else pair.delta_L,
        ratio=None if pair is None else pair.contrast,
        likeness=None if kept is None else round(kept.chart.headline, 4),
        difficulty=difficulty_of(parts),
        parts=parts,
        errors=report.errors,
        warnings=report.warnings,
        notes=report.notes,
        said=tuple(finding.message for finding in findings[:MOST_SAID]),
        pixels=cast(bytes, files[f"{task.name}.png"]),
        rights=Rights(**{name: said.get(name, "") for name in rights.names()}),
        proposed=made.proposed,
        yarns=report.yarns,
    )


def write_staged(files: Mapping[str, bytes | str], staging: Path) -> Path:
    """Write the files where nobody else writes and nobody looks yet, safely on the disk."""
    from pic2chart.core.files import write_all

    try:
        folder = Path(tempfile.mkdtemp(prefix="motif-", dir=staging))
        for name in files:
            (folder / name).parent.mkdir(exist_ok=True)
        write_all({folder / name: data for name, data in files.items()})
        folder.chmod(0o755)
        sync_folder(folder)
    except OSError as error:
        raise OutputError(
            message("folder-not-writable-why", folder=str(staging), why=reason(error))
        ) from error
    return folder
