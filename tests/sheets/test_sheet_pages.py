"""Charts on paper: every square, number and key is there, read back from the PDF and its pixels."""

from __future__ import annotations

import html
import io
import re
import subprocess
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from pic2chart.model.chart import NO_STITCH, Catch, Chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.chart.chart_pages import chart_pages
from pic2chart.sheets.chart.chart_sheet import chart_sheet
from pic2chart.sheets.chart.grid_layout import ABSENT
from pic2chart.sheets.document import sheet_files
from pic2chart.sheets.marks.page import Boxes, Label, Lines, Sheet, text_width
from pic2chart.sheets.marks.paper import (
    LEAST_LARGE,
    LEAST_SQUARE,
    MOST_PAGES,
    OVERLAP,
    PAPERS,
    PageSpace,
    SquareLimits,
    share_out,
)
from pic2chart.sheets.marks.printed import lacks, shown, with_foot
from pic2chart.sheets.marks.type_files import letters
from pic2chart.sheets.sheet_settings import LARGE_PRINT, SheetLook, SheetSettings
from pic2chart.sheets.words.words_pages import words_pages
from pic2chart.sheets.writers.pdf import sheets_pdf
from pic2chart.stranding.strands import plan_strands
from tests.helpers.constructed import constructed

SHELF = (
    Yarn("oat", "#ece2d0"),
    Yarn("ink", "#26304c"),
    Yarn("rust", "#a8502f"),
    Yarn("moss", "#5d6b3a"),
)
ROOMS = (PageSpace(170, 250, False), PageSpace(257, 160, True))
DPI = 144


def make_chart(rounds: int, stitches: int, yarns: int = 4, **parts: object) -> Chart:
    cells = np.random.default_rng(3).integers(0, yarns, (rounds, stitches)).astype(np.uint8)
    if parts.pop("ragged", False):
        cells[rounds // 2 :, : stitches // 3] = NO_STITCH
    parts.setdefault("gauge", Gauge(28, 31))
    return Chart(cells, SHELF[:yarns], title="harbour dog", **parts)  # type: ignore[arg-type]


def pdf_of(sheets: tuple[Sheet, ...], tmp_path: Path) -> Path:
    path = tmp_path / "sheet.pdf"
    path.write_bytes(sheets_pdf(sheets, title="harbour dog", author="A. Gull"))
    return path


def rendered(path: Path) -> list[np.ndarray]:
    """The pages as RGB, painted by poppler."""
    subprocess.run(
        ["pdftoppm", "-r", str(DPI), "-png", str(path), str(path.with_suffix(""))], check=True
    )
    pages = sorted(path.parent.glob(f"{path.stem}-*.png"))
    return [np.asarray(Image.open(page).convert("RGB")) for page in pages]


def words_in(path: Path, page: int) -> list[str]:
    told = subprocess.run(
        ["pdftotext", "-f", str(page), "-l", str(page), "-raw", str(path), "-"],
        check=True,
        capture_output=True,
        text=True,
    )
    return told.stdout.split()


def frame_of(sheet: Sheet) -> tuple[float, float, float, float]:
    (frame,) = [m for m in sheet.marks if isinstance(m, Boxes) and m.name == "frame"]
    return frame.boxes[0]


def page_cells(chart: Chart) -> np.ndarray:
    """The chart as seen on the page, written out from the conventions."""
    return chart.stitches[::-1, ::-1] if chart.hand == "right" else chart.stitches[::-1]


def cell_colours(pixels: np.ndarray, sheet: Sheet, shape: tuple[int, int]) -> np.ndarray:
    """The colour at the middle of every square of the page."""
    left, top, width, height = frame_of(sheet)
    rows, columns = shape
    scale = DPI / 25.4
    y = ((top + (np.arange(rows) + 0.5) * height / rows) * scale).astype(int)
    x = ((left + (np.arange(columns) + 0.5) * width / columns) * scale).astype(int)
    return pixels[y[:, None], x[None, :]].astype(int)


def wanted_colours(cells: np.ndarray, chart: Chart) -> np.ndarray:
    table = np.full((256, 3), [int(ABSENT[i : i + 2], 16) for i in (1, 3, 5)])
    table[: len(chart.yarns)] = [yarn.rgb for yarn in chart.yarns]
    return table[cells]


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_rendered_squares_have_their_yarns_colours(hand, paper, tmp_path):
    chart = make_chart(31, 27, hand=hand, ragged=True)
    (sheet,), _ = chart_pages(chart, paper, SheetLook(symbols="colour"))
    (pixels,) = rendered(pdf_of((sheet,), tmp_path))
    seen = cell_colours(pixels, sheet, chart.stitches.shape)
    assert np.abs(seen - wanted_colours(page_cells(chart), chart)).max() <= 3
    width, height = PAPERS[paper]
    assert pixels.shape[1] / DPI * 25.4 == pytest.approx(width, abs=0.3)
    assert pixels.shape[0] / DPI * 25.4 == pytest.approx(height, abs=0.3)


def test_pages_of_a_large_chart_show_every_square_once_beside_the_overlap(tmp_path):
    chart = make_chart(170, 150, ragged=True)
    sheets, names = chart_pages(chart, "a4", SheetLook(symbols="colour"))
    assert len(names) == len(sheets) > 4
    seen = np.zeros(chart.stitches.shape, int)
    pages = rendered(pdf_of(sheets, tmp_path))
    for name, sheet, pixels in zip(names[1:], sheets[1:], pages[1:], strict=True):
        span = re.fullmatch(r"Rounds (\d+)–(\d+), stitches (\d+)–(\d+)", name)
        r0, r1, s0, s1 = (int(span[i]) for i in (1, 2, 3, 4))  # type: ignore[index]
        seen[r0 - 1 : r1, s0 - 1 : s1] += 1
        low, high = max(0, r0 - 1 - OVERLAP), min(chart.round_count, r1 + OVERLAP)
        first, past = max(0, s0 - 1 - OVERLAP), min(chart.stitch_count, s1 + OVERLAP)
        part = chart.stitches[low:high, first:past][::-1, ::-1]
        colours = cell_colours(pixels, sheet, part.shape)
        own = np.zeros((high - low, past - first), bool)
        own[r0 - 1 - low : r1 - low, s0 - 1 - first : s1 - first] = True
        own = own[::-1, ::-1]
        wanted = wanted_colours(part, chart)
        assert np.abs(colours - wanted)[own].max() <= 3
        paled = np.rint(wanted + (255 - wanted) * 0.55)
        assert np.abs(colours - paled)[~own].max() <= 4
    assert (seen[chart.live] == 1).all()
    assert seen.max() == 1


def test_every_number_and_key_can_be_selected_in_the_pdf(tmp_path):
    chart = make_chart(90, 62, catches=(Catch(3, 4, 1),), repeat=(31, 45))
    sheets, _ = chart_pages(chart, "a4", SheetLook(author="A. Gull"))
    path = pdf_of(sheets, tmp_path)
    told: set[str] = set()
    for page, sheet in enumerate(sheets, 1):
        words = words_in(path, page)
        for label in (m for m in sheet.marks if isinstance(m, Label)):
            for word in label.text.split():
                assert word in words, (page, word)
        told |= set(words) if page > 1 else set()
    assert {str(r) for r in range(1, 91)} <= told
    assert {str(s) for s in (1, *range(5, 63, 5))} <= told
    assert {"oat", "ink", "rust", "moss", "repeat", "catch"} <= set(words_in(path, 2))


def test_the_pdf_embeds_its_type_and_names_itself(tmp_path):
    path = pdf_of(chart_pages(make_chart(20, 20), "a4", SheetLook())[0], tmp_path)
    fonts = subprocess.run(["pdffonts", str(path)], check=True, capture_output=True, text=True)
    lines = [line.split() for line in fonts.stdout.splitlines()[2:]]
    assert {line[0].partition("+")[2] for line in lines} == {"Roboto-Regular", "Roboto-Bold"}
    for line in lines:
        assert line[-5:-2] == ["yes", "yes", "yes"]  # embedded, a subset, with a way back to text
    info = subprocess.run(["pdfinfo", str(path)], check=True, capture_output=True, text=True).stdout
    assert re.search(r"Title: +harbour dog\n", info)
    assert re.search(r"Author: +A\. Gull\n", info)
    assert re.search(r"Creator: +pic2chart", info)
    assert re.search(r"JavaScript: +no\n", info)


def test_same_chart_same_pdf():
    chart = make_chart(40, 50)
    pages = [sheets_pdf(chart_pages(chart, "a4", SheetLook())[0], title="x") for _ in range(2)]
    assert pages[0] == pages[1]


@pytest.mark.parametrize(
    ("stitches", "rounds", "aspect", "least"),
    [(60, 64, 0.93, 4), (120, 160, 0.93, 4), (17, 300, 1.3, 4), (400, 12, 0.7, 4), (60, 64, 1, 7)],
)
def test_sharing_covers_the_chart_with_squares_large_enough(stitches, rounds, aspect, least):
    shared = share_out(stitches, rounds, aspect, ROOMS, SquareLimits(least, 2 * least))
    room = ROOMS[shared.on_side]
    for count, spans, size, space in (
        (stitches, shared.across, shared.square[0], room.width),
        (rounds, shared.up, shared.square[1], room.height),
    ):
        assert [s for span in spans for s in range(span.first, span.past)] == list(range(count))
        for span in spans:
            assert span.shown_first == max(0, span.first - OVERLAP)
            assert span.shown_past == min(count, span.past + OVERLAP)
            assert (span.shown_past - span.shown_first) * size <= space + 1e-6
    assert shared.square[1] / shared.square[0] == pytest.approx(aspect)
    assert shared.pages > MOST_PAGES or min(shared.square) >= least - 1e-9


def test_sharing_takes_the_fewest_pages_there_can_be():
    """No page count below passes: tried for even cuts with both kinds of page."""
    for stitches, rounds in ((60, 64), (80, 80), (120, 160), (45, 100)):
        shared = share_out(stitches, rounds, 1.0, ROOMS, SquareLimits(4.0, 8.0))
        for room in ROOMS:
            fit = (int(room.width // 4), int(room.height // 4))
            fewest = 1
            for count, most in zip((stitches, rounds), fit, strict=True):
                n = 1
                while max(_shown(count, n)) > most:
                    n += 1
                fewest *= n
            assert shared.pages <= fewest


def _shown(count: int, pages: int) -> list[int]:
    cuts = [round(count * i / pages) for i in range(pages + 1)]
    return [min(count, b + OVERLAP) - max(0, a - OVERLAP) for a, b in pairwise(cuts)]


def test_the_largest_chart_keeps_to_a_sensible_number_of_pages():
    shared = share_out(1000, 1000, 1.0, ROOMS, SquareLimits(4.0, 8.0))
    assert min(shared.square) >= 2.2 or shared.pages <= MOST_PAGES
    assert shared.pages < 140


@pytest.mark.parametrize(("scale", "least"), [(1.0, LEAST_SQUARE), (LARGE_PRINT, LEAST_LARGE)])
def test_squares_and_type_are_as_large_as_promised(scale, least):
    sheets, names = chart_pages(make_chart(64, 60), "a4", SheetLook(scale=scale))
    for sheet in (s for s, name in zip(sheets, names, strict=True) if name.startswith("Rounds")):
        _, _, width, height = frame_of(sheet)
        shown_stitches = {
            m.text for m in sheet.marks if isinstance(m, Label) and m.name == "round-number"
        }
        assert height / len(shown_stitches) >= least - 1e-6
        assert width > 0
    if scale > 1:
        facts = [m for m in sheets[0].marks if isinstance(m, Label) and m.name == "facts"]
        assert min(label.size for label in facts) >= 16 / 72 * 25.4


def test_nothing_lies_off_the_page():
    for look in (
        SheetLook(),
        SheetLook(scale=LARGE_PRINT),
        SheetLook(words=False, symbols="plain", heavy=5),
    ):
        sheets, _ = chart_pages(make_chart(90, 70, ragged=True), "letter", look)
        for sheet in with_foot(sheets, "harbour dog", look):
            for mark in sheet.marks:
                if isinstance(mark, Label):
                    assert 0 < mark.at[0] < sheet.width
                    assert 0 < mark.at[1] < sheet.height
                elif isinstance(mark, Boxes):
                    for left, top, width, height in mark.boxes:
                        assert left >= 0
                        assert top >= 0
                        assert left + width <= sheet.width
                        assert top + height <= sheet.height


@pytest.mark.parametrize("wanted", [3.0, 5.5, 12.0])
def test_squares_have_the_width_asked_for(wanted):
    chart = make_chart(60, 50)
    for look in (SheetLook(square_mm=wanted), SheetLook(square_mm=wanted, scale=LARGE_PRINT)):
        sheets, names = chart_pages(chart, "a4", look)
        for sheet, name in zip(sheets, names, strict=True):
            if name == "Overview":
                continue
            frames = [m for m in sheet.marks if isinstance(m, Boxes) and m.name == "frame"]
            height = sum(frame.boxes[0][3] for frame in frames)
            rounds = [
                m.text for m in sheet.marks if isinstance(m, Label) and m.name == "round-number"
            ]
            assert height / len(rounds) == pytest.approx(wanted * chart.gauge.aspect)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_join_is_dotted_at_the_charts_edges_alone(hand):
    chart = make_chart(170, 150, hand=hand)
    sheets, names = chart_pages(chart, "a4", SheetLook())
    assert len(sheets) > 4
    for sheet, name in zip(sheets[1:], names[1:], strict=True):
        first, last = map(int, re.search(r"stitches (\d+)–(\d+)", name).groups())  # type: ignore[union-attr]
        left, _, width, _ = frame_of(sheet)
        edges = {e for e, there in (("start", first == 1), ("end", last == 150)) if there}
        lines = [
            line
            for m in sheet.marks
            if isinstance(m, Lines) and m.name == "join"
            for line in m.lines
        ]
        seen = {
            "start" if (x > left + width / 2) == (hand == "right") else "end" for (x, _), _ in lines
        }
        assert seen == edges
    flat, _ = chart_pages(make_chart(20, 20, worked="flat"), "a4", SheetLook())
    assert not [m for m in flat[0].marks if m.name == "join"]  # type: ignore[union-attr]


def test_a_wide_chart_lies_on_its_side():
    for shape, on_side in (((20, 60), True), ((40, 20), False), ((30, 40), False)):
        (sheet,), _ = chart_pages(make_chart(*shape), "a4", SheetLook())
        assert (sheet.width > sheet.height) == on_side


def test_pages_are_numbered_and_mapped():
    sheets, _ = chart_pages(make_chart(170, 150), "a4", SheetLook())
    notes = " ".join(m.text for m in sheets[0].marks if isinstance(m, Label) and m.name == "note")
    assert "two squares of its neighbours again" in notes
    assert OVERLAP == 2
    marks = [m for m in sheets[0].marks if isinstance(m, Label) and m.name == "page number"]
    assert [m.text for m in marks] == [str(n) for n in range(2, len(sheets) + 1)]
    for number, sheet in enumerate(with_foot(sheets, "harbour dog", SheetLook()), 1):
        foot = [m.text for m in sheet.marks if isinstance(m, Label) and m.name == "foot-number"]
        assert foot == [f"page {number} of {len(sheets)}"]
    for sheet in sheets[1:]:
        here = [m for m in sheet.marks if isinstance(m, Boxes) and m.name == "map here"]
        assert len(here) == 1


def test_pages_without_a_stitch_are_left_out():
    cells = np.zeros((400, 160), np.uint8)
    cells[100:, :] = NO_STITCH
    chart = Chart(cells, SHELF[:1], gauge=Gauge(28, 28))
    _, names = chart_pages(chart, "a4", SheetLook())
    firsts = [int(re.match(r"Rounds (\d+)", n)[1]) for n in names[1:]]  # type: ignore[index]
    assert firsts
    assert all(first <= 100 for first in firsts)


def test_plain_symbols_print_without_any_yarns_colour(tmp_path):
    chart = make_chart(20, 20)
    (sheet,), _ = chart_pages(chart, "a4", SheetLook(symbols="plain"))
    (pixels,) = rendered(pdf_of((sheet,), tmp_path))
    middle = cell_colours(pixels, sheet, chart.stitches.shape)
    assert (np.ptp(middle, axis=2) <= 2).all()
    blank = (page_cells(chart) == 0).ravel()
    bright = middle.mean(axis=2).ravel()
    assert bright[blank].min() > 250
    assert bright[~blank].max() < 250


def test_without_words_only_names_and_numbers_are_left():
    chart = make_chart(20, 20, catches=(Catch(1, 2, 1),), repeat=(10, 10))
    sheet = chart_sheet(chart, look=SheetLook(words=False))
    words = {
        w for m in sheet.marks if isinstance(m, Label) for w in re.findall(r"[^\W\d_]{2,}", m.text)
    }
    assert words == {"harbour", "dog", "oat", "ink", "rust", "moss", "cm"}


def test_inches_are_exact():
    chart = make_chart(20, 28)
    sheet = chart_sheet(chart, look=SheetLook(units="in"))
    facts = " ".join(m.text for m in sheet.marks if isinstance(m, Label) and m.name == "facts")
    assert "28.4 stitches × 31.5 rounds in 4 in" in facts
    assert "3.9 × 2.5 in" in facts


def words_of(chart: Chart) -> tuple[Sheet, ...]:
    return words_pages(chart, "a4", SheetLook())


@pytest.mark.parametrize("worked", ["round", "flat"])
def test_every_round_has_a_box_to_tick(worked):
    cells = np.zeros((90, 12), np.uint8)
    cells[70:] = np.random.default_rng(2).integers(0, 2, (20, 12))
    chart = Chart(cells, SHELF[:2], worked=worked)
    ticks = [m for s in words_of(chart) for m in s.marks if getattr(m, "name", "") == "tick"]
    if worked == "flat":
        assert [len(m.boxes) for m in ticks] == [1] * 90  # type: ignore[union-attr]
    else:  # seventy rounds alike are one piece of knitting, ticked once
        assert len(ticks[0].boxes) == 1  # type: ignore[union-attr]
        assert sum(len(m.boxes) for m in ticks) == 21  # type: ignore[union-attr]


def test_words_never_run_into_the_boxes_or_off_the_page():
    chart = make_chart(60, 48)
    for sheet in words_of(chart):
        boxes = [b for m in sheet.marks if isinstance(m, Boxes) for b in m.boxes]
        for label in (m for m in sheet.marks if isinstance(m, Label) and m.name == "words"):
            right = label.at[0] + text_width(label.text, label.size, bold=label.bold)
            assert right <= min(left for left, *_ in boxes)
        assert max(top + tall for _, top, _, tall in boxes) < sheet.height - 15


def test_yarns_that_change_places_are_told_in_their_round_and_never_push_words_off_the_page():
    rng = np.random.default_rng(1)
    cells = np.zeros((120, 30), np.uint8)
    for row in cells:
        row[:] = rng.permutation(4)[rng.integers(0, 2, 30)]
    chart = Chart(cells, SHELF, title="swaps")
    plan = plan_strands(chart)
    assert len(plan.swaps) > 20
    assert sum(map(len, plan.changes.values())) == len(plan.swaps)
    sheets = words_pages(chart, "a4", SheetLook(), plan.holding("right"), plan.changes)
    told = [m for s in sheets for m in s.marks if isinstance(m, Label)]
    assert sum(m.text.count("changes places") for m in told) == len(plan.swaps)
    assert all(m.at[1] < 297 - 15 for m in told)
    swap = plan.swaps[0]
    here = next(
        i for i, m in enumerate(told) if m.name == "round" and m.text == f"Round {swap.round + 1}"
    )
    after = next(i for i, m in enumerate(told) if i > here and m.name == "round")
    words = " ".join(m.text for m in told[here:after])
    assert f"{chart.yarns[swap.yarn].name} changes places" in words


@pytest.mark.slow
def test_words_are_set_a_little_closer_where_that_saves_a_page():
    counts = {rounds: len(words_of(make_chart(rounds, 30, 2))) for rounds in range(20, 110, 3)}
    sizes = {
        max(m.size for m in words_of(make_chart(r, 30, 2))[0].marks if isinstance(m, Label))
        for r in counts
    }
    assert len(sizes) == 2
    assert list(counts.values()) == sorted(counts.values())


PIECES = {
    "plain": ({}, ["inside mittens, socks"], ["cords", "steek"]),
    "mitten": ({"piece": "mitten"}, ["Strands inside catch fingers"], ["cords", "steek"]),
    "child": ({"for_child": True}, ["cut off the blood", "No cords"], ["steek"]),
    "steek": ({"piece": "panel", "fit": {"steek_stitches": 7}}, ["steek is cut only"], ["cords"]),
}


@pytest.mark.parametrize("piece", PIECES)
def test_cautions_follow_what_the_chart_is_for(piece):
    told_of, there, absent = PIECES[piece]
    chart = make_chart(20, 20, construction=constructed(told_of))
    sheet = chart_sheet(chart)
    told = " ".join(m.text for m in sheet.marks if isinstance(m, Label) and m.name == "note")
    for words in ("pain is a reason to stop", "estimates", *there):
        assert words in told
    for words in absent:
        assert words not in told
    files = sheet_files(chart, SheetSettings(only=("words", "knit-along")), "x")
    for name in ("x-words.txt", "parts/x-words.md", "x-knit-along.html"):
        for words in ("pain is a reason to stop", *there):
            assert words in html.unescape(str(files[name]))


def test_one_yarn_throughout_needs_no_caution_about_strands():
    sheet = chart_sheet(make_chart(9, 9, 1))
    told = " ".join(m.text for m in sheet.marks if isinstance(m, Label) and m.name == "note")
    assert "fingers" not in told
    assert "estimates" in told


def test_letters_the_type_lacks_are_shown_as_missing():
    assert shown("Ёлка dog ñ × — …") == "Ёлка dog ñ × — …"
    assert shown("山 dog") == "? dog"
    assert shown("Ａ① ﬁn e\u0301 x\u0f71") == "A1 ﬁn é x"
    assert lacks("山?")
    assert not lacks("what?")
    assert not lacks("Ａ")


def test_ascii_needs_no_look_at_the_type():
    assert {*range(32, 127)} <= letters()


def test_yarns_that_paper_cannot_name_go_by_their_keys(tmp_path):
    yarns = (Yarn("山", "#ece2d0"), Yarn("海", "#26304c"))
    chart = Chart(make_chart(9, 12, 2).stitches, yarns, title="山 dog")
    files = sheet_files(chart, SheetSettings(), "x")
    path = tmp_path / "x.pdf"
    path.write_bytes(files["x.pdf"])  # type: ignore[arg-type]
    for page in (2, 3, 4):
        told = words_in(path, page)
        assert "A" in told
        assert "yarn" in told
    assert "山" in str(files["parts/x.svg"])
    assert "海" in str(files["x-words.txt"])
    assert "海" in str(files["parts/x-words.md"])


def test_hostile_titles_stay_text_in_the_pdf():
    title = '\\) /JS (app.alert(1)) /OpenAction << >> endstream "\u202e'
    sheet = chart_pages(make_chart(8, 8), "a4", SheetLook())[0][0]
    pdf = sheets_pdf((sheet,), title=title, author=title)
    info = subprocess.run(
        ["pdfinfo", "-"], input=pdf, check=True, capture_output=True
    ).stdout.decode()
    assert "JavaScript:      no" in info
    assert "app.alert(1)" in next(line for line in info.splitlines() if line.startswith("Title"))


def test_the_pages_picture_is_not_blank(tmp_path):
    pages = rendered(pdf_of(chart_pages(make_chart(70, 70), "a4", SheetLook())[0], tmp_path))
    for page in pages:
        out = io.BytesIO()
        Image.fromarray(page).save(out, "PNG")
        assert len(out.getvalue()) > 10_000
