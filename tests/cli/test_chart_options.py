"""Every option of `chart` from end to end, through the command, on the sample pictures."""

from __future__ import annotations

import io
import json
import struct
import zlib
from pathlib import Path
from shutil import copyfile
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from pic2chart.cli.app import run
from pic2chart.design.filler import FILLERS
from pic2chart.model import measure
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.chart_file import read_chart
from pic2chart.model.gauge import Gauge
from tests.helpers.places import SAMPLES, TESTS

YARNS = ["--yarn", "oat=#ece2d0", "--yarn", "ink=#26304c"]
SHELF = """name,colour
oat,#ece2d0
ink,#26304c
rust,#a8502f
moss,#5d6b3a
fog,#aeb6bd
slate,#56616b
tar,#1c1c1e
sail,#f4f1e8
buoy,#d8622a
kelp,#3f4a2a
"""


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Each test works in an empty folder of its own."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


class Made:
    """What a run of `chart` said and wrote."""

    def __init__(self, picture: Path, *options: str, capsys: Any) -> None:
        self.stem = picture.stem
        self.status = run(["chart", str(picture), "--out", "out", "--json", *options])
        self.out, self.err = capsys.readouterr()
        self.said: dict[str, Any] = json.loads(self.out) if self.out else {}

    @property
    def chart(self) -> Chart:
        return read_chart(Path("out", f"{self.stem}.chart.json"))

    @property
    def most_yarns(self) -> int:
        return int(measure.yarns_per_round(self.chart.stitches, 12).sum(axis=1).max())


@pytest.fixture
def made(capsys: pytest.CaptureFixture[str]) -> Any:
    return lambda picture, *options: Made(Path(picture), *options, capsys=capsys)


@pytest.mark.parametrize("name", FILLERS)
def test_every_filler_behind_a_subject(made: Any, name: str) -> None:
    done = made(SAMPLES / "tabby.png", *YARNS, "--stitches", "48", "--filler", name)
    assert done.status == 0
    ground = done.chart.stitches[:3]  # below the cat there is nothing but the filler
    assert set(np.unique(ground).tolist()) == {0, 1}
    assert measure.floats(ground, True).longest <= 4
    assert done.said["report"]["longest_uncaught"] <= 5


def test_the_best_of_a_shelf(made: Any, here: Path) -> None:
    (here / "shelf.csv").write_text(SHELF)
    done = made(SAMPLES / "harbour-dog.png", "--shelf", "shelf.csv", "--yarns", "4")
    names = [yarn["name"] for yarn in done.said["report"]["yarns"]]
    assert done.status == 0
    assert 2 <= len(set(names)) == len(names) <= 4
    assert all(yarn["stitches"] for yarn in done.said["report"]["yarns"])
    assert all(f"\n{name}," in SHELF for name in names)
    assert done.most_yarns <= 2
    light = [yarn["L"] for yarn in done.said["report"]["yarns"]]
    assert max(light) - min(light) > 50  # a dog black and white wants light against dark


def test_a_shelf_too_small_or_missing(made: Any, here: Path) -> None:
    (here / "shelf.csv").write_text(SHELF)
    small = made(SAMPLES / "boat.png", "--shelf", "shelf.csv", "--yarns", "11")
    missing = made(SAMPLES / "boat.png", "--shelf", "gone.csv")
    assert (small.status, missing.status) == (2, 2)
    assert "' holds 10 yarns; " in small.err
    assert "'gone.csv' cannot be read" in missing.err
    assert not Path("out").exists()


@pytest.mark.slow
@pytest.mark.parametrize("most", [1, 2, 3])
def test_twelve_yarns_few_in_a_round(made: Any, most: int) -> None:
    done = made(
        *(SAMPLES / "harbour-dog.png", "--subject", "none"),
        "--yarns",
        "12",
        "--per-round",
        str(most),
    )
    assert done.status == 0
    yarns = done.said["report"]["yarns"]
    assert 4 <= len(yarns) <= 12
    assert all(yarn["stitches"] for yarn in yarns)
    said = f"Of the 12 yarns asked for {len(yarns)} will do"
    assert (said in " ".join(done.said["report"]["remarks"])) == (len(yarns) < 12)
    assert done.most_yarns <= most
    assert done.said["report"]["longest_uncaught"] <= 5


def test_yarns_that_are_named_stay_though_none_is_knitted(made: Any) -> None:
    done = made(SAMPLES / "word.png", *YARNS, "--yarn", "lime=#c4f02a")
    yarns = {yarn["name"]: yarn["stitches"] for yarn in done.said["report"]["yarns"]}
    assert yarns["lime"] == 0
    assert any(f["rule"] == "unused-yarn" and f["yarn"] == "lime" for f in done.said["findings"])


def test_one_yarn_a_round_has_no_float(made: Any) -> None:
    done = made(SAMPLES / "lighthouse.png", *YARNS, "--per-round", "1")
    report = done.said["report"]
    assert (done.status, done.most_yarns) == (0, 1)
    assert (report["longest_float"], report["catches"]) == (0, 0)


def test_flat_left_handed_so_many_rounds(made: Any) -> None:
    done = made(SAMPLES / "gull.png", *YARNS, "--flat", "--left-handed", "--rounds", "40")
    chart = done.chart
    assert done.status == 0
    assert (chart.worked, chart.hand, chart.round_count) == ("flat", "left", 40)
    assert not any(finding["rule"] == "join-jog" for finding in done.said["findings"])


def test_a_float_limit_in_centimetres(made: Any) -> None:
    """Three stitches of 28 in 10 cm are 1.07 cm, four are 1.43 cm."""
    done = made(SAMPLES / "gull.png", *YARNS, "--float-cm", "1.4", "--gauge", "28x30")
    assert done.status == 0
    assert done.chart.rules.float_limit == 3
    assert done.said["report"]["longest_uncaught"] <= 3


@pytest.mark.slow
def test_a_chart_keeps_the_shape_of_the_picture_at_any_gauge(made: Any) -> None:
    picture = Image.open(SAMPLES / "lighthouse.png")
    for gauge in ("20x20", "28x38", "40x30"):
        chart = made(SAMPLES / "lighthouse.png", *YARNS, "--gauge", gauge).chart
        width, height = Gauge.parse(gauge).size_cm(chart.stitch_count, chart.round_count)
        assert height / width == pytest.approx(picture.height / picture.width, rel=0.02)


@pytest.mark.slow
@pytest.mark.parametrize("suffix", ["jpg", "webp", "tif", "heic"])
def test_every_format_gives_nearly_the_same_chart(made: Any, here: Path, suffix: str) -> None:
    plain = made(SAMPLES / "lighthouse.png", *YARNS, "--look", "clear").chart
    if suffix == "heic":
        copyfile(TESTS / "picture" / "heic" / "lighthouse.heic", here / "a.heic")
    else:
        Image.open(SAMPLES / "lighthouse.png").convert("RGB").save(here / f"a.{suffix}", quality=95)
    other = made(here / f"a.{suffix}", *YARNS, "--look", "clear").chart
    assert (other.stitches != plain.stitches).mean() < 0.01


def test_a_crop_shows_that_part_alone(made: Any, here: Path) -> None:
    picture = Image.open(SAMPLES / "lighthouse.png").convert("RGB")
    box = (picture.width // 4, 0, picture.width // 4 * 3, picture.height // 2)
    picture.crop(box).save(here / "part.png")
    x, y, right, bottom = box
    crop = f"{x},{y},{right - x},{bottom - y}"
    cropped = made(SAMPLES / "lighthouse.png", *YARNS, "--crop", crop).chart
    assert np.array_equal(cropped.stitches, made(here / "part.png", *YARNS).chart.stitches)


@pytest.mark.faulty_charts
def test_a_ragged_chart_is_mended_round_its_gaps(here: Path) -> None:
    """Rounds of 24, 20, 16 … live stitches with long floats; no stitch appears or goes."""
    rng = np.random.default_rng(5)
    rows = []
    for r in range(12):
        row = ["B" if rng.random() < 0.12 else "A" for _ in range(24)]
        gaps = 2 * (r // 2)
        rows.append("".join(["."] * gaps + row[gaps : 24 - gaps // 2] + ["."] * (gaps // 2)))
    content = {
        "format": "pic2chart.chart",
        "version": 1,
        "worked": "round",
        "gauge": {"stitches": 28, "rounds": 30, "over_cm": 10},
        "yarns": [
            {"key": "A", "name": "oat", "colour": "#ece2d0"},
            {"key": "B", "name": "ink", "colour": "#26304c"},
        ],
        "rounds": rows,
        "rules": {"float_limit": 4, "long_floats": "break"},
    }
    (here / "hat.chart.json").write_text(json.dumps(content))
    assert run(["check", "hat.chart.json"]) == 1
    assert run(["mend", "hat.chart.json", "--out", "mended.chart.json"]) == 0
    before, after = (read_chart(here / f"{name}.chart.json") for name in ("hat", "mended"))
    assert np.array_equal(before.stitches == NO_STITCH, after.stitches == NO_STITCH)
    assert measure.floats(after.stitches, True).longest <= 4


def bomb() -> bytes:
    """A PNG of one pixel whose header claims 60000 by 60000."""
    data = bytearray(png(Image.new("RGB", (1, 1))))
    head = data[12:16] + struct.pack(">II", 60_000, 60_000) + data[24:29]
    data[12:33] = head + struct.pack(">I", zlib.crc32(head))
    return bytes(data)


def png(image: Image.Image) -> bytes:
    file = io.BytesIO()
    image.save(file, "PNG")
    return file.getvalue()


GREY = png(Image.new("RGB", (60, 40), "grey"))
NOISE = png(Image.effect_noise((200, 200), 80))
BAD = {
    "no picture": (b"oat, ink, rust", YARNS, "is not a JPEG"),
    "cut short": (NOISE[: len(NOISE) // 2], YARNS, "cut short"),
    "a bomb": (bomb(), YARNS, "more than 120 million pixels"),
    "all transparent": (png(Image.new("RGBA", (9, 9))), YARNS, "transparent everywhere"),
    "no stitches": (GREY, [*YARNS, "--stitches", "0"], "--stitches is 0"),
    "too many stitches": (GREY, [*YARNS, "--stitches", "100000"], "--stitches is 100000"),
    "too many rounds": (png(Image.new("L", (2, 900))), YARNS, "at most 1,000"),
    "too few rounds": (png(Image.new("L", (900, 9))), YARNS, "only 1 of the 4 rounds"),
    "no gauge": (GREY, [*YARNS, "--gauge", "0x0"], "between 3 and 120"),
    "absurd gauge": (GREY, [*YARNS, "--gauge", "28x9999"], "between 3 and 120"),
    "gauge in words": (GREY, [*YARNS, "--gauge", "loose"], "like 28x31"),
    "crop outside": (GREY, [*YARNS, "--crop", "50,0,20,20"], "60 pixels wide and 40 high"),
    "crop of nothing": (GREY, [*YARNS, "--crop", "0,0,0,5"], "at least 1 pixel"),
    "subject outside": (GREY, [*YARNS, "--subject", "99,0,9,9"], "60 pixels wide and 40 high"),
    "one yarn": (GREY, YARNS[:2], "at least two"),
    "a yarn of no colour": (GREY, [*YARNS, "--yarn", "rust=red"], "#rrggbb"),
    "no such yarn": (GREY, [*YARNS, "--subject", "9,9,20,20", "--background", "tar"], "'tar'"),
    "no such filler": (GREY, [*YARNS, "--filler", "tartan"], "the fillers are"),
}


@pytest.mark.parametrize(("content", "options", "says"), BAD.values(), ids=BAD.keys())
def test_bad_input_is_one_clear_line_and_leaves_nothing(
    made: Any, here: Path, content: bytes, options: list[str], says: str
) -> None:
    (here / "odd.png").write_bytes(content)
    done = made(here / "odd.png", *options)
    assert (done.status, done.out, done.err.count("\n")) == (2, "", 1)
    assert done.err.startswith("pic2chart: ")
    assert says in done.err
    assert "should not" not in done.err
    assert [path.name for path in here.iterdir()] == ["odd.png"]


def test_two_yarns_of_one_colour_are_a_finding(made: Any) -> None:
    twins = ["--yarn", "oat=#ece2d0", "--yarn", "bone=#ece2d0"]
    done = made(SAMPLES / "boat.png", *twins)
    found = [finding for finding in done.said["findings"] if finding["rule"] == "low-contrast"]
    assert done.status == 0
    assert [finding["level"] for finding in found] == ["warning"]
    assert "oat and bone have the same colour" in found[0]["message"]


@pytest.mark.parametrize("size", [(1, 1), (5, 3), (300, 60), (30, 90)])
@pytest.mark.parametrize("colour", ["white", "black", "grey"])
def test_pictures_with_next_to_nothing_in_them(
    made: Any, here: Path, size: tuple[int, int], colour: str
) -> None:
    Image.new("RGB", size, colour).save(here / "plain.png")
    done = made(here / "plain.png", *YARNS, "--stitches", "24")
    assert done.status == 0
    assert done.said["report"]["longest_float"] == 0
    assert [finding["rule"] for finding in done.said["findings"]] == ["unused-yarn"]


def test_names_of_every_script_and_markup(made: Any, here: Path) -> None:
    names = ["<b>\"oat\" & 'rye'</b>", "ïnk 墨 🧶", "a=b"]
    colours = ("#ece2d0", "#26304c", "#a8502f")
    given = [f"{name}={colour}" for name, colour in zip(names, colours, strict=True)]
    title = "<script>alert(1)</script> & 'harbour' 犬"
    yarns = [word for yarn in given for word in ("--yarn", yarn)]
    done = made(SAMPLES / "boat.png", *yarns, "--title", title)
    assert done.status == 0
    assert [yarn.name for yarn in done.chart.yarns] == names
    root = ElementTree.fromstring((here / "out" / "boat.svg").read_text(encoding="utf-8"))
    assert title in "".join(root.itertext())
    assert not root.findall(".//{*}script")
