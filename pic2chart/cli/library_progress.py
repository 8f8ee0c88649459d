"""Progress of a library: a bar with the time left on a terminal, plain lines elsewhere."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import TYPE_CHECKING, Self

from pic2chart.cli.progress import Steps
from pic2chart.cli.wording import one_line

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

    from pic2chart.library.motif import Broken, Done

TENTHS = 10


class Bar:
    """Shows what is under way on standard error; use in a `with` block. Quiet: nothing at all."""

    def __init__(self, quiet: bool) -> None:
        self._quiet = quiet
        self._steps = Steps()
        self._bar: Progress | None = None
        self._task: TaskID | None = None
        self._told = 0

    def say(self, step: str, share: float) -> None:
        """Show a step of work on the library as a whole."""
        if not self._quiet:
            self._leave()
            self._steps(step, share)

    def tell(self, done: int, total: int, result: Done | Broken) -> None:
        """Show that one more picture is done, and one that is broken at once."""
        if self._quiet:
            return
        if sys.stderr.isatty():
            self._draw(done, total, result.path)
        elif done * TENTHS // total > self._told:
            self._told = done * TENTHS // total
            print(f"{done:,} of {total:,} pictures done", file=sys.stderr, flush=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._leave()
        self._steps.__exit__(kind, error, trace)

    def _draw(self, done: int, total: int, path: str) -> None:
        if self._bar is None:
            self._steps.__exit__(None, None, None)
            self._bar = _new_bar()
            self._task = self._bar.add_task("", total=total)
            self._bar.start()
        assert self._task is not None
        self._bar.update(self._task, completed=done, description=one_line(path)[-40:])

    def _leave(self) -> None:
        if self._bar is not None:
            self._bar.stop()
            self._bar = None


def _new_bar() -> Progress:
    """Pictures done, their rate as a bar, the time gone and the time left."""
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeElapsedColumn,
        TimeRemainingColumn,
    )

    columns = (
        MofNCompleteColumn(),
        BarColumn(bar_width=30),
        TimeElapsedColumn(),
        TextColumn("left"),
        TimeRemainingColumn(),
        TextColumn("{task.description}", markup=False),
    )
    return Progress(*columns, console=Console(stderr=True), transient=True)
