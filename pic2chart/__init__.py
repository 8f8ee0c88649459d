"""pic2chart: from a picture to a stranded-colourwork chart that can be knitted.

    from pathlib import Path
    import pic2chart

    settings = pic2chart.Settings(stitches=64, yarn=("oat=#ece2d0", "ink=#26304c"))
    made = pic2chart.make_chart(Path("dog.jpg"), settings)
    print(made.report.catches, made.findings)
    pic2chart.write_chart_folder(made, Path("dog-chart"))

Names are loaded when first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pic2chart.amounts import amounts_of
    from pic2chart.chart import Catch, Chart, Rules
    from pic2chart.chart.any_file import read_any as read_chart
    from pic2chart.chart.json_file import write_chart
    from pic2chart.contrast import compare_yarns
    from pic2chart.draw import chart_sheet, fabric_front, pixels_png
    from pic2chart.errors import Pic2ChartError
    from pic2chart.garment.files import make_garment, write_garment
    from pic2chart.gauge import Gauge
    from pic2chart.mending import mend
    from pic2chart.pipeline import make_chart, write_chart_folder
    from pic2chart.reading.chart_photo import read_photo
    from pic2chart.reading.gauge_settings import GaugeSettings
    from pic2chart.reading.read_settings import ReadSettings
    from pic2chart.reading.swatch_photo import measure_swatch
    from pic2chart.repeat import find_repeat
    from pic2chart.report import Report, report_of
    from pic2chart.rules import Finding, check
    from pic2chart.settings import Settings
    from pic2chart.shade import measure_photo
    from pic2chart.sheet_settings import SheetSettings
    from pic2chart.sheets import sheet_files
    from pic2chart.strands import plan_strands
    from pic2chart.words import read_words, words_text
    from pic2chart.yarn import Yarn

__version__ = "0.1.0"

_HOMES = {
    "Catch": "chart",
    "Chart": "chart",
    "Finding": "rules",
    "Gauge": "gauge",
    "GaugeSettings": "reading.gauge_settings",
    "Pic2ChartError": "errors",
    "ReadSettings": "reading.read_settings",
    "Report": "report",
    "Rules": "chart",
    "Settings": "settings",
    "SheetSettings": "sheet_settings",
    "Yarn": "yarn",
    "amounts_of": "amounts",
    "chart_sheet": "draw",
    "check": "rules",
    "compare_yarns": "contrast",
    "fabric_front": "draw",
    "find_repeat": "repeat",
    "make_chart": "pipeline",
    "make_garment": "garment.files",
    "measure_photo": "shade",
    "measure_swatch": "reading.swatch_photo",
    "mend": "mending",
    "pixels_png": "draw",
    "plan_strands": "strands",
    "read_chart": "chart.any_file:read_any",
    "read_photo": "reading.chart_photo",
    "read_words": "words",
    "report_of": "report",
    "sheet_files": "sheets",
    "words_text": "words",
    "write_chart": "chart.json_file",
    "write_chart_folder": "pipeline",
    "write_garment": "garment.files",
}

__all__ = [
    "Catch",
    "Chart",
    "Finding",
    "Gauge",
    "GaugeSettings",
    "Pic2ChartError",
    "ReadSettings",
    "Report",
    "Rules",
    "Settings",
    "SheetSettings",
    "Yarn",
    "amounts_of",
    "chart_sheet",
    "check",
    "compare_yarns",
    "fabric_front",
    "find_repeat",
    "make_chart",
    "make_garment",
    "measure_photo",
    "measure_swatch",
    "mend",
    "pixels_png",
    "plan_strands",
    "read_chart",
    "read_photo",
    "read_words",
    "report_of",
    "sheet_files",
    "words_text",
    "write_chart",
    "write_chart_folder",
    "write_garment",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'pic2chart' has no attribute '{name}'")
    home, _, original = _HOMES[name].partition(":")
    return getattr(import_module(f"pic2chart.{home}"), original or name)


def __dir__() -> list[str]:
    return sorted(__all__)
