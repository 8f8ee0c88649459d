"""A chart to draw on: one light yarn throughout, a dark one at hand."""

from __future__ import annotations

import numpy as np

from pic2chart.chart import Chart, Rules
from pic2chart.gauge import Gauge
from pic2chart.settings import Settings
from pic2chart.yarn import Yarn

TITLE = "new chart"
YARNS = (Yarn("light", "#ece2d0"), Yarn("dark", "#26304c"))


def blank_chart(stitches: int, rounds: int) -> Chart:
    """A chart of that size under the usual rules and gauge, knitted in the round."""
    usual = Settings()
    squares = np.zeros((rounds, stitches), np.uint8)
    gauge = Gauge.parse(usual.gauge)
    return Chart(squares, YARNS, gauge, TITLE, "round", "right", Rules.of(usual))
