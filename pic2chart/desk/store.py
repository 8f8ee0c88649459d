"""The projects of a desk: their folder, and what a new one starts from (blank, or an upload)."""

from __future__ import annotations

import re
import secrets
import shutil
import threading
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import Any
from weakref import WeakValueDictionary

import numpy as np

from pic2chart.core.errors import InputError, Pic2ChartError
from pic2chart.core.files import make_folder, refuse_unwritable, write_atomic
from pic2chart.core.settings import Settings
from pic2chart.desk.project import Project, Shown
from pic2chart.model.any_file import read_any
from pic2chart.model.chart import Chart, Rules
from pic2chart.model.gauge import Gauge
from pic2chart.model.keys import clean_title
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.shelf import Shelf

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

_ENDINGS = (".json", ".png", ".csv", ".tsv", ".txt")


def read_chart_upload(data: bytes, name: str, folder: Path) -> Chart:
    """Read a chart's file; complaints carry the knitter's name for it. Nothing is left in `folder`."""
    title = clean_title(Path(name).stem.removesuffix(".chart"))
    ending = Path(name).suffix.lower()
    path = folder / f"opened{ending if ending in _ENDINGS else ''}"
    write_atomic(path, data)
    try:
        chart = read_any(path)
    except InputError as error:
        raise InputError(_renamed(str(error), path, clean_title(name))) from error
    finally:
        path.unlink(missing_ok=True)
    return chart.with_(title=title) if chart.title in ("opened", "untitled") else chart


def read_shelf_upload(data: bytes, shelf: Path) -> None:
    """Put a shelf in place of the one on the desk, once it has been read without a fault."""
    waiting = shelf.with_name("shelf-waiting.csv")
    write_atomic(waiting, data)
    try:
        Shelf.read(waiting)
        write_atomic(shelf, data)
    except InputError as error:
        raise InputError(_renamed(str(error), waiting, "the shelf")) from error
    finally:
        waiting.unlink(missing_ok=True)


def _renamed(message: str, path: Path, name: str) -> str:
    return message.replace(str(path), name).replace(path.name, name)


# The folder of projects. The page names a project by its number only; no path comes from outside.

_NAME = re.compile(r"[0-9a-f]{12}")
_MOST_OPEN = 6


class Store:
    """Projects of one folder; a few are held open. Raises OutputError when it cannot be written."""

    def __init__(self, root: Path) -> None:
        refuse_unwritable(root)
        self.root = make_folder(root)
        self.shelf = root / "shelf.csv"
        self._recent: OrderedDict[str, Project] = OrderedDict()
        self._alive: WeakValueDictionary[str, Project] = WeakValueDictionary()
        self._lock = threading.Lock()
        self._cards: dict[str, tuple[tuple[int, int], dict[str, Any]]] = {}

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
            if project is None and (self.root / name / "history.log").is_file():
                project = Project(self.root / name, self.shelf)
            if project is not None:
                self._hold(name, project)
            return project

    def remove(self, name: str) -> None:
        """Put a project aside, into the folder `removed`, where its files can be found again."""
        with self._lock:
            self._recent.pop(name, None)
            aside = make_folder(self.root / "removed") / name
            (self.root / name).rename(aside)

    def cards(self) -> list[dict[str, Any]]:
        """Title and size of every project, latest first; one that cannot be read says why."""
        logs = sorted(
            (log for log in self.root.glob("*/history.log") if _NAME.fullmatch(log.parent.name)),
            key=lambda log: (-log.stat().st_mtime_ns, log.parent.name),
        )
        return [self._card(log) for log in logs]

    def _card(self, log: Path) -> dict[str, Any]:
        name, facts = log.parent.name, log.stat()
        changed, stamp = facts.st_mtime_ns, (facts.st_mtime_ns, facts.st_size)  # clocks may stand
        known = self._cards.get(name)
        if known is not None and known[0] == stamp:
            return known[1]
        card: dict[str, Any] = {"id": name, "changed": changed // 1_000_000}
        try:
            project = self._alive.get(name) or Project(log.parent, self.shelf)
            with project.lock:
                chart = project.now.state.chart
            card |= {"title": chart.title, "rounds": chart.round_count}
            card |= {"stitches": chart.stitch_count, "yarns": [y.name for y in chart.yarns]}
        except Pic2ChartError as error:
            card |= {"title": name, "trouble": str(error)}
        self._cards[name] = (stamp, card)
        return card

    def _hold(self, name: str, project: Project) -> None:
        """Keep a project at hand; one in use anywhere is never opened a second time."""
        self._alive[name] = self._recent[name] = project
        self._recent.move_to_end(name)
        while len(self._recent) > _MOST_OPEN:
            self._recent.popitem(last=False)
