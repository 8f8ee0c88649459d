"""The commands from end to end: what they write, what they say, and how they leave."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from pic2chart.checks.rules import check
from pic2chart.cli.app import run
from pic2chart.garment.kinds import GARMENTS
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import read_chart, write_chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from tests.helpers.places import SAMPLES
from tests.helpers.stranded import stranded

YARNS = ["--yarn", "oat=#ece2d0", "--yarn", "ink=#26304c"]
BOAT = ["chart", str(SAMPLES / "boat.png"), "--stitches", "28", *YARNS]
FILES = ["boat-front.png", "boat.chart.json", "boat.png", "boat.svg"]

PAIR = (Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"))
LONG = {
    "format": "pic2chart.chart",
    "version": 1,
    "title": "long floats",
    "worked": "round",
    "gauge": {"stitches": 28, "rounds": 30, "over_cm": 10},
    "yarns": [
        {"key": "A", "name": "oat", "colour": "#ece2d0"},
        {"key": "B", "name": "ink", "colour": "#26304c"},
    ],
    "rounds": ["AAAAAAAAABBB", "AAAAAAAAABBB", "ABBAABBAABBA"],
    "rules": {"float_limit": 5, "long_floats": "break"},
}
"""Two rounds with a float of nine stitches, where five are allowed and long ones are broken."""


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Each test works in an empty folder of its own."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def long_chart(here: Path, **changed: Any) -> str:
    path = here / "long.chart.json"
    path.write_text(json.dumps({**LONG, **changed}), encoding="utf-8")
    return str(path)


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_chart_writes_its_folder_and_shows_it(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(BOAT) == 0
    out = capsys.readouterr().out
    assert names(here / "boat-chart") == FILES
    assert out.startswith("boat\n28 stitches × ")
    assert all(str(Path("boat-chart", name)) in out for name in FILES)
    assert read_chart(here / "boat-chart" / "boat.chart.json").stitch_count == 28


def test_chart_speaks_json_and_gives_the_same_bytes_again(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for out in ("a", "b"):
        assert run([*BOAT, "--out", out, "--json"]) == 0
        said = json.loads(capsys.readouterr().out)
        assert sorted(said["files"]) == [str(Path(out, name)) for name in FILES]
        assert said["report"]["stitches"] == 28
        assert said["report"]["longest_uncaught"] <= 5
    for name in FILES:
        assert (here / "a" / name).read_bytes() == (here / "b" / name).read_bytes(), name


def test_chart_with_its_yarns_given_imports_no_more_than_it_needs(here: Path) -> None:
    script = (
        f"import sys; from pic2chart.cli.app import run; status = run({BOAT!r})\n"
        "print([m for m in ('sklearn', 'skimage', 'scipy', 'numba', 'reportlab', 'fastapi') "
        "if m in sys.modules], file=sys.stderr); sys.exit(status)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.returncode == 0
    assert done.stderr.splitlines()[-1] == "[]"


def test_chart_does_not_write_over_a_file_with_its_folder(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "taken").write_text("mine")
    assert run([*BOAT, "--out", "taken"]) == 2
    assert_one_line(capsys, "taken")
    assert (here / "taken").read_text() == "mine"


def test_read_makes_a_chart_of_knitted_fabric(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    swatch = stranded(1)
    Image.fromarray(swatch.photo).save("mitten.png", compress_level=1)
    assert run(["read", "mitten.png", "--fabric", "--rounds", "30"]) == 2
    assert_one_line(capsys, "--rounds")
    assert run(["read", "mitten.png", "--fabric", "--json"]) in (0, 1)
    said = json.loads(capsys.readouterr().out)
    chart = read_chart(here / "mitten-chart" / "mitten.chart.json")
    assert chart.stitches.shape == swatch.yarn.shape
    assert (here / "mitten-chart" / "mitten-read.jpg").exists()
    assert len(said["doubts"]) < 0.05 * swatch.yarn.size


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is forbidden to root")
def test_chart_in_a_folder_that_may_not_be_written(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "closed").mkdir(mode=0o500)
    assert run([*BOAT, "--out", "closed/dog"]) == 2
    assert_one_line(capsys, "closed")


@pytest.mark.faulty_charts
def test_check_finds_the_long_floats(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    chart = long_chart(here)
    assert run(["check", chart]) == 1
    screen = capsys.readouterr().out
    assert run(["check", chart, "--json"]) == 1
    said = json.loads(capsys.readouterr().out)
    errors = [f for f in said["findings"] if f["level"] == "error"]
    assert [(f["rule"], f["round"], f["length"], f["yarn"]) for f in errors] == [
        ("long-float", 1, 9, "ink"),
        ("long-float", 2, 9, "ink"),
    ]
    assert said["report"]["longest_float"] == 9
    assert all(f"Round {number}, stitch 1: " in screen for number in (1, 2))


@pytest.mark.faulty_charts
def test_mend_writes_a_chart_that_holds_and_lists_what_changed(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    chart = long_chart(here)
    assert run(["mend", chart, "--out", "mended.chart.json", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert run(["check", "mended.chart.json"]) == 0
    before, after = read_chart(Path(chart)), read_chart(here / "mended.chart.json")
    assert said["changes"] == differences(before, after)
    assert 2 <= len(said["changes"]) <= 6  # each long float needs one stitch, two if not isolated


def differences(before: Chart, after: Chart) -> list[dict[str, Any]]:
    found = []
    for r in range(before.round_count):
        for s in range(before.stitch_count):
            old, new = (c.yarns[c.stitches[r, s]].name for c in (before, after))
            if old != new:
                found.append({"round": r + 1, "stitch": s + 1, "before": old, "after": new})
    return found


def test_mend_leaves_a_chart_that_holds_as_it_is(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    chart = long_chart(here, rounds=["AABBAABBAABB", "AABBAABBAABB"])
    assert run(["mend", chart, "--out", "same.chart.json"]) == 0
    assert "0 stitches changed" in capsys.readouterr().out
    before, after = read_chart(Path(chart)), read_chart(here / "same.chart.json")
    assert before.stitches.tolist() == after.stitches.tolist()


@pytest.mark.faulty_charts
def test_mend_into_no_folder(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["mend", long_chart(here), "--out", "nowhere/a.chart.json"]) == 2
    assert_one_line(capsys, "nowhere")
    assert names(here) == ["long.chart.json"]


HOSTILE = {
    "empty": b"",
    "no picture": b"a letter from the harbour master",
    "half a PNG": (SAMPLES / "boat.png").read_bytes()[:2000],
    "a list": b"[]",
    "deep": b"[" * 100_000,
    "numbers without end": b'{"format": "pic2chart.chart", "version": 1e400}',
    "not text": bytes(range(256)) * 8,
    "a yarn that is none": json.dumps({**LONG, "rounds": ["AZ"]}).encode(),
    "newer": json.dumps({**LONG, "version": 3}).encode(),
}


@pytest.mark.parametrize("ending", [".chart.json", ".png", ".csv", ".jpg"])
@pytest.mark.parametrize("content", HOSTILE.values(), ids=HOSTILE.keys())
def test_what_cannot_be_read_is_one_line_and_leaves_nothing(
    content: bytes, ending: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = here / f"odd{ending}"
    path.write_bytes(content)
    commands = [["check", path.name], ["mend", path.name, "--out", "new.chart.json"]]
    for line in (*commands, ["chart", path.name, *YARNS]):
        assert run(line) == 2, line
        assert_one_line(capsys, "")
        assert names(here) == [path.name]


def test_a_folder_is_no_picture(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for line in (["check", str(here)], ["chart", str(here), *YARNS]):
        assert run(line) == 2
        assert_one_line(capsys, "")


def assert_one_line(capsys: pytest.CaptureFixture[str], part: str) -> None:
    """One clear line on standard error that is no report of a fault, and nothing on the other.

    The one-time preparation of the solver may have been announced before it.
    """
    out, err = capsys.readouterr()
    lines = [line for line in err.splitlines() if not line.startswith("Preparing the solver")]
    assert (out, len(lines)) == ("", 1)
    assert lines[0].startswith("pic2chart: ")
    assert part in lines[0]
    assert "should not" not in lines[0]


@pytest.mark.faulty_charts
def test_thousands_of_findings_are_folded(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    noise = np.random.default_rng(0).integers(0, 6, (60, 60)).astype(np.uint8)
    yarns = tuple(Yarn.parse(f"y{i}=#{i * 40:02x}{i * 40:02x}80") for i in range(6))
    write_chart(Chart(noise, yarns, Gauge.parse("28x30"), "noise"), here / "noise.chart.json")
    capsys.readouterr()
    assert run(["check", "noise.chart.json"]) == 1
    page = capsys.readouterr().out
    found = check(read_chart(here / "noise.chart.json"))
    for rule in {f.rule for f in found}:
        group = sum(f.rule == rule for f in found)
        assert (f"and {group - 99:,} more like this" in page) == (group > 100)
    assert len(page.splitlines()) < len(found)


def test_make_alone_lists_what_can_be_made(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["make"]) == 0
    told = capsys.readouterr().out
    assert run(["make", "--json"]) == 0
    garments = json.loads(capsys.readouterr().out)["garments"]
    assert [g["name"] for g in garments] == list(GARMENTS)
    assert all(f"  {g['name']} " in told and g["description"] in told for g in garments)
    assert all(g["example"].startswith(f"pic2chart make {g['name']} ") for g in garments)


@pytest.mark.faulty_charts
def test_a_folder_is_checked_chart_by_chart(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = here / "pair"
    folder.mkdir()
    long_chart(folder)
    sound = Chart(np.array([[0, 1, 0, 1], [1, 0, 1, 0]], np.uint8), PAIR, title="sound")
    write_chart(sound, folder / "sound.chart.json")
    (folder / "notes.txt").write_text("no chart")

    assert run(["check", str(folder)]) == 1
    told = capsys.readouterr().out
    assert "long floats long.chart.json" in told
    assert "sound sound.chart.json" in told
    assert told.rstrip().rpartition("\n")[2].startswith("2 charts checked: ")

    assert run(["check", str(folder), "--json"]) == 1
    charts = json.loads(capsys.readouterr().out)["charts"]
    assert [Path(one["file"]).name for one in charts] == ["long.chart.json", "sound.chart.json"]
    for one in charts:
        run(["check", one["file"], "--json"])
        assert json.loads(capsys.readouterr().out) == {k: one[k] for k in ("report", "findings")}


def test_a_folder_without_charts_is_refused(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(here)]) == 2
    assert str(here) in capsys.readouterr().err
