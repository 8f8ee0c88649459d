"""One project: its folder, its history, and what can be done to it. Everything done is saved first."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any, TypeVar

from pic2chart import mending, pipeline
from pic2chart.checks.finding import Finding, Findings
from pic2chart.checks.report import Report
from pic2chart.core.errors import InputError, Pic2ChartError, SettingError
from pic2chart.core.files import write_atomic
from pic2chart.core.messages import Message, message, said
from pic2chart.core.settings import Settings
from pic2chart.design.checked import checked, settle, with_catches
from pic2chart.desk.edits import edit
from pic2chart.desk.facts import (
    facts_of,
    likeness_after,
    lost_words,
    mend_words,
    plain_settings,
    settings_of,
    yarns_of,
)
from pic2chart.desk.findings import found_meanwhile
from pic2chart.desk.first_yarns import with_first_yarns
from pic2chart.desk.form import MARKS, RULES, STITCHES_STAY, labels, news, step_words, worded
from pic2chart.desk.history import NAME, History, HistoryChange, HistoryStep
from pic2chart.desk.in_hand import InHand
from pic2chart.desk.state import State, picture_name
from pic2chart.desk.turning import turned_picture, turned_settings
from pic2chart.model.chart import Chart
from pic2chart.model.keys import clean_title
from pic2chart.model.titles import title_of_file
from pic2chart.model.wording import many
from pic2chart.picture.decode import Picture
from pic2chart.picture.source import read_subject
from pic2chart.picture.subject import Subject

LIST = "the list of yarns"
"""The page's name for the desk's shelf file."""
SHELF = "the shelf"
"""Stands in a project's settings for the desk's own shelf file, whose path the page never learns."""

ON_PICTURE = ("crop", "turn", "focus", "title", *MARKS)
"""Settings that belong to one picture."""
_MOVES_STITCHES = {"stitches", "rounds", "crop", "turn", "frame", "gauge"}
_REMEMBERED = 12
Result = TypeVar("Result")


class ConflictError(Exception):
    """The project was changed elsewhere since the page last saw it."""


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """A state with what the checks and measures say of it."""

    state: State
    findings: Sequence[Finding]
    report: Report


class Project:
    """A project that is open. Its methods are called with `lock` held, one at a time."""

    def __init__(self, folder: Path, shelf: Path) -> None:
        self.folder, self._shelf = folder, shelf
        self.lock = threading.RLock()
        self.history = History(folder / NAME)
        self._memory: OrderedDict[Hashable, Any] = OrderedDict()
        self._remembering = threading.RLock()
        self.keeping = threading.Lock()  # for what is kept beside the history
        self._now: Shown | None = None
        self._at = 0  # the revision at which it was shown
        self._mark = ""
        self._drafted: tuple[Hashable, Shown] | None = None
        self._stopping = threading.Event()

    @property
    def now(self) -> Shown:
        """What is shown."""
        return self._show(self._read(self.history.shown())) if self._now is None else self._now

    @property
    def seen(self) -> Shown:
        """What was shown last, also while something is being made. May be called without the lock."""
        shown = self._now
        if shown is None:
            with self.lock:
                shown = self.now
        return shown

    def without_waiting(self, look: Callable[[Shown], Result]) -> Result:
        """What `look` makes of what is shown and of the history; while something is being made, of
        what was shown before. May be called without the lock.
        """
        if not self.lock.acquire(blocking=False):
            at, shown = self._at, self._now
            if shown is not None:
                seen = look(shown)
                if at == self._at == self.history.revision:  # else it ended meanwhile
                    return seen
            self.lock.acquire()
        try:
            return look(self.now)
        finally:
            self.lock.release()

    def already(self, mark: str) -> bool:
        """Whether the last thing done is the one the page calls so: its answer was lost on the way."""
        return bool(mark) and mark == self.history.mark

    def expect(self, revision: int, mark: str = "") -> None:
        """Raise ConflictError unless the page knows the latest change; what comes next is `mark`."""
        if revision != self.history.revision:
            raise ConflictError
        self._mark = mark

    def start_from_picture(self, data: bytes, name: str, request: Mapping[str, Any]) -> Shown:
        """Keep a picture and make its chart. Nothing is kept of one that cannot be used."""
        title = title_of_file(name)
        kept = picture_name(data)
        path, fresh = self.folder / kept, not (self.folder / kept).exists()
        write_atomic(path, data)
        try:
            settings = Settings.from_mapping({"title": title, **request})
            if self.history.revision == 0:
                with self._in_own_words(kept, clean_title(name)):
                    settings = with_first_yarns(path, settings, self.recall)
            shown = self._made(settings, kept, clean_title(name), None)
        except Exception:
            if fresh:
                path.unlink(missing_ok=True)
            raise
        return self._keep("Start from a picture", shown)

    def start_from_chart(self, chart: Chart) -> Shown:
        """Start from a chart that was read from a file."""
        result = settle(chart)
        state = State(settings_of(chart), result.chart)
        return self._keep("Open a chart", Shown(state, result.findings, result.report))

    def start_from_history(
        self, pictures: Mapping[str, bytes], steps: list[HistoryStep], changes: list[HistoryChange]
    ) -> Shown:
        """Start from all that another desk kept of a project."""
        for name, data in pictures.items():
            write_atomic(self.folder / name, data)
        self.history.fill(iter(steps), changes)
        return self.now

    def original(self) -> tuple[Path, Settings]:
        """The picture's file and the settings for it. Raises InputError without a picture."""
        state = self.seen.state
        if state.picture is None:
            raise InputError(message("chart-without-picture"))
        return self.folder / state.picture, self._used(state.settings)

    def kept(self) -> dict[str, Any]:
        """The settings that go over to another picture: all but what lies on the old one."""
        changed = self.now.state.settings.changed()
        return {n: v for n, v in changed.items() if n not in ON_PICTURE}

    def change(
        self, request: Mapping[str, Any], *, anew: bool = False, draft: bool = False
    ) -> Shown:
        """Change settings. A `draft` is worked out and shown but not kept.

        `anew`: make the chart from the picture again although it was reshaped by hand.
        """
        state = self.now.state
        if request.keys() & {"shelf", "yarns"} and "yarn" not in request:
            request = {**request, "yarn": ()}  # to be chosen anew, not those named before
        settings = Settings.from_mapping(plain_settings(state.settings) | dict(request))
        changed = {f.name for f in fields(Settings) if f.name in request}
        if changed <= STITCHES_STAY or (not state.follows and not anew and changed <= RULES):
            result = settle(pipeline.with_rules(state.chart, settings))
            fresh = replace(state, settings=settings, chart=result.chart, whole=None)
            shown = Shown(fresh, result.findings, result.report)
        else:
            shown = self._remade(_standing(settings, changed, state), changed, anew)
        return shown if draft else self._keep(step_words(changed, settings), shown)

    def edit(self, request: Mapping[str, Any]) -> Shown:
        """Change stitches by hand."""
        state = self.now.state
        done = edit(state.chart, request)
        result = settle(done.chart if done.in_place else _uncaught(done.chart))
        fresh = state.edited(result.chart, done.in_place)
        return self._keep(done.what, Shown(fresh, result.findings, result.report))

    def look(self, request: Mapping[str, Any]) -> Findings:
        """What the checks would say of an edit still under way."""
        return found_meanwhile(edit(self.now.state.chart, request).chart)

    def mend(self) -> Shown:
        """Mend the chart; fixed stitches stay."""
        mended = mending.mend(self.now.state.chart)
        moved = len(mended.changes)
        state = self.now.state.edited(mended.chart, True)
        remarks = (*mended.report.remarks, mend_words(moved))
        state = replace(state, remarks=tuple(map(worded, remarks)))
        report = replace(mended.report, moved=None, remarks=remarks)
        return self._keep(f"Mend {many(moved, 'stitch')}", Shown(state, mended.findings, report))

    def go(self, by: int) -> Shown:
        """Undo (-1) or redo (+1)."""
        return self._show(self._read(self.history.go(by, self._mark)))

    def subject(self, request: Mapping[str, Any]) -> tuple[Picture, Subject]:
        """The whole picture and its subject, with other marks than the project's if they are given.

        May be called without the lock: a stroke is shown while the chart of the last one is made.
        Raises InputError without a picture, SettingError for what is no mark.
        """
        state = self.seen.state
        if state.picture is None:
            raise InputError(message("chart-without-picture"))
        if not request.keys() <= MARKS:
            raise SettingError(message("desk-no-such-mark", options=("subject", "keep", "leave")))
        requested = Settings.from_mapping(plain_settings(state.settings) | dict(request))
        with self._in_own_words(state.picture, state.picture_name):
            return read_subject(self.folder / state.picture, requested, self.recall)

    def stop(self) -> None:
        """Let go of a chart that is being made. May be called without the lock."""
        self._stopping.set()

    def likeness(self) -> dict[str, Any] | None:
        """How like its picture the chart is, also after stitches were changed by hand in their places.

        None for a chart that lies on no picture.
        """
        state = self.seen.state
        recorded = state.facts.get("likeness")
        if recorded is None or "chart" in recorded or not state.follows:
            return recorded
        now = pipeline.likeness_now(*self.original(), state.chart, self.recall)
        return likeness_after(now, recorded)

    def turn(self, way: str) -> Shown:
        """Turn or mirror the picture, and make the chart of it anew. Raises InputError without one."""
        state = self.now.state
        data, size = turned_picture(self.original()[0], way)
        kept = picture_name(data)
        write_atomic(self.folder / kept, data)
        settings = turned_settings(state.settings, way, size)
        shown = self._made(settings, kept, state.picture_name, None)
        return self._keep("Mirror the picture" if way == "mirror" else "Turn the picture", shown)

    def make_thing(self, what: str, thing: InHand | None) -> Shown:
        """Make something else of the picture or chart, or the same with other stitches."""
        return self._keep(what, replace(self.now, state=replace(self.now.state, thing=thing)))

    def _thing(self, picture: str) -> InHand | None:
        """The thing in hand; what was painted on it does not go over to another picture."""
        if self.history.revision == 0:
            return None
        state, thing = self.now.state, self.now.state.thing
        if thing is None or picture == state.picture:
            return thing
        return replace(thing, painted={})

    def _keep(self, what: str, shown: Shown) -> Shown:
        """Save a step; only then is it what is shown."""
        place = self.history.add(what, shown.state.to_plain(), self._mark)
        whole = place if shown.state.whole is None else shown.state.whole
        return self._show(replace(shown, state=replace(shown.state, whole=whole)))

    def _show(self, shown: Shown) -> Shown:
        self._now, self._at = shown, self.history.revision
        return shown

    def _read(self, plain: dict[str, Any]) -> Shown:
        state = State.from_plain(plain, self.history.at)
        result = checked(state.chart, tuple(map(said, state.remarks)), moved=state.moved)
        return Shown(state, result.findings, result.report)

    def _remade(self, settings: Settings, changed: set[str], anew: bool) -> Shown:
        """The chart made again; the one a slider showed last is not solved a second time."""
        state = self.now.state
        if state.picture is None:
            raise SettingError(message("no-picture-to-remake", options_named=labels(changed)))
        if not state.follows and not anew:
            raise SettingError(message("reshaped-by-hand", options_named=labels(changed)))
        held = 0 if state.chart.fixed is None else int(state.chart.fixed.sum())
        keep = state.chart if held and state.follows and not changed & _MOVES_STITCHES else None
        lost = (lost_words(held),) if held and keep is None else ()
        key = (self.history.revision, settings)
        if self._drafted is None or self._drafted[0] != key or settings.shelf:
            shown = self._made(settings, state.picture, state.picture_name, keep, lost)
            self._drafted = key, shown
        return self._drafted[1]

    def _made(
        self,
        settings: Settings,
        picture: str,
        name: str,
        keep: Chart | None,
        remarks: tuple[Message, ...] = (),
    ) -> Shown:
        path = self.folder / picture
        used = self._used(settings)
        self._stopping.clear()
        with self._in_own_words(picture, name):
            made = pipeline.make_chart(path, used, self._going_on, keep=keep, recall=self.recall)
        source = {**made.chart.source, "picture": name, "settings": settings.changed()}
        chart = made.chart.with_(source=source)
        report = replace(made.report, remarks=news((*remarks, *made.report.remarks)))
        words = tuple(map(worded, report.remarks))
        thing = self._thing(picture)
        state = State(
            settings,
            chart,
            picture,
            name,
            True,
            report.moved,
            words,
            facts_of(report),
            thing=thing,
        )
        return Shown(state, made.findings, report)

    @contextmanager
    def _in_own_words(self, picture: str, name: str) -> Iterator[None]:
        """Errors with the knitter's name for the picture, and without the desk's own paths."""
        path = self.folder / picture
        try:
            yield
        except Pic2ChartError as error:
            names = {str(path): name, path.name: name, str(self._shelf): LIST}
            raise type(error)(error.message.with_values(names)) from error

    def _going_on(self, words: str, share: float) -> None:
        if self._stopping.is_set():
            raise SettingError(message("stopped"))

    def _used(self, settings: Settings) -> Settings:
        """The settings with the desk's own shelf file in place of the word for it."""
        return replace(settings, shelf=str(self._shelf)) if settings.shelf else settings

    def recall(self, key: Hashable, work: Callable[[], Any]) -> Any:
        """What `work` gave for `key` before, or gives now; the last few are remembered.

        One thread at a time, so that a stroke's subject is looked for once, not for the page and
        again for the chart.
        """
        with self._remembering:
            if key not in self._memory:
                self._memory[key] = work()
                if len(self._memory) > _REMEMBERED:
                    self._memory.popitem(last=False)
            self._memory.move_to_end(key)
            return self._memory[key]


def _standing(settings: Settings, changed: set[str], state: State) -> Settings:
    """Settings for another choice of frame, which takes the place of a drawn one, and for other marks
    of the subject, which leave the rest as it is: the yarns of the chart, and the frame under stitches
    kept by hand, which would else follow the subject away from them.
    """
    chart = state.chart
    if "frame" in changed and "crop" not in changed:  # which would go before it
        settings = replace(settings, crop=None)
    if not changed & MARKS:
        return settings
    if not settings.yarn and not changed & {"yarns", "shelf"} and len(chart.yarns) > 1:
        settings = replace(settings, yarn=yarns_of(chart), shelf=None, yarns=None)
    window, held = chart.source.get("window"), chart.fixed is not None and chart.fixed.any()
    stays = held and state.follows and not changed & _MOVES_STITCHES
    if stays and settings.crop is None and isinstance(window, list):
        settings = replace(settings, crop=",".join(str(side) for side in window))
    return settings


def _uncaught(chart: Chart) -> Chart:
    """Where stitches changed places, no old catch counts."""
    return with_catches(chart.with_(catches=()))
