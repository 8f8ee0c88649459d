"""The size and the yarns of charts that are read: large squares, what bears a size out, warnings."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest

from pic2chart.cli.words import worded as in_the_shell
from pic2chart.core.colour import delta_e2000, srgb_to_lab
from pic2chart.core.errors import SettingError
from pic2chart.reading.chart_grid import ChartGrid
from pic2chart.reading.chart_photo import Reading, read_photo, warned
from pic2chart.reading.heavy_lines import HeavyLines, heavy_lines
from pic2chart.reading.lattice import lattice_of_corners
from pic2chart.reading.margins import Margins
from pic2chart.reading.reading_settings import ReadSettings
from pic2chart.reading.second_look import distinct_colours
from pic2chart.reading.squares import Sides, beyond, chart_box, closed_box
from pic2chart.sheets.marks.order import to_page
from tests.helpers.drawn_charts import drawn_chart
from tests.helpers.photograph import CLEAN, jpeg_bytes, photograph
from tests.helpers.squared_paper import Hand, paper_page

COLOURS = [(255, 255, 255), (38, 48, 76), (168, 80, 47)]
PLAIN = Hand(square=110, tenth=1)


def saved(picture: np.ndarray, folder: Path) -> Path:
    path = folder / "photo.jpg"
    path.write_bytes(jpeg_bytes(picture, 92))
    return path


def spots(rows: int, columns: int, seed: int = 0) -> np.ndarray:
    """Single squares and pairs of two yarns on a ground, with one in every rim."""
    stitches = (np.random.default_rng(seed).random((rows, columns)) < 0.2).astype(np.uint8)
    stitches[0, 1] = stitches[-1, 2] = stitches[1, 0] = stitches[2, -1] = 1
    stitches[rows // 2, 1:4] = 2
    return stitches


@pytest.mark.parametrize("size", [(9, 9), (12, 8), (15, 15)])
def test_large_squares_are_not_split(tmp_path, size):
    stitches = spots(*size)
    photo = photograph(paper_page(stitches, COLOURS, PLAIN), CLEAN)[0]
    reading = read_photo(saved(photo, tmp_path), ReadSettings(yarns=3))
    assert reading.chart.stitches.shape == size


def test_heavy_lines_bear_the_size_out_or_contradict_it():
    page = paper_page(spots(20, 30), COLOURS, Hand(square=24, tenth=3))
    gray = cv2.cvtColor(page, cv2.COLOR_RGB2GRAY)
    whole = [[60, 60], [60 + 30 * 24, 60], [60 + 30 * 24, 60 + 20 * 24], [60, 60 + 20 * 24]]
    grid = ChartGrid(lattice_of_corners(np.array(whole, float), 30, 20), 30, 20, 1.0)
    assert heavy_lines(gray, grid, 0) == HeavyLines(10, True)
    assert heavy_lines(gray, grid, 1) == HeavyLines(10, True)
    # Four columns cut off at each side: the heavy lines no longer lie at tens from either edge.
    cut = np.array(whole, float) + np.array([[96, 0], [-96, 0], [-96, 0], [96, 0]])
    part = ChartGrid(lattice_of_corners(cut, 22, 20), 22, 20, 1.0)
    assert heavy_lines(gray, part, 0) != HeavyLines(10, True)


def test_the_size_is_told_in_words(tmp_path):
    photo = photograph(paper_page(spots(20, 24), COLOURS, Hand()), CLEAN)[0]
    reading = read_photo(saved(photo, tmp_path))
    assert str(reading.report.remarks[0]) == (
        "Size: 24 stitches × 20 rounds; the heavy lines every 10 squares agree."
    )


def test_one_yarn_is_a_warning_and_so_is_a_bare_rim(tmp_path):
    empty = np.zeros((12, 16), np.uint8)
    page = paper_page(empty, COLOURS, Hand())
    reading = read_photo(saved(page, tmp_path), ReadSettings(yarns=1))
    assert any(f.rule == "yarns-read" and f.level == "warning" for f in reading.findings)
    assert reading.report.warnings == sum(f.level == "warning" for f in reading.findings)
    motif = spots(12, 16)
    motif[:, :3] = 0  # knitting order: the right-hand side of the page
    page = paper_page(motif, COLOURS, Hand())
    reading = read_photo(saved(page, tmp_path))
    said = [f.message for f in reading.findings if f.rule == "size-read"]
    assert any("right" in words and "column" in words for words in said)


def test_what_is_said_of_a_reading_is_said_once(tmp_path):
    motif = spots(12, 16)
    motif[[0, -1]] = 0
    reading = read_photo(saved(paper_page(motif, COLOURS, Hand()), tmp_path))
    said = [f for f in reading.findings if f.what.code == "bare-rim"]
    assert [str(f.what).split(" is in ")[1].split(":")[0] for f in said] == [
        "1 row at the top and 1 row at the bottom"
    ]
    again = warned(reading, said * 2)
    assert (again.findings, again.report) == (reading.findings, reading.report)


def test_a_chart_on_its_side_in_a_region_is_read_and_its_yarns_are_named(tmp_path):
    stitches = spots(12, 18)
    photo = photograph(paper_page(stitches, COLOURS, Hand()), CLEAN)[0]
    path = saved(np.rot90(photo).copy(), tmp_path)
    height, width = photo.shape[1], photo.shape[0]
    settings = ReadSettings(
        turn="90",
        stitches=18,
        rounds=12,
        region=f"20,20,{width - 40},{height - 40}",
        yarn=("chalk=#ffffff", "night=#26304c", "rust=#a8502f"),
    )
    reading = read_photo(path, settings)
    names = np.array([yarn.name for yarn in reading.chart.yarns])[reading.chart.stitches]
    assert np.array_equal(names, np.array(["chalk", "night", "rust"])[stitches])


def test_a_turn_and_corners_are_not_both_taken():
    with pytest.raises(SettingError, match="both given"):
        ReadSettings(turn="90", corners="0,0,90,0,90,90,0,90")


@pytest.mark.parametrize(("seed", "size"), [(5001, (37, 50)), (5005, (32, 17))])
def test_numbers_beside_a_chart_are_no_squares_of_it(tmp_path, seed, size):
    drawn = drawn_chart(seed, "screen")
    assert drawn.yarn.shape == size
    assert read_photo(saved(drawn.page, tmp_path)).chart.stitches.shape == size


def hidden_rounds(tone: float) -> Sides:
    """12 × 20 squares with lines about all but the uppermost four rounds, which one last line ends."""
    upright, level = np.zeros((30, 23)), np.zeros((31, 22))
    upright[9:25, 5:18] = level[9:26, 5:17] = level[5, 5:17] = 1
    shade = np.full((30, 22), 200.0)
    shade[5:9, 5:17] = tone
    return Sides(upright, level, shade, (0, 0), (upright, level))


def test_rounds_in_dark_yarn_whose_lines_do_not_show_are_part_of_the_chart():
    assert chart_box(hidden_rounds(60)) == (5, 5, 17, 25)
    assert chart_box(hidden_rounds(60), rows=16) == (5, 9, 17, 25)
    # Light squares would show their lines: what lies beyond is none of the chart, but told.
    paper = hidden_rounds(200)
    assert chart_box(paper) == (5, 9, 17, 25)
    assert beyond(paper, (5, 9, 17, 25)) == (0, 4, 0, 0)
    # A dark square at its end hides a part of the line before the dark rounds, too.
    near = hidden_rounds(60)
    near.level[9, 5] = 0
    assert chart_box(near) == (5, 5, 17, 25)
    # The edge of the paper is no last line: it goes on beside the chart.
    paper.level[5] = 1
    assert beyond(paper, (5, 9, 17, 25)) == (0, 0, 0, 0)


def beside_a_bar(crossed: float) -> Sides:
    """12 × 16 squares, and a column at the left up to a line as long as they; so much is seen of what
    crosses it."""
    upright, level = np.zeros((26, 23)), np.zeros((27, 22))
    upright[5:21, 4:18] = level[5:22, 5:17] = 1
    level[5:22, 4] = crossed
    return Sides(upright, level, np.full((26, 22), 200.0), (0, 0), (upright, level))


def test_a_column_up_to_a_bar_that_faded_is_part_of_the_chart():
    box = (5, 5, 17, 21)
    assert closed_box(beside_a_bar(0.8), box) == (4, 5, 17, 21)
    assert closed_box(beside_a_bar(0.8), box, columns=12) == box
    # Nothing crosses the strip between a chart and a frame round it.
    assert closed_box(beside_a_bar(0.1), box) == box
    # A line that goes on beyond the chart, as the edge of the paper does, ends no chart.
    paper = beside_a_bar(0.8)
    paper.upright[:, 4] = 1
    assert closed_box(paper, box) == box


def test_the_column_beside_the_bar_of_the_join_is_not_lost(tmp_path):
    drawn = drawn_chart(1205, "sheet")
    reading = read_photo(saved(drawn.page, tmp_path))
    assert reading.chart.stitches.shape == drawn.yarn.shape
    assert (
        len({*zip(reading.chart.stitches.flat, to_page(drawn.yarn, "right").flat, strict=True)})
        == 2
    )
    assert not any(f.rule == "size-read" for f in reading.findings)


def test_the_dark_rounds_of_a_sheet_are_not_lost(tmp_path):
    drawn = drawn_chart(302, "sheet")
    assert read_photo(saved(drawn.page, tmp_path)).chart.stitches.shape == drawn.yarn.shape


@pytest.mark.parametrize(("seed", "kind"), [(601, "symbols"), (609, "screen")])
def test_lines_between_marks_and_about_oblong_squares_are_seen(tmp_path, seed, kind):
    drawn = drawn_chart(seed, kind)
    assert read_photo(saved(drawn.page, tmp_path)).chart.stitches.shape == drawn.yarn.shape


@pytest.mark.parametrize(
    ("seed", "kind", "words"),
    [(1052, "symbols", "squares are far less sure"), (1007, "marks", "more lines like its own")],
)
def test_numbers_read_as_squares_and_rounds_left_out_are_told(tmp_path, seed, kind, words):
    drawn = drawn_chart(seed, kind)
    reading = read_photo(saved(drawn.page, tmp_path))
    right = reading.chart.stitches.shape == drawn.yarn.shape
    assert right or any(words in f.message for f in reading.findings if f.rule == "size-read")


def dark(reading: Reading) -> np.ndarray:
    """Which stitches are in a dark yarn."""
    return np.array([sum(yarn.rgb) < 380 for yarn in reading.chart.yarns])[reading.chart.stitches]


def test_empty_squared_paper_round_a_chart_is_left_out_and_told(tmp_path):
    drawn = drawn_chart(600, "paper")
    photo = saved(drawn.page, tmp_path)
    reading = read_photo(photo)
    painted = dark(reading)
    assert np.array_equal(painted, to_page(drawn.yarn, "right") > 0)
    (told,) = (f for f in reading.findings if f.rule == "size-read")
    assert "8 columns at the left of the photo" in str(told.message)
    assert "--stitches 42" in in_the_shell(told.cure)
    # A few more columns are shared out evenly, all of them are the whole paper.
    wider = dark(read_photo(photo, ReadSettings(stitches=33, rounds=20)))
    assert np.array_equal(wider, np.pad(painted, ((0, 0), (2, 2))))
    whole = read_photo(photo, ReadSettings(stitches=42, rounds=29))
    assert whole.chart.stitches.shape == (29, 42)


def test_margins_are_shared_out_as_the_known_size_asks():
    lined = ChartGrid(lattice_of_corners(np.eye(4, 2), 20, 10), 20, 10, 1.0)
    margins = Margins(1, 2, 7, 0)
    assert margins.sized(lined, None, None) == margins
    assert margins.sized(lined, 16, 9) == Margins(0, 1, 4, 0)
    assert margins.sized(lined, 20, 10) == Margins(0, 0, 0, 0)


def test_yarns_that_only_marks_tell_apart_have_colours_of_their_own():
    seen = np.array([(255, 255, 255), (254, 255, 253), (20, 20, 24)], np.uint8)
    given = distinct_colours(seen)
    assert np.array_equal(given[[0, 2]], seen[[0, 2]])
    lab = srgb_to_lab(given)
    apart = delta_e2000(lab[:, None], lab[None])[np.triu_indices(3, 1)]
    assert apart.min() > 15
    assert np.array_equal(distinct_colours(given), given)
