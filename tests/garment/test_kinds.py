"""Every kind in the table keeps every rule, and a new one is a folder and a line."""

from __future__ import annotations

import json
import os
import random
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from pic2chart.checks.float_rules import SAFE, for_child, safe_limit, snag_risk, snags
from pic2chart.core.errors import SettingError
from pic2chart.core.settings import Settings
from pic2chart.garment.kind import Kind
from pic2chart.garment.kinds import GARMENTS, kind_named
from pic2chart.garment.making import garment_files, make_garment
from pic2chart.garment.piece import Garment
from pic2chart.model.chart_file import chart_to_text, read_chart
from pic2chart.model.measure import Measures
from tests.helpers.garment_knitter import knit
from tests.helpers.places import PACKAGE, ROOT, SAMPLES
from tests.helpers.words_knitter import words_are_the_chart

pytestmark = pytest.mark.slow

HERE = Path(__file__).resolve().parent
YARNS = ("oat=#ece2d0", "ink=#26304c")
GAUGES = ("22x26", "28x31", "34x40")
TURNS = 10
HEADS = ("newborn", "12mo", "child", "woman", "large")
CHESTS = ("2y", "8y", "woman-xs", "man-m", "woman-2xl")
FIVE = {
    "mitten": ("6mo", "2-3y", "6-8y", "7", "10"),
    "sock": ("2y", "28", "36", "woman", "46"),
    **dict.fromkeys(("band", "hat", "cowl"), HEADS),
    **dict.fromkeys(("yoke", "jumper"), CHESTS),
}
"""Sizes of each kind, from the smallest up; with three gauges and both hands all meet in 30 turns."""
WORST = {"long-float", "catch-missing", "catch-stacked", "shaping-misfit", "ragged-round"}


def asked(kind: Kind, turn: int, chance: random.Random) -> dict[str, Any]:
    """Options at random: a choice, a tick, a measure near its usual one; five sizes by turns."""
    chosen: dict[str, Any] = {}
    for f in fields(kind.options):
        facts, usual = f.metadata, f.default
        if facts["choices"]:
            chosen[f.name] = chance.choice([usual, *facts["choices"]])
        elif facts["kind"] is bool:
            chosen[f.name] = chance.random() < 0.4
        elif f.name in kind.files:
            chart = str(SAMPLES / "wave-repeat.png")
            few = chance.random() < 0.2
            chosen[f.name] = usual if not few else (chart,) if facts["many"] else chart
        elif f.name == "size":
            sizes = FIVE.get(kind.name, (usual,))
            chosen["size"] = sizes[turn % len(sizes)]
        elif facts["kind"] is str and facts["example"]:
            chosen[f.name] = facts["example"] if chance.random() < 0.2 else usual
        elif facts["kind"] is float and usual is not None:
            near = usual * chance.uniform(0.85, 1.2)
            chosen[f.name] = min(max(near, facts["low"]), facts["high"])
    return chosen


def made(kind: Kind, turn: int) -> Garment | str:
    """A garment of that kind, or why it is refused."""
    chance = random.Random(f"{kind.name} {turn}")
    given = {"gauge": GAUGES[turn % 3], "left_handed": turn // 5 % 2 == 1, "yarn": YARNS}
    picture = SAMPLES / chance.choice(["wave-repeat.png", "tabby.png"])
    try:
        options = kind.options(**asked(kind, turn, chance))
        return make_garment(kind.name, picture, Settings(**given), options)
    except SettingError as refused:
        return str(refused)


@pytest.mark.parametrize("name", GARMENTS)
def test_conformance(name: str) -> None:
    """Sizes, gauges and both hands: charts without an error, caught floats, words that add up."""
    kind = GARMENTS[name]
    turns = [made(kind, turn) for turn in range(TURNS)]
    garments = [turn for turn in turns if isinstance(turn, Garment)]
    assert len(garments) >= TURNS - 2, turns
    refusals = [turn for turn in turns if isinstance(turn, str)]
    assert all(
        any(sign.isdigit() for sign in words) for words in refusals
    )  # they name what would do
    assert {garment.pieces[0].chart.hand for garment in garments} == {"right", "left"}
    for garment in garments:
        assert garment.kind == name
        knitter = knit([(s.heading, s.lines) for s in garment.pattern.sections])
        worked = [count for counts in knitter.counts.values() for count in counts]
        for piece in garment.pieces:
            chart = piece.chart
            assert not [f for f in piece.findings if f.level == "error" or f.rule in WORST]
            limit = kind.limit(for_child(chart))
            assert chart.rules.float_limit == limit
            assert Measures.of(chart).stretches.longest <= limit
            assert snags(chart) is kind.snags
            assert safe_limit(chart) == kind.safe_limit
            counts = chart.live.sum(axis=1).tolist()
            starts = range(len(worked) - len(counts) + 1)
            assert any(worked[at : at + len(counts)] == counts for at in starts), piece.name
            words_are_the_chart(chart)
        names = list(garment_files(garment))
        assert len(set(names)) == len(names) > 5


@pytest.mark.parametrize("name", GARMENTS)
def test_what_a_kind_says_of_itself(name: str) -> None:
    kind = GARMENTS[name]
    assert kind.name == name == kind_named(name).name
    own = {f.name for f in fields(kind.options)}
    assert set(kind.labels) <= own
    assert all(kind.label(option) for option in ("across", "for_child"))
    assert kind.limit(True) <= kind.safe_limit <= SAFE
    assert kind.limit(False) <= kind.safe_limit or not kind.snags
    assert callable(kind.load())


def test_the_page_shows_one_kind_first() -> None:
    assert sum(kind.first for kind in GARMENTS.values()) == 1


def test_an_unknown_kind_is_refused_with_those_there_are() -> None:
    with pytest.raises(SettingError, match="'sofa' is no garment; choose band, "):
        make_garment("sofa", SAMPLES / "tabby.png", Settings(), GARMENTS["band"].options())


# A house with one kind more, made as the garments' README says: a folder beside the others, and a line.

Run = Callable[..., str]


def told_line() -> str:
    """The line of the table, as the README says it."""
    _, way = (PACKAGE / "garment" / "README.md").read_text("utf-8").split("## To add a garment")
    _, line, _ = re.split(r"```\n?", way)
    return line


@pytest.fixture(scope="module")
def wider(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """Runs Python in a copy of the package, by links, to which the wristlet was added."""
    root = tmp_path_factory.mktemp("wider")
    table = Path("garment", "kinds", "__init__.py")
    for folder in (Path(), table.parent.parent, table.parent):
        (root / "pic2chart" / folder).mkdir()
        for entry in (PACKAGE / folder).iterdir():
            if entry.name not in ("__pycache__", "garment", "kinds") and entry != PACKAGE / table:
                (root / "pic2chart" / folder / entry.name).symlink_to(entry)
    shutil.copytree(HERE / "wristlet", root / "pic2chart" / table.parent / "wristlet")
    lines = (PACKAGE / table).read_text("utf-8").splitlines(keepends=True)
    lines.insert(lines.index('    "panel",\n') + 1, told_line())
    (root / "pic2chart" / table).write_text("".join(lines), "utf-8")

    def run(*words: str, status: int = 0) -> str:
        surroundings = {
            **os.environ,
            "PYTHONPATH": os.pathsep.join((str(root), str(ROOT))),
            "COLUMNS": "120",
        }
        done = subprocess.run(
            [sys.executable, *words], cwd=root, env=surroundings, capture_output=True, text=True
        )
        assert done.returncode == status, done.stdout + done.stderr
        return done.stdout

    return run


def test_a_new_kind_is_in_the_command(wider: Run, tmp_path: Path) -> None:
    command = ("-m", "pic2chart", "make", "wristlet")
    assert "Make a pair of wristlets, wider at the arm." in wider("-m", "pic2chart", "--help")
    page = wider(*command, "--help")
    assert "--flare" in page
    assert "pic2chart make wristlet dog.png --size 8 --flare 15" in page
    yarns = [word for yarn in YARNS for word in ("--yarn", yarn)]
    out = tmp_path / "tabby-wristlet"
    motif = str(SAMPLES / "tabby.png")
    said = json.loads(wider(*command, motif, *yarns, "--out", str(out), "--json"))
    assert [piece["name"] for piece in said["pieces"]] == ["right", "left"]
    assert (out / "tabby-wristlet-words.txt").is_file()
    wider("-m", "pic2chart", "check", str(out / "tabby-left.chart.json"))


def test_a_new_kind_is_in_the_desks_form(wider: Run) -> None:
    script = (
        "import json; from pic2chart.desk.for_whom import garment_form; "
        "print(json.dumps(garment_form()))"
    )
    forms = {form["name"]: form for form in json.loads(wider("-c", script))}
    assert list(forms) == [*GARMENTS, "wristlet"]
    labels = {field["name"]: field["label"] for field in forms["wristlet"]["fields"]}
    assert labels["flare"] == "Wider at the arm by"
    assert labels["for_child"] == "For a child"


def test_a_new_kind_is_in_the_library_and_its_strands_are_watched(
    wider: Run, tmp_path: Path
) -> None:
    """Its charts say themselves that fingers go in, so that any check, in any house, warns."""
    folder, out = tmp_path / "charts", tmp_path / "library"
    wider(
        *("-m", "pic2chart", "make", "wristlet", str(SAMPLES / "tabby.png")),
        *("--float-limit", "9", "--out", str(folder)),
    )
    chart = read_chart(folder / "tabby-right.chart.json")
    assert chart.construction.piece == "wristlet"
    assert snag_risk(chart, Measures.of(chart))
    assert '"snags": true' in chart_to_text(chart)
    wider("-m", "pic2chart", "library", str(folder), "--out", str(out), "--jobs", "1")
    find = ("-m", "pic2chart", "library", "find", "--out", str(out), "--json")
    titles = {motif["title"] for motif in json.loads(wider(*find, "wristlet"))["motifs"]}
    assert titles >= {"tabby: right wristlet", "tabby: left wristlet"}
    assert json.loads(wider(*find, "wristlet", "toes"))["motifs"]


def test_a_new_kind_conforms(wider: Run) -> None:
    """The very test that every kind goes through, in the house that has one more."""
    words = (
        "-m",
        "pytest",
        "-p",
        "no:cacheprovider",
        "-o",
        "pythonpath=",
        "-k",
        "[wristlet]",
        "-rA",
    )
    said = wider(*words, str(HERE / "test_kinds.py"))
    passed = [line for line in said.splitlines() if line.startswith("PASSED")]
    assert len(passed) == 2
    assert any(line.endswith("test_conformance[wristlet]") for line in passed)
