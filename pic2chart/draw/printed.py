"""What the type on paper can show of a chart's names.

The type has Latin, Greek and Cyrillic. A yarn whose name has other letters is called by its key on
paper, so that no two yarns look alike; SVG, words and the knit-along page, which use the reader's own
type, keep every name.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from pic2chart.chart import Chart
from pic2chart.chart.keys import KEYS
from pic2chart.chart.steps import read_steps
from pic2chart.draw.page import clean
from pic2chart.draw.type_files import lacks


def printable(chart: Chart) -> Chart:
    """The chart with the key for every yarn's name that cannot be printed; itself when all can."""
    if not any(lacks(yarn.name) for yarn in chart.yarns):
        return chart
    yarns = tuple(
        replace(yarn, name=f"yarn {key}") if lacks(yarn.name) else yarn
        for key, yarn in zip(KEYS, chart.yarns, strict=False)
    )
    return chart.with_(yarns=yarns)


def letters_lacking(chart: Chart, author: str) -> str:
    """The letters of title, author, yarns and pattern that paper cannot show, each once, in order."""
    texts = (chart.title, author, *(yarn.name for yarn in chart.yarns), *_pattern(chart))
    return "".join(dict.fromkeys(c for text in texts for c in clean(text) if lacks(c)))


def _pattern(chart: Chart) -> Iterator[str]:
    sections: Iterable[tuple[str, Iterable[str]]] = read_steps(chart.extra)
    for heading, lines in sections:
        yield heading
        yield from lines
