"""Charts: the frozen value, and its files."""

from pic2chart.chart.any_file import read_any
from pic2chart.chart.chart import NO_STITCH, Catch, Chart, Rules
from pic2chart.chart.csv_file import read_csv, write_csv
from pic2chart.chart.json_file import chart_from_text, chart_to_text, read_chart, write_chart
from pic2chart.chart.png_file import read_png

__all__ = [
    "NO_STITCH",
    "Catch",
    "Chart",
    "Rules",
    "chart_from_text",
    "chart_to_text",
    "read_any",
    "read_chart",
    "read_csv",
    "read_png",
    "write_chart",
    "write_csv",
]
