"""Progress on standard error: nothing for quick work, a bar on a terminal for slow work."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from types import TracebackType
from typing import TYPE_CHECKING, Self

if TYPE_CHECKING:
    from rich.progress import Progress, ProgressColumn, TaskID

PATIENCE = 1.0
"""Seconds of work before a bar appears."""

ANNOUNCED = "Preparing"
"""Steps that begin with this word happen once and take long: they get a line of their own."""


class Bar:
    """One bar that appears when it is first drawn, and goes away when it is left."""

    def __init__(self, columns: Callable[[], tuple[ProgressColumn, ...]]) -> None:
        self._columns = columns
        self._bar: Progress | None = None
        self._task: TaskID | None = None

    @property
    def shown(self) -> bool:
        """Whether the bar is on the terminal."""
        return self._bar is not None

    def draw(self, words: str, done: float, total: float) -> None:
        """Show how much is done, and what."""
        if self._bar is None or self._task is None:
            from rich.console import Console
            from rich.progress import Progress

            self._bar = Progress(*self._columns(), console=Console(stderr=True), transient=True)
            self._task = self._bar.add_task(words, total=total)
            self._bar.start()
        self._bar.update(self._task, description=words, completed=done)

    def leave(self) -> None:
        """Take the bar away."""
        if self._bar is not None:
            self._bar.stop()
            self._bar = None


class Steps:
    """Called with (what is being done, how much of all is done, 0 to 1); use in a `with` block."""

    def __init__(self) -> None:
        self._began = time.monotonic()
        self._announced: set[str] = set()
        self._bar = Bar(_columns)

    def __call__(self, step: str, done: float) -> None:
        """Show where the work is."""
        if step.startswith(ANNOUNCED):
            self._announce(step)
        elif sys.stderr.isatty() and (self._bar.shown or self._slow()):
            self._bar.draw(step, done, 1.0)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.leave()

    def leave(self) -> None:
        """Take away whatever is shown."""
        self._bar.leave()

    def _slow(self) -> bool:
        return time.monotonic() - self._began > PATIENCE

    def _announce(self, step: str) -> None:
        if step not in self._announced:
            self._announced.add(step)
            print(step, file=sys.stderr, flush=True)


def _columns() -> tuple[ProgressColumn, ...]:
    """What is being done, and the share of all as a bar."""
    from rich.progress import BarColumn, TextColumn

    return TextColumn("{task.description}", markup=False), BarColumn(bar_width=30)
