"""Chart files there and back, and files that nobody should trust."""

from __future__ import annotations

import io
import json
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from pic2chart.core.errors import InputError, OutputError
from pic2chart.model.any_file import read_any, read_csv, read_png, write_csv
from pic2chart.model.chart import NO_STITCH, Catch, Chart, Rules
from pic2chart.model.chart_file import chart_from_text, chart_to_text, read_chart, write_chart
from pic2chart.model.construction import Construction, Opening, PlainPart, Shaping, StepSection
from pic2chart.model.gauge import Gauge
from pic2chart.model.rows import Row
from pic2chart.model.yarn import LEAST_M_PER_100G, Yarn

OAT, INK = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c")

EXAMPLE = {
    "format": "pic2chart.chart",
    "version": 2,
    "title": "harbour dog",
    "worked": "round",
    "hand": "right",
    "gauge": {"stitches": 28.0, "rounds": 31.0, "over_cm": 10},
    "yarns": [
        {"key": "A", "name": "oat", "colour": "#ece2d0"},
        {"key": "B", "name": "ink", "colour": "#26304c"},
    ],
    "rounds": ["AABBA", "ABBAA"],
    "catches": [{"round": 2, "stitch": 4, "yarn": "B"}],
    "rules": {
        "colours_per_round": 2,
        "float_limit": 5,
        "long_floats": "catch",
        "isolated": "tidy",
        "min_delta_L": 20,
    },
    "source": {"picture": "dog.jpg", "sha256": "00", "settings": {}},
    "score": {"energy": 1.0, "bound": 0.99, "likeness": 0.9},
}


def same(a: Chart, b: Chart) -> bool:
    """Whether two charts are equal in every part."""
    fixed = (a.fixed is None and b.fixed is None) or np.array_equal(a.fixed, b.fixed)
    names = [
        "yarns",
        "gauge",
        "title",
        "worked",
        "hand",
        "rules",
        "catches",
        "repeat",
        "rows",
        "construction",
        "source",
        "score",
        "extra",
    ]
    return (
        np.array_equal(a.stitches, b.stitches)
        and fixed
        and all(getattr(a, name) == getattr(b, name) for name in names)
    )


printable = st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=12)
plain = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**20), 10**20)
    | st.floats(-1e300, 1e300)
    | printable,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(printable, inner, max_size=3),
    max_leaves=6,
)
objects = st.dictionaries(printable, plain, max_size=3)
amount = st.none() | st.floats(0, 1e6)
metres = st.none() | st.just(0.0) | st.floats(LEAST_M_PER_100G, 1e6)


@st.composite
def grids(draw, yarns):
    rounds, width = draw(st.integers(1, 8)), draw(st.integers(1, 10))
    pick = st.sampled_from([*range(yarns), NO_STITCH])
    cells = draw(st.lists(pick, min_size=rounds * width, max_size=rounds * width))
    grid = np.array(cells, np.uint8).reshape(rounds, width)
    if (grid == NO_STITCH).all():
        grid[0, 0] = 0
    return grid


@st.composite
def charts(draw):
    """Any valid chart."""
    colour = st.integers(0, 0xFFFFFF).map("#{:06x}".format)
    yarn = st.builds(
        Yarn,
        printable,
        colour,
        st.none() | printable,
        metres,
        amount,
        amount,
        st.none() | printable,
    )
    yarns = tuple(draw(st.lists(yarn, min_size=1, max_size=12)))
    grid = draw(grids(len(yarns)))
    rounds, width = grid.shape
    catch = st.builds(
        Catch,
        st.integers(0, rounds - 1),
        st.integers(0, width - 1),
        st.integers(0, len(yarns) - 1),
    )
    rules = st.builds(
        Rules,
        st.integers(1, 3),
        st.integers(1, 60),
        st.sampled_from(["catch", "break"]),
        st.sampled_from(["tidy", "keep"]),
        st.floats(0, 100),
    )
    bits = st.lists(st.booleans(), min_size=grid.size, max_size=grid.size)
    fixed = draw(st.none() | bits)
    return Chart(
        grid,
        yarns,
        Gauge(draw(st.floats(3, 120)), draw(st.floats(3, 120))),
        draw(printable),
        draw(st.sampled_from(["round", "flat"])),
        draw(st.sampled_from(["right", "left"])),
        draw(rules),
        tuple(draw(st.lists(catch, max_size=5, unique=True))),
        draw(st.none() | st.tuples(st.integers(1, 20), st.integers(1, 20))),
        None if fixed is None else np.array(fixed).reshape(grid.shape),
        draw(rows(grid)),
        draw(constructions(len(yarns))),
        draw(objects),
        draw(objects),
        extra={f"x {name}": value for name, value in draw(objects).items()},
    )


@st.composite
def rows(draw, grid):
    """Rows that reach at least over the stitches there are."""
    found = []
    for r in sorted(draw(st.sets(st.integers(0, len(grid) - 1), max_size=3))):
        live, last = np.flatnonzero(grid[r] != NO_STITCH), grid.shape[1] - 1
        low, high = (int(live[0]), int(live[-1])) if live.size else (last, 0)
        first = draw(st.integers(0, low))
        past = draw(st.integers(max(first, high), last))
        found.append(Row(r, first, past, draw(st.booleans()), draw(st.booleans())))
    return tuple(found)


@st.composite
def constructions(draw, yarns):
    """Anything a chart can tell of how it becomes a piece."""
    place = st.integers(0, 50)
    count = st.integers(1, 9)
    shaping = st.builds(Shaping, place, place, st.sampled_from(["k2tog", "ssk", "increase"]))
    counted = st.builds(Shaping, place, place, st.sampled_from(["hold", "cast-on"]), count)
    part = st.builds(PlainPart, printable, st.integers(0, yarns - 1), place, place, place)
    section = st.builds(StepSection, printable, st.lists(printable, max_size=3).map(tuple))
    return Construction(
        draw(st.none() | st.lists(shaping | counted, max_size=3).map(tuple)),
        tuple(draw(st.lists(st.builds(Opening, place, place, count), max_size=2))),
        draw(st.none() | st.lists(part, max_size=2).map(tuple)),
        tuple(draw(st.lists(section, max_size=2))),
        draw(st.none() | printable),
        draw(objects),
        draw(st.none() | place),
        draw(st.booleans()),
    )


# --- JSON --------------------------------------------------------------------------------------


@pytest.mark.slow
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(charts())
def test_any_chart_comes_back_from_its_file(chart):
    text = chart_to_text(chart)
    back = chart_from_text(text)
    assert same(back, chart)
    assert chart_to_text(back) == text


def test_the_published_example_reads_as_it_should():
    chart = chart_from_text(json.dumps(EXAMPLE))
    assert chart.stitches.tolist() == [[0, 0, 1, 1, 0], [0, 1, 1, 0, 0]]
    assert chart.yarns == (OAT, INK)
    assert chart.gauge == Gauge(28, 31)
    assert chart.catches == (Catch(1, 3, 1),)
    assert chart.rules == Rules()
    assert chart.repeat is None
    assert json.loads(chart_to_text(chart)) == EXAMPLE
    assert list(json.loads(chart_to_text(chart))) == list(EXAMPLE)


def test_the_file_has_one_line_a_round_a_yarn_and_a_catch():
    lines = chart_to_text(chart_from_text(json.dumps(EXAMPLE))).splitlines()
    assert '    "AABBA",' in lines
    assert '    "ABBAA"' in lines
    assert '    {"key": "A", "name": "oat", "colour": "#ece2d0"},' in lines
    assert '    {"round": 2, "stitch": 4, "yarn": "B"}' in lines
    assert lines[0] == "{"
    assert lines[-1] == "}"


def test_changing_one_stitch_changes_one_line():
    chart = chart_from_text(json.dumps(EXAMPLE))
    grid = chart.stitches.copy()
    grid[0, 0] = 1
    before, after = (chart_to_text(c).splitlines() for c in (chart, chart.with_(stitches=grid)))
    assert sum(a != b for a, b in zip(before, after, strict=True)) == 1


def test_unknown_names_are_kept_everywhere():
    data = json.loads(json.dumps(EXAMPLE))
    data["shop"] = "Skerry Wool"
    data["construction"] = {"piece": "mitten", "drawstring": {"cm": 90}}
    data["gauge"]["needle_mm"] = 2.5
    data["rules"]["purls"] = False
    data["yarns"][1]["dyer"] = {"town": "Skerry"}
    data["repeat"] = {"stitches": 5, "rounds": 2, "mirror": True}
    chart = chart_from_text(json.dumps(data))
    assert chart.extra["shop"] == "Skerry Wool"
    assert chart.construction == Construction(piece="mitten")
    assert json.loads(chart_to_text(chart)) == data
    turned = chart.with_(yarns=chart.yarns[::-1])
    assert json.loads(chart_to_text(turned))["yarns"][0]["dyer"] == {"town": "Skerry"}


def test_what_is_left_out_has_its_default():
    data = {name: EXAMPLE[name] for name in ("format", "version", "yarns", "rounds")}
    chart = chart_from_text(json.dumps(data))
    assert (chart.title, chart.worked, chart.hand) == ("untitled", "round", "right")
    assert chart.gauge == Gauge()
    assert chart.rules == Rules()


def test_keys_of_the_file_become_a_to_l():
    data = dict(EXAMPLE, rounds=["..x#", "#x#x"], catches=[])
    data["yarns"] = [
        {"key": "#", "name": "oat", "colour": "#ece2d0"},
        {"key": "x", "name": "ink", "colour": "#26304c"},
    ]
    chart = chart_from_text(json.dumps(data))
    assert json.loads(chart_to_text(chart))["rounds"] == ["..BA", "ABAB"]


def test_fixed_stitches_and_the_repeat():
    data = dict(EXAMPLE, fixed=["#....", "....#"], repeat={"stitches": 5, "rounds": 2})
    chart = chart_from_text(json.dumps(data))
    assert chart.fixed is not None
    assert np.argwhere(chart.fixed).tolist() == [[0, 0], [1, 4]]
    assert chart.repeat == (5, 2)
    assert chart.stacked


def test_a_catch_given_twice_is_written_once():
    chart = chart_from_text(json.dumps(EXAMPLE | {"catches": EXAMPLE["catches"] * 2}))
    assert json.loads(chart_to_text(chart))["catches"] == EXAMPLE["catches"]


def test_writing_and_reading_a_file(tmp_path):
    path = tmp_path / "dog.chart.json"
    chart = chart_from_text(json.dumps(EXAMPLE))
    write_chart(chart, path)
    assert same(read_chart(path), chart)
    assert [p.name for p in tmp_path.iterdir()] == ["dog.chart.json"]


def test_a_byte_order_mark_is_dropped(tmp_path):
    path = tmp_path / "dog.chart.json"
    path.write_bytes(b"\xef\xbb\xbf" + json.dumps(EXAMPLE).encode())
    assert same(read_any(path), chart_from_text(json.dumps(EXAMPLE)))


def test_a_title_from_an_odd_file_name_can_be_written_and_read():
    chart = chart_from_text(json.dumps(EXAMPLE)).with_(title="dog\udcff \n at\tsea " + "x" * 500)
    back = chart_from_text(chart_to_text(chart))
    assert back.title.startswith("dog at sea xxx")
    assert len(back.title) == 200


def test_numpy_numbers_can_be_written():
    chart = chart_from_text(json.dumps(EXAMPLE)).with_(
        score={"energy": np.float64(0.5), "rounds": np.arange(2)}
    )
    assert json.loads(chart_to_text(chart))["score"] == {"energy": 0.5, "rounds": [0, 1]}


@pytest.mark.parametrize(
    "parts",
    [
        {"score": {"likeness": float("nan")}},
        {"source": {"when": object()}},
        {"catches": (Catch(0, 9, 0),)},
        {"catches": (Catch(0, 1, 11),)},
    ],
)
def test_what_cannot_be_written_is_refused_before_the_file_is_touched(tmp_path, parts):
    path = tmp_path / "dog.chart.json"
    path.write_text("as it was")
    with pytest.raises(OutputError):
        write_chart(chart_from_text(json.dumps(EXAMPLE)).with_(**parts), path)
    assert path.read_text() == "as it was"


HUGE = 10**400
BACK = {"round": 2, "direction": "left-to-right"}
WRONG = [
    ({"format": "knitting"}, "not a chart file"),
    ({"version": 3}, "version 3, newer than the 2"),
    ({"version": "1"}, "version"),
    ({"version": True}, "version is true"),
    ({"version": 0}, "version"),
    ({"title": 7}, "title"),
    ({"title": "x" * 20_000}, "title"),
    ({"worked": "sideways"}, "worked"),
    ({"worked": ["round"]}, "worked"),
    ({"hand": None}, "hand"),
    ({"gauge": 28}, "gauge"),
    ({"gauge": {"stitches": True}}, "gauge stitches is true"),
    ({"gauge": {"stitches": "28"}}, "gauge stitches"),
    ({"gauge": {"stitches": 1}}, "gauge"),
    ({"gauge": {"stitches": 28, "rounds": -3}}, "gauge rounds"),
    ({"gauge": {"over_cm": 0}}, "gauge over_cm"),
    ({"yarns": []}, "yarns has 0 parts"),
    ({"yarns": {}}, "yarns is an object"),
    ({"yarns": [1]}, "yarn 1"),
    ({"yarns": EXAMPLE["yarns"] * 7}, "yarns has 14 parts"),
    ({"yarns": EXAMPLE["yarns"][:1] * 2}, "share the key"),
    ({"yarns": [{"key": "AB", "name": "oat", "colour": "#ece2d0"}]}, "key of yarn 1"),
    ({"yarns": [{"key": ".", "name": "oat", "colour": "#ece2d0"}]}, "key of yarn 1"),
    ({"yarns": [{"key": " ", "name": "oat", "colour": "#ece2d0"}]}, "key of yarn 1"),
    ({"yarns": [{"key": "", "name": "oat", "colour": "#ece2d0"}]}, "key of yarn 1"),
    ({"yarns": [{"key": "A", "name": "", "colour": "#ece2d0"}]}, "Yarn 1"),
    ({"yarns": [{"key": "A", "name": "oat", "colour": "red"}]}, "Yarn 1"),
    ({"yarns": [{"key": "A", "colour": "#ece2d0"}]}, "the name of yarn 1"),
    ({"yarns": [{"key": "A", "name": "oat", "colour": "#ece2d0", "grams": -1}]}, "the grams"),
    ({"yarns": [{"key": "A", "name": "oat", "colour": "#ece2d0", "lot": 7}]}, "the lot"),
    ({"rounds": []}, "rounds has 0 parts"),
    ({"rounds": [""]}, "rounds, round 1"),
    ({"rounds": "AAA"}, "rounds"),
    ({"rounds": ["AABBA", "ABB"]}, "Round 2 has 3 squares"),
    ({"rounds": ["AABBA", "ABZAA"]}, "Round 2, stitch 3"),
    ({"rounds": ["AABBA", 5]}, "rounds, round 2"),
    ({"rounds": ["AABBA", None]}, "rounds, round 2"),
    ({"rounds": ["....."], "catches": []}, "no stitches"),
    ({"rounds": ["A" * 1001]}, "1001"),
    ({"rounds": ["A"] * 1001}, "1,001 parts"),
    ({"catches": {}}, "catches"),
    ({"catches": [{"round": 0, "stitch": 1, "yarn": "A"}]}, "the round of catch 1"),
    ({"catches": [{"round": 3, "stitch": 1, "yarn": "A"}]}, "the round of catch 1"),
    ({"catches": [{"round": 1, "stitch": 6, "yarn": "A"}]}, "the stitch of catch 1"),
    ({"catches": [{"round": 1, "stitch": 1.0, "yarn": "A"}]}, "the stitch of catch 1"),
    ({"catches": [{"round": True, "stitch": 1, "yarn": "A"}]}, "the round of catch 1"),
    ({"catches": [{"round": 1, "stitch": 1, "yarn": "C"}]}, "the yarn of catch 1"),
    ({"catches": [{"round": 1, "stitch": 1, "yarn": ["A"]}]}, "the yarn of catch 1"),
    ({"catches": [[1, 1, "A"]]}, "catch 1"),
    ({"catches": EXAMPLE["catches"] * 100}, "catches has 100 parts"),
    ({"rules": {"colours_per_round": 4}}, "rules colours_per_round"),
    ({"rules": {"float_limit": 0}}, "rules float_limit"),
    ({"rules": {"float_limit": 5.5}}, "rules float_limit"),
    ({"rules": {"long_floats": "ignore"}}, "rules long_floats"),
    ({"rules": {"isolated": False}}, "rules isolated"),
    ({"rules": {"min_delta_L": 101}}, "rules min_delta_L"),
    ({"rules": {"min_delta_L": "20"}}, "rules min_delta_L"),
    ({"repeat": {"stitches": 5}}, "repeat rounds is missing"),
    ({"repeat": {"stitches": 0, "rounds": 1}}, "repeat stitches"),
    ({"repeat": [5, 2]}, "repeat"),
    ({"construction": []}, "construction is a list"),
    ({"rows": {}}, "rows is an object"),
    ({"rows": [BACK, BACK]}, "Two rows are told for round 2"),
    ({"rows": [BACK | {"round": 3}]}, "the round of row 1"),
    ({"rows": [BACK | {"direction": "up"}]}, "the direction of row 1"),
    ({"rows": [BACK | {"first": 4, "last": 3}]}, "the last stitch of row 1"),
    ({"rows": [BACK | {"last": 6}]}, "the last stitch of row 1"),
    ({"rows": [BACK | {"last": 4}]}, "Round 2, stitch 5: the row reaches from stitch 1 to 4"),
    ({"rows": [BACK | {"wrong_side": 1}]}, "The wrong_side of row 1"),
    ({"fixed": ["....."]}, "fixed"),
    ({"fixed": [".....", "...x."]}, "fixed round 2"),
    ({"fixed": [".....", "...."]}, "fixed round 2"),
    ({"fixed": [1, 2]}, "fixed"),
    ({"source": []}, "source"),
    ({"score": 1.0}, "score"),
]


@pytest.mark.parametrize(("change", "words"), WRONG)
def test_a_wrong_file_is_refused_in_one_sentence_naming_where(change, words):
    with pytest.raises(InputError) as caught:
        chart_from_text(json.dumps(EXAMPLE | change))
    message = str(caught.value)
    assert words in message
    assert message.endswith(".")
    assert "\n" not in message
    assert len(message) < 300


@pytest.mark.parametrize("missing", ["format", "version", "yarns", "rounds"])
def test_what_cannot_be_left_out(missing):
    with pytest.raises(InputError, match=r"missing|not a chart file"):
        chart_from_text(json.dumps({k: v for k, v in EXAMPLE.items() if k != missing}))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not valid JSON at line 1"),
        ("[", "not valid JSON"),
        ("null", "not a chart file"),
        ("[1]", "not a chart file"),
        ("[" * 100_000, "nested too deeply"),
        ('{"a":' * 100 + "1" + "}" * 100, "nested too deeply"),
        ("[" * 1_000_001, "more than 1000000"),
        ('{"format": 1, "format": 2}', "'format' twice"),
        ('{"score": NaN}', "NaN"),
        ('{"score": -Infinity}', "-Infinity"),
        ('{"score": 1e999}', "too large"),
        (f'{{"score": {HUGE}}}', "401 digits"),
        ('{"title": "\\ud800"}', "half a character"),
        ('{"\\udfff": 1}', "half a character"),
    ],
)
def test_text_that_is_no_chart(text, words):
    with pytest.raises(InputError, match=r"^[^\n]+$") as caught:
        chart_from_text(text)
    assert words in str(caught.value)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(sorted(EXAMPLE)), plain)
def test_no_part_of_a_file_brings_the_reader_down(name, value):
    """Whatever stands in a part, the file is read, or refused in one sentence."""
    said = "."
    try:
        chart_to_text(chart_from_text(json.dumps(EXAMPLE | {name: value})))
    except InputError as error:
        said = str(error)
    assert said.endswith(".")


def test_a_file_too_large_or_not_utf8(tmp_path):
    path = tmp_path / "dog.chart.json"
    path.write_bytes(b"{" + b" " * 20_000_001)
    with pytest.raises(InputError, match=r"20 MB"):
        read_chart(path)
    path.write_bytes(b'{"title": "\xff"}')
    with pytest.raises(InputError, match=r"UTF-8"):
        read_chart(path)
    with pytest.raises(InputError, match=r"cannot be read"):
        read_chart(tmp_path / "missing.chart.json")


def test_the_file_is_named_when_it_is_wrong(tmp_path):
    path = tmp_path / "dog.chart.json"
    path.write_text("{}")
    with pytest.raises(InputError, match=r"dog.chart.json"):
        read_chart(path)


# --- PNG ---------------------------------------------------------------------------------------


def save(path, picture, **options):
    picture.save(path, format="PNG", **options)
    return path


def chunk(name, content):
    """One part of a PNG: length, name, content, checksum."""
    return (
        len(content).to_bytes(4, "big")
        + name
        + content
        + zlib.crc32(name + content).to_bytes(4, "big")
    )


def png(*chunks):
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks) + chunk(b"IEND", b"")


def indexed(grid, yarns):
    """A chart as an indexed picture: palette in yarn order, 255 transparent."""
    picture = Image.fromarray(np.ascontiguousarray(grid[::-1, ::-1]))
    palette = np.zeros((256, 3), np.uint8)
    palette[: len(yarns)] = [y.rgb for y in yarns]
    picture.putpalette(palette.tobytes())
    return picture


def some_yarns(count):
    return tuple(
        Yarn(f"y{i}", f"#{i * 20 + 5:02x}{200 - i * 9:02x}{i * 7:02x}") for i in range(count)
    )


@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.data(), st.integers(1, 12))
def test_an_indexed_picture_brings_its_stitches_and_colours(tmp_path, data, count):
    yarns, grid = some_yarns(count), data.draw(grids(count))
    chart = read_any(save(tmp_path / "a.png", indexed(grid, yarns), transparency=255))
    assert np.array_equal(chart.stitches, grid)
    colours = [y.colour for y in yarns]
    assert [y.colour for y in chart.yarns] == colours[: len(chart.yarns)]
    assert len(chart.yarns) == int(grid[grid != NO_STITCH].max()) + 1


@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.data(), st.integers(1, 12))
def test_a_picture_of_true_colours_brings_the_same_colours(tmp_path, data, count):
    yarns, grid = some_yarns(count), data.draw(grids(count))
    colours = np.zeros((256, 4), np.uint8)
    colours[:count] = [(*y.rgb, 255) for y in yarns]
    pixels = colours[grid[::-1, ::-1]]
    chart = read_png(save(tmp_path / "a.png", Image.fromarray(pixels)))
    back = np.zeros((256, 4), np.uint8)
    back[: len(chart.yarns)] = [(*y.rgb, 255) for y in chart.yarns]
    assert np.array_equal(back[chart.stitches], colours[grid])
    counts = [int((chart.stitches == i).sum()) for i in range(len(chart.yarns))]
    assert counts == sorted(counts, reverse=True)


def test_the_top_left_pixel_is_the_last_stitch_of_the_last_round(tmp_path):
    pixels = np.full((2, 3, 3), 255, np.uint8)
    pixels[0, 0] = 0
    chart = read_png(save(tmp_path / "gull.png", Image.fromarray(pixels)))
    assert chart.stitches.tolist() == [[0, 0, 0], [0, 0, 1]]
    assert [y.colour for y in chart.yarns] == ["#ffffff", "#000000"]
    assert chart.title == "gull"


@pytest.mark.parametrize("mode", ["1", "L", "LA", "RGB", "RGBA", "P", "I;16"])
def test_every_kind_of_png_is_read(tmp_path, mode):
    grey = Image.fromarray(np.array([[0, 255], [255, 255]], np.uint8))
    picture = (
        Image.fromarray(np.array([[0, 255], [255, 255]], np.uint16))
        if mode == "I;16"
        else grey.convert(mode)
    )
    chart = read_png(save(tmp_path / "a.png", picture))
    assert chart.stitches.shape == (2, 2)
    assert len(np.unique(chart.stitches)) == 2


def test_an_indexed_picture_whose_colours_lie_far_apart(tmp_path):
    picture = indexed(np.array([[0, 200], [200, 0]], np.uint8), some_yarns(1))
    palette = picture.getpalette("RGB")
    palette[600:603] = [1, 2, 3]
    picture.putpalette(palette)
    chart = read_png(save(tmp_path / "a.png", picture))
    assert sorted(y.colour for y in chart.yarns) == ["#010203", "#05c800"]


def test_a_photograph_is_sent_to_the_chart_command(tmp_path):
    noise = np.random.default_rng(0).integers(0, 255, (20, 20, 3)).astype(np.uint8)
    with pytest.raises(InputError, match=r"400 colours.*Use make_chart"):
        read_png(save(tmp_path / "a.png", Image.fromarray(noise)))
    with pytest.raises(InputError, match=r"1001 by 3 pixels.*Use make_chart"):
        read_png(save(tmp_path / "b.png", Image.new("RGB", (1001, 3))))


def test_a_picture_without_a_stitch(tmp_path):
    with pytest.raises(InputError, match=r"transparent"):
        read_png(save(tmp_path / "a.png", Image.new("RGBA", (3, 3))))


def test_damaged_pictures_are_refused(tmp_path):
    good = io.BytesIO()
    Image.new("RGB", (30, 30), "#26304c").save(good, format="PNG")
    data = good.getvalue()
    path = tmp_path / "a.png"
    for bad in (
        b"",
        data[:8],
        data[:40],
        data[:-30],
        data[:50] + b"\0" * 20 + data[70:],
        b"GIF89a",
    ):
        path.write_bytes(bad)
        with pytest.raises(InputError, match=r"^[^\n]+$"):
            read_any(path)


@pytest.mark.parametrize("side", [1001, 12_000, 50_000, 2**31 - 1])
@pytest.mark.filterwarnings("error")
def test_a_picture_that_claims_to_be_enormous(tmp_path, side):
    """The size in the header is believed only as far as refusing it: nothing is unpacked."""
    path = tmp_path / "a.png"
    size = side.to_bytes(4, "big") * 2
    path.write_bytes(png(chunk(b"IHDR", size + b"\x08\x02\x00\x00\x00"), chunk(b"IDAT", b"")))
    with pytest.raises(InputError, match=f"is {side} by {side} pixels"):
        read_png(path)


@settings(
    max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.data())
def test_parts_with_wrong_contents_and_right_checksums(tmp_path, data):
    """A header, palette, transparency and pixels of any bytes: read, or refused in one sentence."""
    small = st.integers(0, 9).map(lambda n: n.to_bytes(4, "big"))
    kind = st.sampled_from(
        [bytes([b, k, 0, 0, i]) for b in (1, 4, 8, 16) for k in (0, 2, 3, 4, 6) for i in (0, 1)]
    )
    header = data.draw(small) + data.draw(small) + data.draw(kind)
    pixels = data.draw(st.binary(max_size=200).map(zlib.compress) | st.binary(max_size=30))
    parts = [chunk(b"IHDR", header), chunk(b"PLTE", data.draw(st.binary(max_size=40)))]
    parts.append(
        chunk(
            data.draw(st.sampled_from([b"tRNS", b"IHDR", b"zTXt", b"iCCP"])),
            data.draw(st.binary(max_size=20)),
        )
    )
    path = tmp_path / "a.png"
    path.write_bytes(png(*parts, chunk(b"IDAT", pixels)))
    said = "."
    try:
        read_png(path)
    except InputError as error:
        said = str(error)
    assert said.endswith(".")
    assert "\n" not in said


# --- CSV ---------------------------------------------------------------------------------------


@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.data(), st.integers(1, 12))
def test_a_table_brings_its_stitches(tmp_path, data, count):
    yarns, grid = some_yarns(count), data.draw(grids(count))
    path = tmp_path / "a.csv"
    write_csv(Chart(grid, yarns), path)
    assert np.array_equal(read_csv(path, yarns).stitches, grid)
    assert read_csv(path, yarns).yarns == yarns
    assert np.array_equal(read_any(path).stitches, grid)


def test_the_table_lies_as_the_chart_does(tmp_path):
    path = tmp_path / "a.csv"
    write_csv(chart_from_text(json.dumps(EXAMPLE)), path)
    assert path.read_text() == "A,A,B,B,A\nA,B,B,A,A\n"
    path.write_text("B,A,A\nA,A,.\n")
    assert read_csv(path).stitches.tolist() == [[NO_STITCH, 0, 0], [0, 0, 1]]


@pytest.mark.parametrize(
    "text",
    ["x;o;x\no;x;", "x\to\tx\no\tx\t\n", '"x","o","x"\r\n"o","x",""\r\n', "\ufeffx,o,x\no,x,.\n"],
)
def test_tables_of_other_programs(tmp_path, text):
    path = tmp_path / "a.csv"
    path.write_bytes(text.encode())
    chart = read_csv(path)
    assert chart.stitches.tolist() == [[NO_STITCH, 1, 0], [1, 0, 1]]


def test_no_cell_written_can_be_a_formula(tmp_path):
    yarns = tuple(Yarn(f"=cmd{i}", "#26304c") for i in range(12))
    path = tmp_path / "a.csv"
    write_csv(Chart(np.arange(12, dtype=np.uint8)[None], yarns), path)
    assert set(path.read_text()) <= set("ABCDEFGHIJKL.,\n")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("\n\n", "empty"),
        (".,.\n", "no stitches"),
        ("A,B\nA\n", "Round 2 has 2 squares, but round 1 has 1"),
        ("A,=1+1\n", "line 1, cell 2"),
        ("A,\0\n", "line 1, cell 2"),
        (",".join("ABCDEFGHIJKLM") + "\n", "13 different letters"),
        ("A," * 1001 + "A\n", "1002 cells"),
        ("A\n" * 1001, "1000 lines"),
        ('"' + "A" * 200_000, "not a table"),
    ],
)
def test_tables_that_are_refused(tmp_path, text, words):
    path = tmp_path / "a.csv"
    path.write_text(text)
    with pytest.raises(InputError, match=r"^[^\n]+$") as caught:
        read_csv(path)
    assert words in str(caught.value)


def test_a_table_with_too_few_yarns_given(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("A,B\n")
    with pytest.raises(InputError, match=r"needs 2 yarns"):
        read_csv(path, [OAT])


# --- any ---------------------------------------------------------------------------------------


def test_what_is_no_chart_at_all(tmp_path):
    path = tmp_path / "dog.jpg"
    Image.new("RGB", (9, 9)).save(path)
    with pytest.raises(InputError, match=r"use make_chart"):
        read_any(path)
    with pytest.raises(InputError, match=r"cannot be read"):
        read_any(tmp_path / "missing.csv")
    with pytest.raises(InputError, match=r"cannot be read"):
        read_any(tmp_path)


def test_content_goes_before_the_name(tmp_path):
    chart = chart_from_text(json.dumps(EXAMPLE))
    path = tmp_path / "dog.txt"
    write_chart(chart, path)
    assert same(read_any(path), chart)


def test_a_broken_animation_in_a_png_is_passed_over(
    tmp_path: Path, recwarn: pytest.WarningsRecorder
) -> None:
    """Nothing is said on standard error but the program's own line."""
    path = tmp_path / "dog.png"
    Image.new("RGB", (3, 2), "#26304c").save(path)
    data = path.read_bytes()
    control = b"acTL" + bytes(8)  # no frames at all, which the PNG standard does not allow
    chunk = struct.pack(">I", 8) + control + struct.pack(">I", zlib.crc32(control))
    path.write_bytes(data[:33] + chunk + data[33:])
    assert read_png(path).stitches.shape == (2, 3)
    assert not recwarn.list
