"""Names of files made from others'."""

from __future__ import annotations

import re
from pathlib import Path

from pic2chart.core.files import file_stem


def stem_of(path: Path) -> str:
    """The name of a chart's files, without their endings."""
    return file_stem(re.sub(r"\.chart$", "", path.stem))
