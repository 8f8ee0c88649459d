"""A chart's construction from the plain data that its file would hold."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pic2chart.model.construction import Construction
from pic2chart.model.construction_file import read_construction
from pic2chart.model.keys import KEYS


def constructed(data: Mapping[str, Any], yarns: int = len(KEYS)) -> Construction:
    """What is read of the data, for a chart of so many yarns; what does not fit is left out."""
    return read_construction(data, {key: i for i, key in enumerate(KEYS[:yarns])})[0]
