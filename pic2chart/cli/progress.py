"""Progress on standard error: nothing for quick work, a bar on a terminal for slow work."""

from __future__ import annotations

import sys
import time
from types import TracebackType
from typing import TYPE_CHECKING, Self

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

PATIENCE = 1.0
"""Seconds of work before a bar appears."""

ANNOUNCED = "Preparing"
"""Steps that begin with this word happen once and take long: they get a line of their own."""


class Steps:
    """Called with (what is being done, how much of all is done, 0 to 1); use in a `with` block."""

    def __init__(self) -> None:
        self._began = time.monotonic()
        self._announced: set[str] = set()
        self._bar: Progress | None = None
        self._task: TaskID | None = None

    def __call__(self, step: str, done: float) -> None:
        """Show where the work is."""
        if step.startswith(ANNOUNCED):
            self._announce(step)
        elif sys.stderr.isatty() and (self._bar or time.monotonic() - self._began > PATIENCE):
            self._draw(step, done)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._bar is not None:
            self._bar.stop()

    def _announce(self, step: str) -> None:
        if step not in self._announced:
            self._announced.add(step)
            print(step, file=sys.stderr, flush=True)

    def _draw(self, step: str, done: float) -> None:
        if self._bar is None:
            self._bar = _new_bar()
            self._task = self._bar.add_task(step, total=1.0)
            self._bar.start()
        assert self._task is not None
        self._bar.update(self._task, description=step, completed=done)


def _new_bar() -> Progress:
    """A bar that goes away when the work is done."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}", markup=False), BarColumn(bar_width=30))
    return Progress(*columns, console=Console(stderr=True), transient=True)
