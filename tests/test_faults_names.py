"""Names that break programs: bytes that are no UTF-8, as long as may be, alike but for capitals."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from pic2chart.cli.app import run
from pic2chart.core.errors import OutputError
from pic2chart.core.files import file_stem, plain_name, refuse_over
from pic2chart.library.catalogue import reading
from pic2chart.library.scan import scan
from pic2chart.model.chart_file import read_chart
from tests.helpers import library_runs as runs
from tests.helpers.places import SAMPLES

OPTIONS = ["--yarn", "oat=#ece2d0", "--yarn", "ink=#26304c", "--stitches", "20"]
LONGEST = 255
"""Bytes of a name on most file systems (NAME_MAX, limits.h)."""
ODD = [
    os.fsdecode(b"dog\xff\xfe.png"),
    "a" * (LONGEST - 4) + ".png",
    "é" * ((LONGEST - 4) // 2) + ".png",
    "\U0001f9f6" * ((LONGEST - 4) // 4) + ".png",
    "line\nbreak \x1b[31m.png",
    "...png",
    ".png",
    "a'b\"c$d;e.png",
    "-dash.png",
]


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def _copy(name: str) -> Path:
    return Path(shutil.copy(SAMPLES / "boat.png", name))


@pytest.mark.parametrize("name", ODD, ids=lambda name: ascii(name[:12]))
def test_a_picture_of_any_name_becomes_a_chart(
    place: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    _copy(f"./{name}")
    assert run(["chart", f"./{name}", *OPTIONS, "--json"]) == 0
    files = [Path(file) for file in json.loads(capsys.readouterr().out)["files"]]
    assert len(files) == 4
    assert all(file.exists() and len(os.fsencode(file.name)) <= LONGEST for file in files)
    assert files[0].parent.parent == Path()
    chart = read_chart(files[0])
    assert chart.title.isprintable()
    assert str(chart.source["picture"]).isprintable()
    assert run(["sheet", str(files[0]), "--only", "words", "--out", "sheets"]) == 0
    assert run(["check", str(files[0])]) == 0
    said = capsys.readouterr()
    assert "\x1b" not in said.out + said.err
    assert Path(f"./{name}").read_bytes() == (SAMPLES / "boat.png").read_bytes()


def test_an_output_folder_of_any_name_is_written_and_named(place: Path) -> None:
    """Through a pipe of plain ASCII, where nothing else can be said."""
    _copy("boat.png")
    out = os.fsdecode(b"h\xe4fen \xc3\xa9 \xf0\x9f\xa7\xb6")
    done = subprocess.run(
        [sys.executable, "-m", "pic2chart", "chart", "boat.png", *OPTIONS, "--out", out],
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        capture_output=True,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"Written" in done.stdout
    assert (place / out / "boat.chart.json").exists()


def test_a_title_names_no_folder(place: Path) -> None:
    _copy("boat.png")
    words = ["make", "band", "boat.png", *OPTIONS[:4], "--girth", "40"]
    assert run([*words, "--title", "../../harbour/dog", "--out", "band"]) in (0, 1)
    assert {path.name for path in place.iterdir()} == {"boat.png", "band"}
    folders = {path for path in (place / "band").rglob("*") if path.is_dir()}
    assert folders == {place / "band" / "parts"}


@pytest.mark.parametrize("words", [["chart"], ["chart", "--compare"]], ids=" ".join)
def test_the_picture_is_never_replaced(
    place: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    before = _copy("boat.png").read_bytes()
    command, *more = words
    assert run([command, "boat.png", *OPTIONS, *more, "--out", "."]) == 2
    assert "is the file that was read and would be lost" in capsys.readouterr().err
    assert [path.name for path in place.iterdir()] == ["boat.png"]
    assert (place / "boat.png").read_bytes() == before


def test_a_picture_under_another_name_is_never_replaced_either(place: Path) -> None:
    """As on file systems where Boat.png and boat.png are one file; here one by a link."""
    _copy("Boat.png")
    os.link("Boat.png", "boat.png")
    with pytest.raises(OutputError, match="would be lost"):
        refuse_over(Path("Boat.png"), [Path("boat.svg"), Path("boat.png")])


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("dog", "dog"),
        ("dog 2.b", "dog 2.b"),
        ("чайка", "чайка"),
        ("x" * 300, "x" * 90 + "-"),
        ("é" * 200, "é" * 90 + "-"),
        ("a/b", "a_b-"),
        ("a\\b", "a_b-"),
        ("..", "untitled-"),
        ("", "untitled-"),
        (" dog", "dog-"),
        ("-dog", "dog-"),
        (".dog", "dog-"),
    ],
)
def test_stems(name: str, stem: str) -> None:
    made = file_stem(name)
    assert made == stem or (
        stem.endswith("-") and made.startswith(stem) and len(made) == len(stem) + 8
    )


def test_names_that_differ_stay_apart() -> None:
    names = ["x" * 200, "x" * 201, "x/", "x\\", "..", "."]
    raw = [plain_name(Path(os.fsdecode(name))) for name in (b"x\xff", b"x\xfe", b"x")]
    assert len({file_stem(name) for name in (*names, *raw)}) == 9


CLASHES = (
    "Dog.png",
    "dog.png",
    "DOG.bmp",
    "caf\u00e9.png",
    "cafe\u0301.png",
    "Stra\u00dfe.png",
    "STRASSE.png",
)


def test_names_that_some_systems_take_for_one_become_motifs_apart(place: Path) -> None:
    folder = runs.small_folder(place / "pictures", 1)
    (source,) = folder.iterdir()
    for name in CLASHES:
        shutil.copy(source, folder / name)
    summary = runs.run(folder, place / "out")
    assert (summary.motifs, summary.broken) == (len(CLASHES) + 1, ())
    names = [path.name for path in (place / "out" / "motifs").glob("*/*")]
    assert len({name.casefold() for name in names}) == len(CLASHES) + 1
    assert sum(name.isascii() and "-" not in name.removeprefix("sign-") for name in names) == 1


def test_a_library_of_odd_names(place: Path) -> None:
    folder = runs.small_folder(place / "pictures", 1)
    (source,) = folder.iterdir()
    shown = [name for name in ODD if not name.startswith(".")]
    for name in (*shown, "漢" * 80 + ".png", "\U00020000" * 60 + ".png"):
        shutil.copy(source, folder / name)
    summary = runs.run(folder, place / "out")
    assert (summary.motifs, summary.broken) == (len(shown) + 3, ())
    with reading(place / "out") as catalogue:
        for motif in catalogue.motifs():
            files = [place / "out" / motif.place / name for name in motif.files]
            assert all(file.exists() for file in files)
            assert motif.title.isprintable()
    assert runs.run(folder, place / "out").unchanged == len(shown) + 3
    assert len({found.name for found in scan(folder, frozenset()).found}) == len(shown) + 3
