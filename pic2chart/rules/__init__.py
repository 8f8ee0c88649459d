"""Rules: each reads a chart and reports findings; none mends."""

from pic2chart.rules.finding import Finding, Level

__all__ = ["Finding", "Level"]
