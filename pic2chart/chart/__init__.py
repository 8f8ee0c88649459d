"""Charts: the frozen value, and its files."""

from pic2chart.chart.chart import NO_STITCH, Catch, Chart, Rules

__all__ = ["NO_STITCH", "Catch", "Chart", "Rules"]
