"""Keys beside charts, marks told by their moments, and marks faded so that lines are found."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw

from pic2chart.model.yarn import Yarn
from pic2chart.reading.chart_grid import ChartGrid
from pic2chart.reading.chart_key import Key
from pic2chart.reading.chart_photo import read_photo
from pic2chart.reading.faded import faded
from pic2chart.reading.heavy_lines import HeavyLines, heavy_lines
from pic2chart.reading.lattice import lattice_of_corners
from pic2chart.reading.marks import marks_of
from pic2chart.reading.second_look import key_findings
from tests.helpers.drawn_charts import drawn_chart

YARNS = (Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"), Yarn("rust", "#a8502f"))


@pytest.mark.slow
@pytest.mark.parametrize("seed", [5000, 5002])
def test_a_key_is_counted_and_never_read_as_chart(tmp_path, seed):
    drawn = drawn_chart(seed, "keyed")
    path = tmp_path / "chart.png"
    Image.fromarray(drawn.page).save(path, compress_level=1)
    reading = read_photo(path)
    assert reading.chart.stitches.shape == drawn.yarn.shape
    said = [str(remark) for remark in reading.report.remarks]
    assert any(f"a key of {drawn.key} squares" in line for line in said)


def test_a_yarn_that_the_key_lacks_is_warned_of_unless_a_square_of_it_is_unknown():
    boxes = np.zeros((2, 4))
    (finding,) = key_findings(Key(boxes, (0, 2)), YARNS)
    assert "ink is not in the key" in str(finding.message)
    assert not list(key_findings(Key(boxes, (1, 2)), YARNS)), "the ground need not be in it"
    assert not list(key_findings(Key(boxes, (0, -1)), YARNS))
    assert not list(key_findings(None, YARNS))


def mark(
    kind: str, at: tuple[float, float] = (0, 0), size: float = 4, paper: int = 240, ink: int = 40
):
    """Logarithms of one square's pixels [1, 1, 16, 16]: a mark, drawn at eight times the size."""
    image = Image.new("L", (128, 128), paper)
    draw = ImageDraw.Draw(image)
    (x, y), s = (64 + 8 * at[0], 64 + 8 * at[1]), 8 * size
    if kind == "dot":
        draw.ellipse([x - s, y - s, x + s, y + s], fill=ink)
    elif kind == "cross":
        draw.line([x - s, y - s, x + s, y + s], fill=ink, width=12)
        draw.line([x - s, y + s, x + s, y - s], fill=ink, width=12)
    elif kind == "plus":
        draw.line([x - s, y, x + s, y], fill=ink, width=12)
        draw.line([x, y - s, x, y + s], fill=ink, width=12)
    elif kind == "stroke":
        draw.line([x, y - s, x, y + s], fill=ink, width=12)
    small = np.asarray(image.resize((16, 16), Image.BOX), dtype=np.float32)
    return np.log(small + 12)[None, None]


@pytest.mark.parametrize("kind", ["dot", "cross", "plus", "stroke"])
def test_a_mark_keeps_its_numbers_where_it_moves_and_differs_from_other_marks(kind):
    own = marks_of(mark(kind))[0, 0]
    moved = [marks_of(mark(kind, at))[0, 0] for at in ((0.5, 0.3), (-0.7, 0.6), (0.4, -0.8))]
    stray = max(float(np.abs(own - other)[1:].max()) for other in moved)
    others = [
        marks_of(mark(other))[0, 0] for other in ("dot", "cross", "plus", "stroke") if other != kind
    ]
    nearest = min(float(np.abs(own - other)[1:].max()) for other in others)
    assert nearest > 2 * stray
    assert own[0] > 0 > marks_of(mark(kind, paper=40, ink=240))[0, 0, 0]


def test_an_empty_square_has_no_mark():
    assert np.abs(marks_of(mark("none"))).max() < 1e-6


def ruled(square: int, count: int, ink: int, marked: bool) -> np.ndarray:
    """Grey paper ruled in squares, with a dark stroke in the middle of every square where marked."""
    side = square * count + 81
    page = np.full((side, side), 240, np.uint8)
    for n in range(count + 1):
        page[40 + n * square, 40:-40] = page[40:-40, 40 + n * square] = ink
    if marked:
        for row in range(count):
            for column in range(count):
                x, y = (40 + square * n + square // 2 for n in (column, row))
                page[y - square // 3 : y + square // 3, x - 1 : x + 2] = 50
    return page


def test_marks_are_faded_to_the_strength_of_the_lines_which_stay_as_they_are():
    page = ruled(24, 30, 190, True)
    plain = faded(page, np.eye(3))
    middle = plain[40 + 12, 40 + 12]
    assert page[52, 52] == 50
    assert 150 <= middle <= 190
    lines = page == 190
    assert np.array_equal(plain[lines], page[lines])
    dark = ruled(24, 30, 60, True)
    assert np.array_equal(faded(dark, np.eye(3)), dark), "lines as dark as marks leave marks alone"


def test_heavy_lines_may_be_hidden_but_not_displaced():
    def found(heavy: list[int]) -> HeavyLines | None:
        page = ruled(20, 31, 190, False)
        for n in heavy:
            page[40:-40, 39 + 20 * n : 42 + 20 * n] = 100
        corner = np.array([[40, 40], [660, 40], [660, 660], [40, 660]], float)
        return heavy_lines(page, ChartGrid(lattice_of_corners(corner, 31, 31), 31, 31, 1.0), 0)

    assert found([5, 10, 15, 20, 25, 30]) == HeavyLines(5, True)
    assert found([1, 6, 11, 16, 21, 26]) == HeavyLines(5, True)
    assert found([5, 10, 20, 25, 30]) == HeavyLines(5, True)
    assert found([5, 10, 12, 15, 20, 25, 30]) == HeavyLines(5, True)
    assert found([5, 10, 14, 19, 24, 29]) == HeavyLines(5, False)
