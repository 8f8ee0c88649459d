"""The command line: one file per command, a table of them in `app`, nothing heavy on the way in."""

from __future__ import annotations

import sys
from collections.abc import Sequence


def main(arguments: Sequence[str] | None = None) -> None:
    """The console script. Leaves with 0 (done), 1 (done, error-level findings) or 2 (could not)."""
    from pic2chart.core.safe_path import import_from_safe_places

    import_from_safe_places()
    from pic2chart.cli.app import run

    sys.exit(run(sys.argv[1:] if arguments is None else arguments))
