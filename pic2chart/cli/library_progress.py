"""Progress of a library: a bar with the time left on a terminal, plain lines elsewhere."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from pic2chart.cli.progress import Bar, Steps
from pic2chart.cli.screen import many, one_line

if TYPE_CHECKING:
    from rich.progress import ProgressColumn

    from pic2chart.library.motif import Result

TENTHS = 10
_PATH = 20


class Pictures(Steps):
    """Shows what is under way; use in a `with` block. Quiet: nothing at all."""

    def __init__(self, quiet: bool) -> None:
        super().__init__()
        self._quiet = quiet
        self._pictures = Bar(_columns)
        self._shown = 0
        self._done = 0

    def __call__(self, step: str, done: float) -> None:
        """Show a step of work on the library as a whole."""
        if not self._quiet:
            self._pictures.leave()
            super().__call__(step, done)

    def on_result(self, done: int, total: int, result: Result) -> None:
        """Show that one more picture is done."""
        self._done = done
        if self._quiet:
            return
        if sys.stderr.isatty():
            self._bar.leave()
            self._pictures.draw(_end_of(one_line(result.path)), done, total)
        elif done * TENTHS // total > self._shown:
            self._shown = done * TENTHS // total
            print(f"{done:,} of {total:,} pictures done", file=sys.stderr, flush=True)

    def stopped(self) -> None:
        """Say what Ctrl-C left."""
        if not self._quiet:
            self.leave()
            words = (
                f"Stopped; {many(self._done, 'picture')} done. The same command goes on from there."
            )
            print(words, file=sys.stderr, flush=True)

    def leave(self) -> None:
        """Take away whatever is shown."""
        self._pictures.leave()
        super().leave()


def _end_of(path: str) -> str:
    """So much of a path as leaves room for the bar on a terminal of 80 columns."""
    return path if len(path) <= _PATH else f"…{path[1 - _PATH :]}"


def _columns() -> tuple[ProgressColumn, ...]:
    """Pictures done, their rate as a bar, the time gone and the time left."""
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        TextColumn,
        TimeElapsedColumn,
        TimeRemainingColumn,
    )

    return (
        MofNCompleteColumn(),
        BarColumn(bar_width=30),
        TimeElapsedColumn(),
        TextColumn("left"),
        TimeRemainingColumn(),
        TextColumn("{task.description}", markup=False),
    )
