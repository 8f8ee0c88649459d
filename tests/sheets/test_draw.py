"""Facts about drawn charts: right colours in the right places, complete keys, harmless names."""

from __future__ import annotations

import io
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from pic2chart.checks.finding import Finding
from pic2chart.core.colour import contrast_ratio
from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import said
from pic2chart.model.chart import NO_STITCH, Catch, Chart, Rules
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.chart.chart_sheet import changed_stitches, changes_sheet, chart_sheet
from pic2chart.sheets.chart.grid_layout import ABSENT, runs
from pic2chart.sheets.fabric.front import fabric_front, fabric_pixels, handy_px
from pic2chart.sheets.marks.page import Boxes, Label, Lines, Sheet, Stamps, text_width
from pic2chart.sheets.marks.symbols import SYMBOLS, ink_on
from pic2chart.sheets.writers.png import pixels_png
from pic2chart.sheets.writers.svg import sheet_svg
from tests.helpers.constructed import constructed

SHELF = (
    Yarn("oat", "#ece2d0"),
    Yarn("ink", "#26304c"),
    Yarn("rust", "#a8502f"),
    Yarn("moss", "#5d6b3a"),
    Yarn("fog", "#aeb6bd"),
)
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = '</title><script>alert(1)</script> & "gull" \x00\u202e\ud800'


def make_chart(rounds: int = 23, stitches: int = 17, yarns: int = 3, **parts: object) -> Chart:
    cells = np.random.default_rng(7).integers(0, yarns, (rounds, stitches)).astype(np.uint8)
    if parts.pop("ragged", False):
        cells[-4:, :3] = NO_STITCH
        cells[2, 9] = NO_STITCH
    parts.setdefault("gauge", Gauge(28, 31))
    return Chart(cells, SHELF[:yarns], title="harbour dog", **parts)  # type: ignore[arg-type]


def labels(sheet: Sheet, name: str) -> list[Label]:
    return [m for m in sheet.marks if isinstance(m, Label) and m.name == name]


def marks_named(sheet: Sheet, name: str) -> list:
    return [m for m in sheet.marks if m.name == name]


def page_cells(chart: Chart) -> np.ndarray:
    """The chart as seen on the page, written out stitch by stitch from the conventions."""
    rounds, stitches = chart.stitches.shape
    page = np.empty((rounds, stitches), dtype=np.uint8)
    for r in range(rounds):
        for s in range(stitches):
            column = stitches - 1 - s if chart.hand == "right" else s
            page[rounds - 1 - r, column] = chart.stitches[r, s]
    return page


def read_boxes(path: str) -> list[tuple[int, int, int, int]]:
    """Rectangles of a path of relative moves m, h, v, h, z, back in absolute units."""
    x = y = 0
    boxes = []
    for dx, dy, width, height in re.findall(r"m(-?\d+) ?(-?\d+)h(-?\d+)v(-?\d+)h-?\d+z", path):
        x, y = x + int(dx), y + int(dy)
        boxes.append((x, y, int(width), int(height)))
    return boxes


def painted_colours(svg: str, chart: Chart) -> np.ndarray:
    """The colour painted last at the middle of every square of the page, from the SVG text alone."""
    root = ElementTree.fromstring(svg)
    paths = [p for p in root.iter(f"{SVG}path") if p.get("class")]
    frame = next(p for p in paths if p.get("class") == "frame")
    left, top, width, height = read_boxes(frame.get("d", ""))[0]
    rows, columns = chart.stitches.shape
    seen = np.full((rows, columns), "", dtype=object)
    for path in paths:
        kind = path.get("class", "").split()[0]
        if kind not in ("squares", "no-stitch"):
            continue
        for x, y, w, h in read_boxes(path.get("d", "")):
            for row in range(rows):
                for column in range(columns):
                    mx = left + (column + 0.5) * width / columns
                    my = top + (row + 0.5) * height / rows
                    if x < mx < x + w and y < my < y + h:
                        seen[row, column] = path.get("fill")
    return seen


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("worked", ["round", "flat"])
def test_every_square_has_its_yarns_colour(hand, worked):
    chart = make_chart(hand=hand, worked=worked, ragged=True)
    seen = painted_colours(sheet_svg(chart_sheet(chart)), chart)
    colours = [yarn.colour for yarn in chart.yarns] + [ABSENT] * 253
    wanted = np.array(colours, dtype=object)[page_cells(chart)]
    assert (seen == wanted).all()


def test_every_square_has_its_yarns_symbol_and_no_other():
    chart = make_chart(yarns=5)
    sheet = chart_sheet(chart)
    frame = marks_named(sheet, "frame")[0].boxes[0]
    square = np.array([frame[2] / chart.stitch_count, frame[3] / chart.round_count])
    seen = np.zeros(chart.stitches.shape, dtype=int)
    for index in range(1, 5):
        (stamps,) = [m for m in marks_named(sheet, f"symbol yarn-{index + 1}") if len(m.places) > 1]
        column, row = ((np.array(stamps.places) - frame[:2]) / square).astype(int).T
        assert (seen[row, column] == 0).all()
        seen[row, column] = index
    assert (seen == page_cells(chart)).all()


@given(st.integers(1, 6), st.integers(1, 9), st.integers(0, 2**32 - 1))
@settings(max_examples=60, deadline=None)
def test_runs_rebuild_the_grid_and_are_as_long_as_can_be(rows, columns, seed):
    grid = np.random.default_rng(seed).integers(0, 3, (rows, columns)).astype(np.uint8)
    built = np.full(grid.shape, 99)
    found = runs(grid)
    for row, first, past, value in found:
        built[row, first:past] = value
    assert (built == grid).all()
    assert len(found) == rows + int((grid[:, 1:] != grid[:, :-1]).sum())


def read_points(path: str) -> list[tuple[int, int]]:
    """Every point a path visits, in absolute units, read as the SVG standard says."""
    x = y = 0
    start = (0, 0)
    points = []
    for command, numbers in re.findall(r"([mhvlz])([-0-9 ]*)", path):
        steps = [int(n) for n in re.findall(r"-?\d+", numbers)]
        if command == "z":
            x, y = start
            continue
        dx, dy = {"h": (*steps, 0), "v": (0, *steps)}.get(command, tuple(steps))
        x, y = x + dx, y + dy
        start = (x, y) if command == "m" else start
        points.append((x, y))
    return points


def test_the_svg_has_every_figure_where_the_sheet_has_it():
    chart = make_chart(yarns=5, ragged=True, repeat=(6, 8), catches=(Catch(4, 6, 1),))
    sheet = chart_sheet(chart, square_mm=3.37, changed=chart.stitches == 1)
    paths = ElementTree.fromstring(sheet_svg(sheet)).iter(f"{SVG}path")
    figures = [mark for mark in sheet.marks if not isinstance(mark, Label)]
    for mark, path in zip(figures, paths, strict=True):
        points = np.array(read_points(path.get("d", ""))) / 100
        wanted = np.array(mark_corners(mark))
        if isinstance(mark, Boxes):
            points, wanted = points[::4], wanted[::4]
        assert np.abs(points - wanted).max() < 0.0101, path.get("class")


@pytest.mark.parametrize(("stitches", "rounds"), [(28, 31), (20, 27), (30, 30), (32, 25.5)])
def test_squares_are_drawn_at_the_stitchs_proportions(stitches, rounds):
    chart = make_chart(gauge=Gauge(stitches, rounds))
    width, height = marks_named(chart_sheet(chart, square_mm=3.0), "frame")[0].boxes[0][2:]
    assert width == pytest.approx(17 * 3.0)
    assert height / width == pytest.approx((23 / rounds) / (17 / stitches))


def number_sides(chart: Chart) -> dict[int, str]:
    sheet = chart_sheet(chart)
    left, _, width, _ = marks_named(sheet, "frame")[0].boxes[0]
    numbers = labels(sheet, "round-number")
    assert all(n.at[0] < left or n.at[0] > left + width for n in numbers)
    heights = [n.at[1] for n in numbers]
    assert heights == sorted(heights, reverse=True)
    return {int(n.text): "right" if n.at[0] > left else "left" for n in numbers}


@pytest.mark.parametrize(
    ("worked", "hand", "odd", "even"),
    [
        ("round", "right", "right", "right"),
        ("round", "left", "left", "left"),
        ("flat", "right", "right", "left"),
        ("flat", "left", "left", "right"),
    ],
)
def test_round_numbers_stand_where_the_round_starts(worked, hand, odd, even):
    sides = number_sides(make_chart(worked=worked, hand=hand))
    assert sides == {n: odd if n % 2 else even for n in range(1, 24)}


@pytest.mark.parametrize("hand", ["right", "left"])
def test_stitch_numbers_and_heavy_lines_count_from_the_start(hand):
    chart = make_chart(12, 23, hand=hand)
    sheet = chart_sheet(chart, square_mm=4)
    left, top, width, height = marks_named(sheet, "frame")[0].boxes[0]
    start, step = (left + width, -4.0) if hand == "right" else (left, 4.0)
    for label in labels(sheet, "stitch-number"):
        assert label.at[0] == pytest.approx(start + (int(label.text) - 0.5) * step)
    assert [int(n.text) for n in labels(sheet, "stitch-number")] == [1, 5, 10, 15, 20]
    tens = marks_named(sheet, "lines tens")[0]
    assert isinstance(tens, Lines)
    upright = [a[0] for a, b in tens.lines if a[0] == b[0]]
    level = [a[1] for a, b in tens.lines if a[1] == b[1]]
    assert upright == pytest.approx([start + 10 * step, start + 20 * step])
    assert level == pytest.approx([top + height - 10 * height / 12])
    fives = marks_named(sheet, "lines fives")[0]
    fine = marks_named(sheet, "lines fine")[0]
    assert fine.style.width < fives.style.width < tens.style.width


def test_reading_arrows_point_into_the_chart():
    for hand, worked in (("right", "round"), ("left", "round"), ("right", "flat")):
        sheet = chart_sheet(make_chart(hand=hand, worked=worked))
        left, _, width, _ = marks_named(sheet, "frame")[0].boxes[0]
        arrows = marks_named(sheet, "arrow")
        assert len(arrows) == (1 if worked == "round" else 2)
        for arrow in arrows:
            tail = arrow.shape.polylines[0][0][0]
            assert (tail > 0) == (arrow.places[0][0] > left + width)


def test_the_key_names_every_yarn_with_colour_symbol_and_count():
    chart = make_chart(yarns=5, ragged=True)
    sheet = chart_sheet(chart)
    names = [label.text for label in labels(sheet, "key yarn")]
    details = [label.text for label in labels(sheet, "key detail")]
    blocks = [m.style.fill for m in marks_named(sheet, "block yarn")]
    for index, yarn in enumerate(chart.yarns):
        assert names[index] == f"{'ABCDE'[index]} {yarn.name}"
        assert details[index].split()[0] == str(int((chart.stitches == index).sum()))
        assert blocks[index] == yarn.colour
        stamps = marks_named(sheet, f"symbol yarn-{index + 1}")
        assert len(stamps) == (0 if index == 0 else 2)
    assert [label.text for label in labels(sheet, "key no-stitch")] == ["no stitch"]


def test_catches_lie_in_the_foot_of_their_square_and_are_explained():
    chart = make_chart(ragged=True).with_(catches=(Catch(4, 6, 1), Catch(0, 0, 2)))
    sheet = chart_sheet(chart, square_mm=4)
    left, top, width, height = marks_named(sheet, "frame")[0].boxes[0]
    tall = height / 23
    for catch in chart.catches:
        (stamps,) = marks_named(sheet, f"catch yarn-{catch.yarn + 1}")
        assert stamps.style.fill == chart.yarns[catch.yarn].colour
        x, y = stamps.places[0]
        assert x == pytest.approx(left + width - (catch.stitch + 0.5) * 4)
        reach = max(point[1] for point in stamps.shape.polylines[0])
        foot = top + height - catch.round * tall
        assert foot - tall / 2 < y < y + reach <= foot
    assert len(labels(sheet, "key catch")) == 1
    assert not labels(chart_sheet(make_chart()), "key catch")


def test_the_repeat_box_starts_at_stitch_1_of_round_1():
    for hand in ("right", "left"):
        sheet = chart_sheet(make_chart(hand=hand, repeat=(6, 8)), square_mm=4)
        left, top, width, height = marks_named(sheet, "frame")[0].boxes[0]
        (mark,) = marks_named(sheet, "repeat")
        half = mark.style.width / 2  # the line lies outside the squares
        x, y, wide, tall = mark.boxes[0]
        edge = left + width - 24 if hand == "right" else left
        inner = (x + half, y + half, wide - 2 * half, tall - 2 * half)
        assert inner == pytest.approx((edge, top + height * 15 / 23, 24, height * 8 / 23))
        assert len(labels(sheet, "key repeat")) == 1
        assert "heavy box" in " ".join(label.text for label in labels(sheet, "facts"))


def test_the_join_stays_clear_of_the_repeats_box():
    sheet = chart_sheet(make_chart(repeat=(17, 23)), square_mm=4)
    (box,) = marks_named(sheet, "repeat")
    (join,) = marks_named(sheet, "join")
    left, _, width, _ = box.boxes[0]
    reach = (box.style.width + join.style.width) / 2
    for (x, _), _ in join.lines:
        assert x > left + width + reach or x < left - reach
    texts = [label for label in labels(sheet, "round-number") if label.anchor == "start"]
    assert min(label.at[0] for label in texts) > max(x for (x, _), _ in join.lines) + 0.3


@pytest.mark.parametrize("allowed", [2, 3])
def test_catches_carry_a_letter_where_a_third_yarn_may_be_meant(allowed):
    catches = (Catch(3, 5, 1), Catch(4, 9, 0), Catch(5, 2, 2))
    chart = make_chart(catches=catches, rules=Rules(colours_per_round=allowed))
    sheet = chart_sheet(chart, square_mm=4)
    letters = {(round(m.at[0], 3), m.text) for m in labels(sheet, "catch letter")}
    left, _, width, _ = marks_named(sheet, "frame")[0].boxes[0]
    wanted = {(round(left + width - (c.stitch + 0.5) * 4, 3), "ABC"[c.yarn]) for c in catches}
    assert letters >= wanted if allowed == 3 else not letters
    for stamps, c in zip(
        (m for name in ("2", "1", "3") for m in marks_named(sheet, f"catch yarn-{name}")),
        catches,
        strict=True,
    ):
        (_, y), foot = stamps.places[0], marks_named(sheet, "frame")[0].boxes[0]
        bottom = foot[1] + foot[3] - c.round * foot[3] / 23
        assert y + max(p[1] for p in stamps.shape.polylines[0]) <= bottom


def test_the_first_round_is_numbered_however_small_the_squares():
    sheet = chart_sheet(make_chart(150, 120, yarns=2), square_mm=1)
    assert [m.text for m in labels(sheet, "round-number")][:3] == ["1", "5", "10"]


def test_the_key_calls_shaping_what_the_words_call_it():
    marks = [{"round": 3, "stitch": 4, "kind": "k2tog"}]
    for hand, lean in (("right", "right"), ("left", "left")):
        sheet = chart_sheet(make_chart(hand=hand, construction=constructed({"shaping": marks})))
        assert [m.text for m in labels(sheet, "key shaping")] == [
            f"k2tog: two together, leaning {lean}"
        ]


def test_changed_stitches_are_outlined_and_counted():
    before = make_chart()
    cells = before.stitches.copy()
    cells[3, 5] = (cells[3, 5] + 1) % 3
    cells[22, 16] = (cells[22, 16] + 1) % 3
    after = before.with_(stitches=cells)
    sheet = changes_sheet(before, after, square_mm=4)
    left, top, _, height = marks_named(sheet, "frame")[0].boxes[0]
    places = next(m.places for m in marks_named(sheet, "changed") if len(m.places) == 2)
    tall = height / 23
    wanted = [(left + 0.5 * 4, top + 0.5 * tall), (left + 11.5 * 4, top + 19.5 * tall)]
    assert np.allclose(sorted(places), wanted)
    assert "2 stitches" in sheet.description
    assert not changed_stitches(before, before).any()


def test_changes_compare_yarns_not_their_order():
    before = make_chart(yarns=2)
    after = before.with_(stitches=1 - before.stitches, yarns=before.yarns[::-1])
    assert not changed_stitches(before, after).any()
    other = before.with_(yarns=(SHELF[0], SHELF[2]))
    assert (changed_stitches(before, other) == (before.stitches == 1)).all()
    with pytest.raises(InputError, match="same size"):
        changes_sheet(before, make_chart(5, 5))


def test_findings_are_outlined_across_the_join_and_gaps_and_listed():
    cells = np.zeros((3, 10), dtype=np.uint8)
    cells[1, 4] = NO_STITCH
    chart = Chart(cells, SHELF[:1])
    findings = [
        Finding("long-float", "error", said("Round 1 floats."), said("Catch it."), 1, 9, 4, "ink"),
        Finding(
            "long-float", "warning", said("Round 2 floats."), said("Catch it."), 2, 4, 3, "ink"
        ),
        Finding("unused-yarn", "note", said("Rust is not used."), said("Leave it out.")),
    ]
    sheet = chart_sheet(chart, findings=findings, square_mm=4)
    left = marks_named(sheet, "frame")[0].boxes[0][0]

    def spans(level: str) -> set[tuple[int, int]]:
        """Columns from the left of the first outline of that level (the second is in the key)."""
        boxes = marks_named(sheet, f"finding {level}")[0].boxes
        return {(round((x - left) / 4), round(w / 4)) for x, _, w, _ in boxes}

    assert spans("error") == {(0, 2), (8, 2)}
    assert spans("warning") == {(6, 1), (3, 2)}
    told = " ".join(label.text for label in labels(sheet, "note"))
    for finding in findings:
        assert finding.message in told


@given(st.text(max_size=200))
@settings(max_examples=60, deadline=None)
def test_any_title_gives_well_formed_xml(title):
    root = ElementTree.fromstring(sheet_svg(chart_sheet(make_chart(4, 5).with_(title=title))))
    assert root.find(f"{SVG}title") is not None


def test_hostile_names_are_only_text():
    yarns = (Yarn('"><script>x</script>', "#ece2d0"), Yarn("a&b <i>'", "#26304c"))
    chart = make_chart(8, 9, 2).with_(title=HOSTILE, yarns=yarns)
    finding = Finding("long-float", "error", said(HOSTILE), said("<b>mend</b>"), 1, 1, 2)
    root = ElementTree.fromstring(sheet_svg(chart_sheet(chart, findings=[finding])))
    kinds = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert kinds == {"svg", "title", "desc", "rect", "path", "text"}
    assert all(not name.startswith("on") for e in root.iter() for name in e.attrib)
    assert '"><script>x</script>' in " ".join(e.text or "" for e in root.iter(f"{SVG}text"))


def test_screen_readers_get_size_way_and_key():
    chart = make_chart()
    root = ElementTree.fromstring(sheet_svg(chart_sheet(chart)))
    words = root.findtext(f"{SVG}desc") or ""
    assert root.findtext(f"{SVG}title") == "harbour dog"
    assert "17 stitches × 23 rounds" in words
    assert "6.1 × 7.4 cm" in words  # 17 / 2.8 and 23 / 3.1
    assert "from right to left" in words
    assert all(yarn.name in words for yarn in chart.yarns)


def test_nothing_lies_off_the_sheet():
    for parts in ({}, {"worked": "flat"}, {"hand": "left"}):
        for size in ((3, 4), (101, 60)):
            sheet = chart_sheet(make_chart(*size, **parts))
            for mark in sheet.marks:
                for x, y in mark_corners(mark):
                    assert 0 <= x <= sheet.width
                    assert 0 <= y <= sheet.height


def mark_corners(mark: object) -> list[tuple[float, float]]:
    if isinstance(mark, Boxes):
        return [
            (x + dx * w, y + dy * h) for x, y, w, h in mark.boxes for dx in (0, 1) for dy in (0, 1)
        ]
    if isinstance(mark, Lines):
        return [point for line in mark.lines for point in line]
    if isinstance(mark, Stamps):
        points = [p for line in mark.shape.polylines for p in line]
        return [(x + dx, y + dy) for x, y in mark.places for dx, dy in points]
    assert isinstance(mark, Label)
    width = text_width(mark.text, mark.size, bold=mark.bold)
    shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[mark.anchor] * width
    return [(mark.at[0] - shift, mark.at[1] - mark.size), (mark.at[0] - shift + width, mark.at[1])]


@pytest.mark.parametrize(("size", "limit"), [((64, 60), 150_000), ((160, 120), 700_000)])
def test_sheets_stay_small(size, limit):
    assert len(sheet_svg(chart_sheet(make_chart(*size, yarns=3))).encode()) < limit


def test_a_square_of_no_size_and_a_misfit_are_refused():
    with pytest.raises(SettingError, match=r"0\.5 to 50"):
        chart_sheet(make_chart(), square_mm=0)
    with pytest.raises(InputError, match="same size"):
        chart_sheet(make_chart(), changed=np.zeros((2, 2), dtype=bool))


def test_symbols_differ_in_black_and_white_and_stand_out():
    assert len({symbol.polylines for symbol in SYMBOLS}) == len(SYMBOLS) == 12
    drawn = [symbol_picture(index) for index in range(12)]
    for one in range(12):
        for other in range(one):
            differing = np.abs(drawn[one] - drawn[other]).mean()
            assert differing > 0.04, (SYMBOLS[one].name, SYMBOLS[other].name)
    for red in range(0, 256, 51):
        for green in range(0, 256, 51):
            for blue in range(0, 256, 51):
                ink = ink_on(f"#{red:02x}{green:02x}{blue:02x}")
                rgb = tuple(int(ink[i : i + 2], 16) for i in (1, 3, 5))
                assert (
                    contrast_ratio(np.array((red, green, blue), np.uint8), np.array(rgb, np.uint8))
                    >= 4.5
                )


def symbol_picture(index: int) -> np.ndarray:
    """A symbol as black on white on 60×60 points, at the proportions it has on a sheet."""
    from PIL import ImageDraw

    picture = Image.new("L", (60, 60))
    pen = ImageDraw.Draw(picture)
    symbol = SYMBOLS[index]
    for line in symbol.polylines:
        points = [(30 + 14.4 * x, 30 + 14.4 * y) for x, y in line]
        if symbol.filled:
            pen.polygon(points, fill=255)
        else:
            pen.line(points, fill=255, width=8)
    return np.asarray(picture, dtype=float) / 255


@pytest.mark.parametrize("ragged", [False, True])
@pytest.mark.parametrize("yarns", [1, 2, 5])
def test_pixels_read_back_as_the_chart(yarns, ragged):
    chart = make_chart(yarns=yarns, ragged=ragged)
    picture = Image.open(io.BytesIO(pixels_png(chart)))
    assert picture.mode == "P"
    assert (np.asarray(picture)[::-1, ::-1] == chart.stitches).all()
    seen = np.asarray(picture.convert("RGBA"))[::-1, ::-1]
    assert (seen[..., 3] == np.where(chart.live, 255, 0)).all()
    wanted = np.array([yarn.rgb for yarn in chart.yarns])[chart.stitches[chart.live]]
    assert (seen[chart.live][:, :3] == wanted).all()


def test_pixels_keep_the_order_of_the_data_for_either_hand():
    chart = make_chart()
    assert pixels_png(chart) == pixels_png(chart.with_(hand="left"))


def stitch_means(picture: np.ndarray, rows: int, columns: int) -> np.ndarray:
    """Mean RGB of every stitch's area, [page row, page column, 3].

    The outer fifths of its height are left out: there the stitches below and above reach in.
    """
    high, wide = picture.shape[0] / rows, picture.shape[1] / columns
    out = np.empty((rows, columns, 3))
    for row in range(rows):
        for column in range(columns):
            tall = slice(round((row + 0.2) * high), round((row + 0.8) * high))
            broad = slice(round(column * wide), round((column + 1) * wide))
            out[row, column] = picture[tall, broad].mean(axis=(0, 1))
    return out


@pytest.mark.parametrize("stitch_px", [6, 9, 16])
@pytest.mark.parametrize("hand", ["right", "left"])
def test_each_stitch_of_the_fabric_has_its_yarns_colour(stitch_px, hand):
    chart = make_chart(yarns=5, hand=hand)
    picture = np.asarray(Image.open(io.BytesIO(fabric_front(chart, stitch_px=stitch_px))))
    means = stitch_means(picture.astype(float), *chart.stitches.shape)
    plain = []
    for index in range(5):
        swatch = chart.with_(stitches=np.full((6, 6), index, dtype=np.uint8))
        cloth = np.asarray(Image.open(io.BytesIO(fabric_front(swatch, stitch_px=stitch_px))))
        plain.append(stitch_means(cloth.astype(float), 6, 6).mean(axis=(0, 1)))
    distance = np.linalg.norm(means[:, :, None] - np.array(plain), axis=3)
    assert (distance.argmin(axis=2) == page_cells(chart)).all()


def test_plain_fabric_keeps_the_yarns_hue():
    for yarn in SHELF:
        chart = Chart(np.zeros((8, 8), dtype=np.uint8), (yarn,))
        mean = np.asarray(Image.open(io.BytesIO(fabric_front(chart)))).mean(axis=(0, 1))
        share = mean / np.array(yarn.rgb)
        assert 0.7 < share.min() <= share.max() < 1.0
        assert share.max() - share.min() < 0.08


@pytest.mark.parametrize("gauge", [Gauge(28, 31), Gauge(20, 27), Gauge(33, 30.5)])
@pytest.mark.parametrize("stitch_px", [5, 12, 16])
def test_fabric_has_the_proportions_of_the_gauge(gauge, stitch_px):
    chart = make_chart(64, 60, gauge=gauge)
    width, height = Image.open(io.BytesIO(fabric_front(chart, stitch_px=stitch_px))).size
    wide, high = gauge.size_cm(60, 64)
    assert width == 60 * stitch_px
    assert abs(height - width * high / wide) <= 1


def test_a_stitch_is_a_v_lighter_in_its_legs_than_in_its_middle_and_edges():
    chart = Chart(np.zeros((5, 5), dtype=np.uint8), SHELF[:1], gauge=Gauge(28, 28))
    grey = np.asarray(Image.open(io.BytesIO(fabric_front(chart, stitch_px=40))).convert("L"))
    stitch = grey[80:120, 80:120].astype(float)
    across = stitch[10:30].mean(axis=0)
    assert across[7:15].mean() > across[18:22].mean() + 15
    assert across[25:33].mean() > across[18:22].mean() + 15
    left = [
        int(row[:20].argmax()) for row in (stitch[4:8].mean(axis=0), stitch[26:30].mean(axis=0))
    ]
    assert left[0] < left[1]  # the left leg leans in towards the foot


def test_no_stitch_shows_the_ground_and_neighbours_stay():
    cells = np.zeros((9, 9), dtype=np.uint8)
    cells[3:6, 3:6] = NO_STITCH
    chart = Chart(cells, SHELF[1:2], gauge=Gauge(28, 28))
    picture = np.asarray(Image.open(io.BytesIO(fabric_front(chart, stitch_px=16))))
    assert (picture[50:68, 52:92] == (242, 240, 236)).all(axis=2).mean() > 0.9
    assert picture[20:40].mean() < 80


def test_a_picture_too_large_is_refused_before_it_is_made():
    chart = Chart(np.zeros((1000, 1000), dtype=np.uint8), SHELF[:1])
    with pytest.raises(SettingError, match="60 million"):
        fabric_front(chart, stitch_px=16)
    with pytest.raises(SettingError, match="pixels a stitch"):
        fabric_front(make_chart(), stitch_px=0)


def test_the_largest_charts_have_a_picture_too_if_nobody_says_how_large():
    cells = np.zeros((1000, 1000), np.uint8)
    chart = Chart(cells, SHELF[:1], gauge=Gauge(28, 28))
    assert Image.open(io.BytesIO(fabric_front(chart))).size == (3000, 3000)
    assert handy_px(chart) == 3
    assert handy_px(Chart(cells, SHELF[:1], gauge=Gauge(28, 3))) == 2
    assert handy_px(make_chart()) == 16


def test_same_chart_same_bytes():
    one, other = (make_chart(yarns=5, ragged=True, catches=(Catch(4, 6, 1),)) for _ in range(2))
    assert sheet_svg(chart_sheet(one)) == sheet_svg(chart_sheet(other))
    assert pixels_png(one) == pixels_png(other)
    assert fabric_front(one) == fabric_front(other)


def test_a_yarn_of_several_colours_shows_them_in_the_fabric() -> None:
    sea = Yarn("sea", "#ffffff", shades=("#26304c", "#5d7fa3", "#aeb6bd"))
    stitches = np.zeros((20, 30), np.uint8)
    stitches[::2, ::2] = 1
    chart = Chart(stitches, (sea, Yarn("rust", "#a8502f")), Gauge(28, 30), "sea")
    pixels = fabric_pixels(chart, 8).reshape(-1, 3).astype(int)
    for shade in ("#26304c", "#5d7fa3", "#aeb6bd"):
        near = np.abs(pixels - [int(shade[i : i + 2], 16) for i in (1, 3, 5)]).max(axis=1) < 25
        assert near.mean() > 0.03, shade
    white = (pixels > 240).all(axis=1)
    assert white.mean() < 0.01, "the mixed colour is not knitted"
