"""The projects of a desk: their folder, and what a new one starts from (blank, or an upload)."""

from __future__ import annotations

import re
import secrets
import shutil
import tempfile
import threading
from collections import OrderedDict
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar
from weakref import WeakValueDictionary

import numpy as np

from pic2chart.core.errors import InputError, Pic2ChartError, SettingError
from pic2chart.core.files import (
    make_folder,
    move_folder,
    refuse_unwritable,
    write_all,
    write_atomic,
)
from pic2chart.core.messages import Message, message
from pic2chart.core.settings import Settings
from pic2chart.desk import history
from pic2chart.desk.form import worded
from pic2chart.desk.history import History
from pic2chart.desk.project import LIST, Project, Shown
from pic2chart.desk.state import State
from pic2chart.model.any_file import read_any
from pic2chart.model.chart import Chart, Rules
from pic2chart.model.gauge import Gauge
from pic2chart.model.keys import clean_title
from pic2chart.model.titles import title_of_file
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.shelf import Shelf, begins_as_shelf
from pic2chart.yarns.spreadsheet import is_workbook

# A chart to draw on: one light yarn throughout, a dark one at hand.

TITLE = "new chart"
YARNS = (Yarn("light", "#ece2d0"), Yarn("dark", "#26304c"))


def blank_chart(stitches: int, rounds: int) -> Chart:
    """A chart of that size under the usual rules and gauge, knitted in the round."""
    usual = Settings()
    squares = np.zeros((rounds, stitches), np.uint8)
    gauge = Gauge.parse(usual.gauge)
    return Chart(squares, YARNS, gauge, TITLE, "round", "right", Rules.of(usual))


# Files that come from the page: read by the same readers as any file, under a name of our own.

NO_YARNS = b"name,colour\n"
"""A shelf without a yarn."""
_WAITING = "shelf-waiting-"
"""Begins the name of a shelf that is being read; each has one of its own, since several may come at once."""
_PHOTO = ".photo-"
"""Begins the name of a folder for a photo that is only being measured."""
_CALLED = "the photo"
_BEGINNING = 1024
"""Bytes in which the headings of a list of yarns are looked for."""
_ENDINGS = (".json", ".png", ".csv", ".tsv", ".txt", ".svg", ".pdf")


_Seen = TypeVar("_Seen")


def with_photo(data: bytes, root: Path, look: Callable[[Path], _Seen]) -> _Seen:
    """What `look` sees in a photo, which lies in a file in the desk's folder for so long.

    Complaints call it 'the photo'. Raises InputError where `look` does.
    """
    with tempfile.TemporaryDirectory(prefix=_PHOTO, dir=root) as folder:
        path = Path(folder) / "photo"
        write_atomic(path, data)
        try:
            return look(path)
        except InputError as error:
            raise InputError(_renamed(error.message, path, _CALLED)) from error


def read_chart_upload(data: bytes, name: str, folder: Path) -> Chart:
    """Read a chart's file; complaints carry the knitter's name for it. Nothing is left in `folder`."""
    title = title_of_file(name)
    ending = Path(name).suffix.lower()
    path = folder / f"opened{ending if ending in _ENDINGS else ''}"
    write_atomic(path, data)
    try:
        chart = read_any(path)
    except InputError as error:
        if is_workbook(data) or begins_as_shelf(data[:_BEGINNING]):
            raise InputError(message("list-not-chart", name=clean_title(name))) from error
        raise InputError(_renamed(error.message, path, clean_title(name))) from error
    finally:
        path.unlink(missing_ok=True)
    return chart.with_(title=title) if chart.title in ("opened", "untitled") else chart


def read_shelf_upload(data: bytes, shelf: Path, name: str = LIST) -> tuple[Message, ...]:
    """Put a shelf in place of the one on the desk, once it has been read without a fault; gives what
    of it is left aside, and why. `name`: what the knitter calls the file.
    """
    waiting = shelf.with_name(f"{_WAITING}{secrets.token_hex(6)}.csv")
    write_atomic(waiting, data)
    try:
        read = Shelf.read(waiting)
        # yarns are changed one by one here, and a workbook is only read
        write_shelf(shelf, replace(read, fixed=False).to_bytes(shelf) if read.fixed else data)
        return tuple(_renamed(remark, waiting, name) for remark in read.remarks)
    except InputError as error:
        raise InputError(_renamed(error.message, waiting, name)) from error
    finally:
        waiting.unlink(missing_ok=True)


def write_shelf(shelf: Path, data: bytes) -> None:
    """Put these bytes in the place of the desk's shelf; what it was before lies beside it."""
    before = shelf.read_bytes() if shelf.is_file() else NO_YARNS
    write_all({_before(shelf): before, shelf: data})


def put_back_shelf(shelf: Path) -> None:
    """Take the last change of the shelf back; done once more, it is made again."""
    if not _before(shelf).is_file():
        raise SettingError(message("no-yarns-before"))
    write_shelf(shelf, _before(shelf).read_bytes())


def _before(shelf: Path) -> Path:
    return shelf.with_name(f"{shelf.stem}-before{shelf.suffix}")


def _renamed(what: Message, path: Path, name: str) -> Message:
    """What is said of a file, under the name that is known on the page."""
    return what.with_values({str(path): name, path.name: name})


# The folder of projects. The page names a project by its number only; no path comes from outside.

_NAME = re.compile(r"[0-9a-f]{12}")
_MOST_OPEN = 6
_OWN_FILES = ("picture-", "opened", "history.sqlite", ".writing-")


class Store:
    """Projects of one folder; a few are held open. Raises OutputError when it cannot be written."""

    def __init__(self, root: Path) -> None:
        refuse_unwritable(root)
        self.root = make_folder(root)
        self.shelf = root / "shelf.csv"
        self.shelf_turn = threading.Lock()  # held to read the shelf and write it anew
        self._recent: OrderedDict[str, Project] = OrderedDict()
        self._alive: WeakValueDictionary[str, Project] = WeakValueDictionary()
        self._lock = threading.Lock()
        self._cards: dict[str, tuple[Stamp, dict[str, Any]]] = {}

    def start(self, begin: Callable[[Project], Shown]) -> tuple[str, Project]:
        """A new project that `begin` fills; nothing stays behind when it fails."""
        name = secrets.token_hex(6)
        folder = make_folder(self.root / name)
        project = Project(folder, self.shelf)
        try:
            begin(project)
        except BaseException:
            shutil.rmtree(folder, ignore_errors=True)
            raise
        with self._lock:
            self._hold(name, project)
        return name, project

    def get(self, name: str) -> Project | None:
        """The project of that number, None when there is none."""
        if not _NAME.fullmatch(name):
            return None
        with self._lock:
            project = self._alive.get(name)
            if project is None and history.is_begun(self.root / name):
                project = Project(self.root / name, self.shelf)
            if project is not None:
                self._hold(name, project)
            return project

    def remove(self, name: str) -> None:
        """Put a project aside, into the folder `removed`, where its files can be found again."""
        self.let_go(name)
        with self._lock:
            aside = make_folder(self.root / "removed") / name
            move_folder(self.root / name, aside)

    def let_go(self, name: str) -> None:
        """Forget what is known of a project that is at home in another process from now on, or was."""
        with self._lock:
            self._recent.pop(name, None)
            project = self._alive.pop(name, None)
            if project is not None:
                project.history.close()

    def forget_card(self, name: str) -> None:
        """Have a project's card made anew: it was changed in another process."""
        self._cards.pop(name, None)

    def cards(self) -> list[dict[str, Any]]:
        """Title and size of every project, latest first; one that cannot be read says why.

        Waits for no project that is being worked at.
        """
        names = [
            entry.name
            for entry in self.root.iterdir()
            if _NAME.fullmatch(entry.name) and history.is_begun(entry)
        ]
        cards = [self._card(name) for name in names]
        return sorted(cards, key=lambda card: (-card["changed"], card["id"]))

    def _card(self, name: str) -> dict[str, Any]:
        """A project's card, made anew when its history went on since the last one."""
        project = self._alive.get(name)
        stamp = _stamp(self.root / name) if project is None else project.history.revision
        known = self._cards.get(name)
        if known is None or known[0] != stamp:
            known = self._cards[name] = stamp, _made_card(name, self.root / name, project)
        return known[1]

    def sweep(self) -> None:
        """Take away what a desk that was killed left half made: projects without a step, with their
        pictures, and shelves and photos that were being read. To be called while no other desk has the folder.
        """
        for waiting in self.root.glob(f"{_WAITING}*.csv"):
            waiting.unlink(missing_ok=True)
        for photo in self.root.glob(f"{_PHOTO}*"):
            shutil.rmtree(photo, ignore_errors=True)
        for entry in self.root.iterdir():
            if not (_NAME.fullmatch(entry.name) and entry.is_dir() and not entry.is_symlink()):
                continue
            if all(map(_own_file, entry.iterdir())) and not history.has_steps(entry):
                shutil.rmtree(entry, ignore_errors=True)

    def _hold(self, name: str, project: Project) -> None:
        """Keep a project at hand; one in use anywhere is never opened a second time."""
        if name not in self._alive:
            self._cards.pop(name, None)  # from now on its revision tells whether it changed
        self._alive[name] = self._recent[name] = project
        self._recent.move_to_end(name)
        while len(self._recent) > _MOST_OPEN:
            self._recent.popitem(last=False)


Stamp = int | tuple[tuple[int, int], ...]
"""An open project's revision, or when its files were written and how large they are."""


def _stamp(folder: Path) -> Stamp:
    files = sorted(folder.glob("history.*"))
    return tuple((facts.st_mtime_ns, facts.st_size) for facts in (file.stat() for file in files))


def _made_card(name: str, folder: Path, project: Project | None) -> dict[str, Any]:
    """What the list shows of a project, without checking its chart."""
    card: dict[str, Any] = {"id": name, "changed": 0}
    try:
        if project is None:
            with closing(History(folder / history.NAME)) as read:
                card["changed"] = read.changed_ms
                state = State.from_plain(read.shown(), read.at)
        else:
            state = project.without_waiting(lambda shown: shown.state)
            card["changed"] = project.history.changed_ms
    except Pic2ChartError as error:
        return card | {"title": name, "trouble": worded(error.message)}
    chart, kind = state.chart, state.thing and state.thing.kind
    card |= {"title": chart.title, "kind": kind, "rounds": chart.round_count}
    return card | {"stitches": chart.stitch_count, "yarns": [y.name for y in chart.yarns]}


def _own_file(path: Path) -> bool:
    """Whether a file of a project's folder is one the desk itself makes before the first step."""
    return path.name.startswith(_OWN_FILES) and path.is_file()
