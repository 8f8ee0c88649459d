"""The command line: one file per command, a table of them in `app`, nothing heavy on the way in."""

from __future__ import annotations

import gc
import sys
from collections.abc import Sequence


def main(arguments: Sequence[str] | None = None) -> None:
    """The console script. Leaves with 0 (done), 1 (done, error-level findings) or 2 (could not).

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

    status = run(sys.argv[1:] if arguments is None else arguments)
    gc.freeze()
    sys.exit(status)
