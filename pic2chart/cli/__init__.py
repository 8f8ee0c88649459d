"""The command line: one file per command, a table of them in `app`, nothing heavy on the way in."""

from __future__ import annotations

import gc
import sys
from collections.abc import Sequence


def main(arguments: Sequence[str] | None = None) -> None:
    """The console script. Leaves with 0 (done), 1 (done, error-level findings), 2 (could not) or 130
    (interrupted, while it loads too).
    """
    try:
        status = _loaded_and_run(arguments)
    except BaseException as error:
        from pic2chart.cli.interrupting import INTERRUPTED, came_of_interrupt

        if not came_of_interrupt(error):
            raise
        status = INTERRUPTED
    gc.freeze()
    sys.exit(status)


def _loaded_and_run(arguments: Sequence[str] | None) -> int:
    """Load the command line and run it.

    Loading makes some hundred thousand objects that all stay: looking through them for garbage every
    700, and once more on the way out, is a fifth of a cold chart's time.
    """
    gc.set_threshold(50_000)
    from pic2chart.core.safe_path import import_from_safe_places

    import_from_safe_places()
    from pic2chart.core.threads import never_start_threads

    never_start_threads()
    from pic2chart.core.processes import allow_open_files

    allow_open_files()
    from pic2chart.cli.app import run

    return run(sys.argv[1:] if arguments is None else arguments)
