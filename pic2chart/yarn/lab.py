"""Yarns as points of colour space."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pic2chart.colour import srgb_to_lab
from pic2chart.yarn.yarn import Yarn


def yarn_lab(yarns: Sequence[Yarn]) -> NDArray[np.float64]:
    """Lab of every yarn, float64 [K, 3]."""
    return srgb_to_lab(np.array([yarn.rgb for yarn in yarns], np.uint8))
