"""The files a chart is written as."""

from __future__ import annotations

from typing import Any

from pic2chart.chart import Chart


def chart_files(chart: Chart, stem: str) -> dict[str, Any]:
    """The chart folder's files by name: chart file, pixels, chart sheet and the fabric's front."""
    from pic2chart.chart.json_file import chart_to_text
    from pic2chart.draw import chart_sheet, fabric_front, pixels_png, sheet_svg

    return {
        f"{stem}.chart.json": chart_to_text(chart),
        f"{stem}.png": pixels_png(chart),
        f"{stem}.svg": sheet_svg(chart_sheet(chart)),
        f"{stem}-front.png": fabric_front(chart),
    }
