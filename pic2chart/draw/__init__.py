"""Drawing: a chart turned into sheets and pictures. Writers take charts and findings, never files."""

from pic2chart.draw.chart_sheet import changed_stitches, changes_sheet, chart_sheet
from pic2chart.draw.fabric import fabric_front
from pic2chart.draw.page import Sheet
from pic2chart.draw.pixels import pixels_png
from pic2chart.draw.svg import sheet_svg

__all__ = [
    "Sheet",
    "changed_stitches",
    "changes_sheet",
    "chart_sheet",
    "fabric_front",
    "pixels_png",
    "sheet_svg",
]
