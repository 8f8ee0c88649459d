"""Charts on pages: repeats once, pieces whole, folds at named places, every square printed once."""

from __future__ import annotations

import numpy as np
import pytest

from pic2chart.model.chart import Chart
from pic2chart.model.construction import Construction, StepSection
from pic2chart.model.folds import Place, Unit
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.chart.chart_pages import charts_on_pages
from pic2chart.sheets.chart.panels import foldings
from pic2chart.sheets.chart.setting import set_boxes
from pic2chart.sheets.marks.page import Boxes, Label
from pic2chart.sheets.sheet_settings import LARGE_PRINT, PLAIN, SheetLook

YARNS = (Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"))


def made(rounds: int, stitches: int, **parts: object) -> Chart:
    cells = np.random.default_rng(5).integers(0, 2, (rounds, stitches)).astype(np.uint8)
    return Chart(cells, YARNS, Gauge(28, 30), "dog", **parts)  # type: ignore[arg-type]


@pytest.mark.parametrize("shape", [(20, 30), (86, 91), (24, 152), (54, 54)])
def test_every_way_to_fold_prints_every_square_once(shape: tuple[int, int]) -> None:
    chart = made(*shape, construction=Construction(places=(Place(3, 12, "picture"),)))
    for panels in foldings(chart):
        seen = np.zeros(shape, int)
        for panel in panels:
            seen[slice(*panel.rounds), slice(*panel.stitches)] += 1
        assert (seen == 1).all()


def test_a_unit_is_printed_once_and_boxed() -> None:
    cells = np.tile(made(10, 6).stitches, (1, 20))
    chart = Chart(cells, YARNS, construction=Construction(units=(Unit(0, 10, 0, 6, 20),)))
    (panels,) = foldings(chart)
    assert [panel.size for panel in panels] == [(6, 10)]
    assert panels[0].caption() == "Rounds 1–10: work these 6 stitches 20 times"
    ((_, (page,)),) = charts_on_pages([chart], "dog", "a4", PLAIN)
    assert [m.name for m in page.sheet.marks].count("repeat") == 1
    numbers = {
        m.text for m in page.sheet.marks if isinstance(m, Label) and m.name == "stitch-number"
    }
    assert numbers == {"1", "5"}


def test_rounds_between_repeats_are_said_by_the_pattern() -> None:
    low, high = made(4, 6).stitches, made(4, 5).stitches
    cells = np.full((9, 24), 255, np.uint8)
    cells[:4] = np.tile(low, (1, 4))
    cells[4:, 2:22] = 0
    cells[5:, 2:22] = np.tile(high, (1, 4))
    units = (Unit(0, 4, 0, 6, 4), Unit(5, 4, 2, 5, 4))
    line = "Round 5: *k4, k2tog; repeat from * 3 times more. 20 sts."
    steps = (StepSection("Yoke", (line,)),)
    chart = Chart(cells, YARNS, construction=Construction(units=units, steps=steps))
    (panels,) = foldings(chart)
    assert [panel.note for panel in panels] == [(), (line,)]
    without = chart.with_(construction=Construction(units=units))
    assert [panel.size for panel in foldings(without)[0]] == [(6, 4), (24, 1), (5, 4)]


@pytest.mark.parametrize(("stitches", "folded"), [(54, False), (60, False), (70, True)])
def test_a_piece_stays_whole_while_its_squares_are_three_millimetres(
    stitches: int, folded: bool
) -> None:
    half = stitches // 2
    places = (Place(0, half, "back"), Place(half, stitches - half, "palm"))
    chart = made(54, stitches, construction=Construction(places=places))
    ((_, pages),) = charts_on_pages([chart], "dog", "a4", PLAIN)
    frames = [
        box
        for page in pages
        for m in page.sheet.marks
        if isinstance(m, Boxes) and m.name == "frame"
        for box in m.boxes
    ]
    across = stitches if not folded else half
    upright = all(page.sheet.height > page.sheet.width for page in pages)
    if not folded:
        assert len(frames) == 1
        assert frames[0][2] / across >= 2.95
        assert upright
    else:
        assert sum(frame[2] for frame in frames) / stitches >= 2.95


def test_the_back_and_the_palm_are_named() -> None:
    places = (Place(0, 27, "back"), Place(27, 27, "palm"))
    chart = made(54, 54, construction=Construction(places=places))
    for look in (PLAIN, SheetLook(scale=LARGE_PRINT)):
        ((_, pages),) = charts_on_pages([chart], "dog", "a4", look)
        said = " ".join(
            m.text
            for page in pages
            for m in page.sheet.marks
            if isinstance(m, Label) and m.name in ("place", "caption")
        )
        assert "BACK" in said
        assert "PALM" in said


def test_small_charts_share_a_page_and_large_ones_do_not() -> None:
    hand, thumb = made(40, 40), made(14, 20)
    groups = charts_on_pages([hand, thumb, hand.with_(title="left"), thumb], "dog", "a4", PLAIN)
    assert [len(charts) for charts, _ in groups] == [2, 2]
    wide = made(150, 150)
    assert [len(charts) for charts, _ in charts_on_pages([wide, thumb], "dog", "a4", PLAIN)] == [
        1,
        1,
    ]


def test_boxes_stay_in_their_room_and_apart() -> None:
    boxes = [(40.0, 30.0), (70.0, 30.0), (25.0, 50.0), (60.0, 20.0)]
    room = (100.0, 90.0)
    spots = set_boxes(boxes, room, first_right=True)
    assert spots is not None
    placed = [(s.page, s.left, s.top, *boxes[s.box]) for s in spots]
    for page, left, top, wide, high in placed:
        assert left >= 0
        assert top >= 0
        assert left + wide <= room[0] + 1e-6
        assert top + high <= room[1] + 1e-6
        for other in placed:
            if other[0] == page and other[1:] != (left, top, wide, high):
                apart = other[1] >= left + wide - 1e-6 or left >= other[1] + other[3] - 1e-6
                above = other[2] >= top + high - 1e-6 or top >= other[2] + other[4] - 1e-6
                assert apart or above
    assert set_boxes([(101.0, 5.0)], room, first_right=True) is None
