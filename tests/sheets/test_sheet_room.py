"""On every page there is room for all that is written: nothing off the paper, no words on words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from reportlab.pdfbase import pdfmetrics

from pic2chart.checks.cautions import cautions
from pic2chart.design.checked import with_catches
from pic2chart.model.chart import NO_STITCH, Chart, Rules
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.chart.chart_pages import chart_pages
from pic2chart.sheets.chart.chart_sheet import chart_sheet
from pic2chart.sheets.marks.page import Boxes, Label, Sheet
from pic2chart.sheets.marks.printed import shown, with_foot
from pic2chart.sheets.marks.type_files import BOLD, REGULAR
from pic2chart.sheets.sheet_settings import LARGE_PRINT, SheetLook
from pic2chart.sheets.strands.strand_sheet import rounds_to_teach, strand_sheets
from pic2chart.sheets.words.words_pages import pattern_pages, words_pages
from pic2chart.sheets.writers.pdf import sheets_pdf
from pic2chart.stranding.strands import plan_strands
from tests.helpers.constructed import constructed

COLOURS = ("#ece2d0", "#26304c", "#a8502f", "#5d6b3a", "#aeb6bd", "#56616b")
COLOURS += ("#803050", "#d0a040", "#101010", "#ffffff", "#777777", "#00aa55")
LOOKS = {
    "usual": SheetLook(author="A. Gull"),
    "large": SheetLook(scale=LARGE_PRINT, units="in"),
    "wordless": SheetLook(words=False, symbols="plain", heavy=5),
}
KINDS = ("k2tog", "ssk", "centred", "increase", "increase-left", "increase-right")
CROWDED = constructed(
    {
        "shaping": [
            {"round": 5, "stitch": 2 * n + 2, "kind": kind} for n, kind in enumerate(KINDS)
        ],
        "openings": [{"round": 9, "stitch": 2, "count": 5}],
        "piece": "mitten",
        "for_child": True,
    }
)
LONG = "a very long title about gulls over the harbour wall in winter " * 3


def made(rounds: int, stitches: int, yarns: int, names: str = "y{}", **parts: object) -> Chart:
    """A chart of few yarns a round, changing all the time."""
    rng = np.random.default_rng(3)
    allowed = 3 if yarns == 12 else 2
    cells = np.zeros((rounds, stitches), np.uint8)
    for row in cells:
        row[:] = rng.permutation(yarns)[rng.integers(0, min(allowed, yarns), stitches)]
    parts.setdefault("gauge", Gauge(28, 30))
    parts.setdefault("title", "dog")
    shelf = tuple(Yarn(names.format(n), COLOURS[n]) for n in range(yarns))
    return with_catches(Chart(cells, shelf, rules=Rules(allowed), **parts))  # type: ignore[arg-type]


def gappy() -> Chart:
    chart = made(40, 40, 2)
    cells = chart.stitches.copy()
    cells[20:, :10] = cells[30:, 30:] = NO_STITCH
    return with_catches(chart.with_(stitches=cells, catches=()))


CHARTS = {
    "tiny": lambda: made(2, 4, 2),
    "one yarn": lambda: made(1, 5, 1),
    "crowded": lambda: made(
        30,
        30,
        12,
        "hand dyed sport weight {} of the harbour mill",
        title=LONG,
        construction=CROWDED,
    ),
    "tall": lambda: made(200, 17, 3, worked="flat"),
    "wide": lambda: made(12, 140, 2, hand="left"),
    "repeat": lambda: made(20, 20, 2, repeat=(10, 5)),
    "large": lambda: made(120, 120, 6),
    "gaps": gappy,
    "flat stitches": lambda: made(40, 40, 2, gauge=Gauge(14, 40), worked="flat", hand="left"),
    "tall stitches": lambda: made(40, 40, 2, gauge=Gauge(30, 14)),
}


@pytest.fixture(scope="module", autouse=True)
def type_measured() -> None:
    """The PDF writer registers the type whose widths are asked for."""
    sheets_pdf((Sheet(10, 10, "t", "d", (Label((1, 5), "x", 3),)),), title="t")


def room_of(label: Label) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of what a label covers, mm."""
    width = pdfmetrics.stringWidth(shown(label.text), BOLD if label.bold else REGULAR, label.size)
    left = label.at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * width
    return left, label.at[1] - 0.72 * label.size, left + width, label.at[1] + 0.18 * label.size


def crossing(sheet: Sheet) -> list[tuple[str, str]]:
    """Pairs of words that lie on each other."""
    placed = sorted((room_of(m), m.text) for m in sheet.marks if isinstance(m, Label) and m.text)
    found = []
    for n, (a, text) in enumerate(placed):
        for b, other in placed[n + 1 :]:
            if b[0] > a[2] - 0.15:
                break
            if min(a[3], b[3]) - max(a[1], b[1]) > 0.15:
                found.append((text, other))
    return found


def check_room(sheets: Sequence[Sheet]) -> None:
    for number, sheet in enumerate(sheets, 1):
        assert crossing(sheet) == [], number
        for mark in sheet.marks:
            if isinstance(mark, Label):
                left, top, right, bottom = room_of(mark)
                assert 4 < left < right < sheet.width - 4 or not mark.text.strip(), (number, mark)
                assert 4 < top < bottom < sheet.height - 4, (number, mark)
            elif isinstance(mark, Boxes):
                for x, y, wide, tall in mark.boxes:
                    assert 0 <= x <= x + wide <= sheet.width + 1e-6, (number, mark.name)
                    assert 0 <= y <= y + tall <= sheet.height + 1e-6, (number, mark.name)


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("name", CHARTS)
@pytest.mark.faulty_charts
def test_all_that_is_written_has_room(name, look):
    chart, shape = CHARTS[name](), LOOKS[look]
    paper = ("a4", "letter")[len(name + look) % 2]
    plan = plan_strands(chart)
    check_room(with_foot(chart_pages(chart, paper, shape)[0], chart.title, shape))
    check_room([chart_sheet(chart, look=shape)])
    check_room(strand_sheets(chart, plan, rounds_to_teach(chart), paper, shape))
    if shape.words:
        told = (*plan.holding(chart.hand), " ".join(cautions(chart)))
        words = words_pages(chart, paper, shape, told, plan.changes)
        check_room(with_foot(words, chart.title, shape))


@pytest.mark.parametrize("look", ["usual", "large"])
def test_a_pattern_of_any_length_stays_on_its_pages(look):
    lines = ["work even " * 200, "knit", "w" * 300, ""]
    steps = [{"heading": f"part {n} " * (1 + 9 * (n % 2)), "lines": lines} for n in range(12)]
    chart = made(4, 6, 2, title=LONG, construction=constructed({"steps": steps}))
    sheets = pattern_pages(chart, "letter", LOOKS[look])
    assert len(sheets) > 3
    check_room(with_foot(sheets, chart.title, LOOKS[look]))
    told = " ".join(m.text for s in sheets for m in s.marks if isinstance(m, Label))
    assert told.count("work") == 12 * 200


def test_the_overview_holds_key_and_map_and_hides_nothing():
    chart, look = made(200, 200, 12, "hand dyed {}"), LOOKS["large"]
    sheets, names = chart_pages(chart, "a4", look)
    assert names[0] == "Overview"
    assert "Overview" not in names[1:]
    (frame,) = [m for m in sheets[0].marks if isinstance(m, Boxes) and m.name == "frame"]
    _, top, _, height = frame.boxes[0]
    assert height >= 70
    plates = [m for m in sheets[0].marks if isinstance(m, Label) and m.name == "page number"]
    assert [m.text for m in plates] == [str(n) for n in range(2, len(sheets) + 1)]
    assert all(m.at[1] < top for m in plates)
    assert any(m.name.startswith("catch") for m in sheets[0].marks)
    keys = [m.text for m in sheets[0].marks if isinstance(m, Label) and m.name == "key yarn"]
    assert len(keys) == 12
