"""The folder of projects. The page names a project by its number only; no path comes from outside."""

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

from pic2chart.desk.project import Project, Shown
from pic2chart.errors import Pic2ChartError
from pic2chart.files import make_folder, refuse_unwritable

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
