"""Names beside a key's squares: read with the extra `letters`, left out where they are not sure."""

from __future__ import annotations

import numpy as np
import pytest
import reportlab
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont

from pic2chart.model.yarn import Yarn
from pic2chart.reading import line_text
from pic2chart.reading.chart_grid import ChartGrid
from pic2chart.reading.chart_key import Key
from pic2chart.reading.chart_photo import read_photo
from pic2chart.reading.key_names import _MOST_SQUARES, _cleaned, named, named_once
from pic2chart.reading.lattice import Lattice, no_warp
from pic2chart.reading.line_text import can_read, read_line
from pic2chart.reading.reading_settings import ReadSettings
from pic2chart.reading.second_look import key_words
from pic2chart.reading.yarn_names import yarns_for
from tests.bench.key_names_read import names_read
from tests.helpers.drawn_charts import drawn_chart

FACE = f"{reportlab.__path__[0]}/fonts/Vera.ttf"
SEED = 5003


def printed(text: str, size: float = 24) -> np.ndarray:
    """A line of print, cut out closely."""
    font = ImageFont.truetype(FACE, size)
    page = Image.new("RGB", (round(font.getlength(text)) + 12, round(1.6 * size)), (240, 238, 230))
    ImageDraw.Draw(page).text((6, 0.8 * size), text, fill=(40, 40, 44), font=font, anchor="lm")
    return np.asarray(page)


@pytest.mark.parametrize("text", ["oat", "Pale moss 204", "Grün", "midnight"])
def test_a_printed_line_is_read_and_always_the_same(text):
    once, again = read_line(printed(text)), read_line(printed(text))
    assert once == again
    assert once.text == text
    assert once.sure > 0.9


def test_paper_and_noise_hold_no_sure_text():
    noise = np.random.default_rng(0).integers(0, 256, (40, 160, 3), dtype=np.uint8)
    for page in (np.full((40, 160, 3), 240, np.uint8), noise):
        read = read_line(page)
        assert not (_cleaned(read.text) and read.sure > 0.5), read


@pytest.mark.parametrize("beyond", [0, 1])
def test_a_key_of_more_squares_than_any_chart_has_is_not_read(beyond):
    """Each name costs readings by the network, so that a hostile photo must not hold them by hundreds."""
    count, side = _MOST_SQUARES + beyond, 24
    page = Image.new("RGB", (220, 2 * side * count + side), (240, 238, 230))
    draw = ImageDraw.Draw(page)
    font = ImageFont.truetype(FACE, 18)
    tops = [side + 2 * side * n for n in range(count)]
    draw.text(
        (side * 2.6, tops[0] + side / 2), "midnight", fill=(40, 40, 44), font=font, anchor="lm"
    )
    per_square = np.diag([1 / side, 1 / side, 1.0])
    grid = ChartGrid(
        Lattice(per_square, no_warp(), (0.0, 0.0, 9.0, 2.0 * count)), 9, 2 * count, 1.0
    )
    boxes = np.array([[1.0, top / side, 1.0, 1.0] for top in tops])
    read = named(np.asarray(page), grid, Key(boxes, tuple(range(count))), 0)
    assert read.names == ({} if beyond else {0: "midnight"})


@pytest.mark.slow
@pytest.mark.parametrize("turn", [0, 90])
def test_the_key_names_the_yarns_also_of_a_turned_photo(tmp_path, turn):
    drawn = drawn_chart(SEED, "named")
    path = tmp_path / "chart.png"
    Image.fromarray(np.rot90(drawn.page, turn // 90)).save(path, compress_level=1)
    reading = read_photo(path, ReadSettings(turn=str(turn)))
    assert [outcome for outcome, _, _ in names_read(reading, drawn)] == ["right"] * drawn.key
    (said,) = [str(one) for one in reading.report.remarks if one.code == "key-seen"]
    assert all(name in said for name in drawn.names)


@pytest.mark.slow
def test_without_the_extra_yarns_have_the_names_of_their_colours(tmp_path, monkeypatch):
    monkeypatch.setattr(line_text, "_FOLDER", "nowhere")
    assert not can_read()
    drawn = drawn_chart(SEED, "named")
    path = tmp_path / "chart.png"
    Image.fromarray(drawn.page).save(path, compress_level=1)
    reading = read_photo(path)
    assert {outcome for outcome, _, _ in names_read(reading, drawn)} == {"left out"}
    (said,) = [str(one) for one in reading.report.remarks if one.code == "key-seen"]
    assert said.count("pic2chart[letters]") == 1


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("oat", "oat"),
        ("= Pale  moss 204", "Pale moss 204"),
        (": rust-red.", "rust-red"),
        ("a", ""),
        ("204", ""),
        ("oat=#ffffff", ""),
        ("../../oat", ""),
        ("<b>oat</b>", ""),
        ("o\u202eat", "o at"),
        ("o\x1b[2Jat", ""),
        ("oat" * 40, ""),
    ],
)
def test_only_a_short_line_of_letters_is_a_name(text, name):
    assert _cleaned(text) == name


@given(st.text(max_size=80))
def test_whatever_is_read_a_name_is_one_that_a_yarn_can_have(text):
    name = _cleaned(text)
    assert not name or Yarn(name, "#000000").name == name


def test_a_name_beside_two_squares_or_two_squares_of_one_yarn_name_nothing():
    assert named_once((0, 1, 2), ["oat", "ink", "Oat"]) == {1: "ink"}
    assert named_once((0, 0, 1), ["oat", "rust", "ink"]) == {1: "ink"}
    assert named_once((-1, 1), ["oat", ""]) == {}


def test_yarns_that_are_given_keep_their_names_and_no_name_comes_twice():
    colours = np.array([[255, 255, 255], [200, 30, 30], [30, 30, 200]], np.uint8)
    plain = [yarn.name for yarn in yarns_for(colours, ReadSettings(), {})]
    names = yarns_for(colours, ReadSettings(), {0: "oat", 1: plain[2]})
    assert [yarn.name for yarn in names] == ["oat", plain[1], plain[2]]
    settings = ReadSettings(yarn=("ink=#1e1ec8",))
    names = yarns_for(colours, settings, {0: "oat", 1: "Ink", 2: "rust"})
    assert [yarn.name for yarn in names] == ["oat", plain[1], "ink"]


def test_the_remark_says_when_no_name_is_sure():
    said = str(key_words(Key(np.zeros((2, 4)), (0, 1)), (Yarn("a", "#000000"),)))
    assert "No name beside its squares is read for sure" in said
