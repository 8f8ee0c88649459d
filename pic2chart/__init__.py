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
    from pic2chart.checks.finding import Finding
    from pic2chart.checks.report import Report, report_of
    from pic2chart.checks.rules import check
    from pic2chart.core.errors import Pic2ChartError
    from pic2chart.core.settings import Settings
    from pic2chart.garment.making import make_garment, write_garment
    from pic2chart.mending import mend
    from pic2chart.model.any_file import read_any as read_chart
    from pic2chart.model.chart import Catch, Chart, Rules
    from pic2chart.model.chart_file import write_chart
    from pic2chart.model.gauge import Gauge
    from pic2chart.model.repeat import find_repeat
    from pic2chart.model.yarn import Yarn
    from pic2chart.pipeline import make_chart, write_chart_folder
    from pic2chart.reading.chart_photo import read_photo
    from pic2chart.reading.reading_settings import GaugeSettings, ReadSettings
    from pic2chart.reading.swatch_photo import measure_swatch
    from pic2chart.sheets.chart.chart_sheet import chart_sheet
    from pic2chart.sheets.document import sheet_files
    from pic2chart.sheets.fabric.front import fabric_front
    from pic2chart.sheets.sheet_settings import SheetSettings
    from pic2chart.sheets.words.read import read_words
    from pic2chart.sheets.words.write import words_text
    from pic2chart.sheets.writers.png import pixels_png
    from pic2chart.stranding.strands import plan_strands
    from pic2chart.yarns.amounts import amounts_of
    from pic2chart.yarns.contrast import compare_yarns
    from pic2chart.yarns.yarn_photo import measure_photo

__version__ = "0.1.0"

_HOMES = {
    "Catch": "model.chart",
    "Chart": "model.chart",
    "Finding": "checks.finding",
    "Gauge": "model.gauge",
    "GaugeSettings": "reading.reading_settings",
    "Pic2ChartError": "core.errors",
    "ReadSettings": "reading.reading_settings",
    "Report": "checks.report",
    "Rules": "model.chart",
    "Settings": "core.settings",
    "SheetSettings": "sheets.sheet_settings",
    "Yarn": "model.yarn",
    "amounts_of": "yarns.amounts",
    "chart_sheet": "sheets.chart.chart_sheet",
    "check": "checks.rules",
    "compare_yarns": "yarns.contrast",
    "fabric_front": "sheets.fabric.front",
    "find_repeat": "model.repeat",
    "make_chart": "pipeline",
    "make_garment": "garment.making",
    "measure_photo": "yarns.yarn_photo",
    "measure_swatch": "reading.swatch_photo",
    "mend": "mending",
    "pixels_png": "sheets.writers.png",
    "plan_strands": "stranding.strands",
    "read_chart": "model.any_file:read_any",
    "read_photo": "reading.chart_photo",
    "read_words": "sheets.words.read",
    "report_of": "checks.report",
    "sheet_files": "sheets.document",
    "words_text": "sheets.words.write",
    "write_chart": "model.chart_file",
    "write_chart_folder": "pipeline",
    "write_garment": "garment.making",
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
