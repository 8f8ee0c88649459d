"""Several sizes in one pattern: each reads back as its own, and can be knitted from it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pic2chart.cli.app import run
from pic2chart.core.errors import SettingError
from pic2chart.core.settings import Settings
from pic2chart.garment.grading import chosen_sizes, grade, graded_pattern, of_size
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.making import garment_files, make_garment
from pic2chart.garment.written import Pattern, Section
from tests.helpers.garment_knitter import knit
from tests.helpers.places import SAMPLES

YARNS = ("oat=#ece2d0", "ink=#26304c")


@pytest.mark.parametrize(
    ("kind", "sizes", "given_", "asked"),
    [
        ("mitten", "7,8,9,10", {}, {"thumb": "gusset"}),
        ("mitten", "12mo,2-3y,4-6y", {}, {"repeat": True}),
        ("hat", "12mo..child", {"left_handed": True}, {"repeat": True}),
        ("sock", "38,40,42,44", {"gauge": "32x36"}, {"repeat": True}),
        ("yoke", "woman-s,woman-m,woman-l,woman-xl", {"gauge": "24x26"}, {}),
        ("jumper", "2y..8y", {"gauge": "22x24"}, {"repeat": True}),
        ("cowl", "child,woman,large", {}, {"repeat": True, "doubled": True}),
        ("band", "6y,10y", {}, {}),
    ],
)
def test_every_size_reads_back_as_its_own_pattern(
    kind: str, sizes: str, given_: dict[str, object], asked: dict[str, object]
) -> None:
    chosen = Settings(yarn=YARNS, **given_)  # type: ignore[arg-type]
    picture, options = SAMPLES / "wave-repeat.png", GARMENTS[kind].options(**asked)
    graded = grade(kind, picture, chosen, options, sizes)
    named = chosen_sizes(kind, sizes)
    assert list(graded.fit["sizes"]) == list(named)
    assert not [f for f in graded.findings if f.level == "error"]
    for size in named:
        alone = make_garment(kind, picture, chosen, GARMENTS[kind].options(**asked, size=size))
        own = of_size(graded.pattern, named, size)
        assert own.sections == alone.pattern.sections
        knitter = knit([(section.heading, section.lines) for section in own.sections])
        worked = [count for counts in knitter.counts.values() for count in counts]
        for piece in alone.pieces:
            counts = piece.chart.live.sum(axis=1).tolist()
            starts = range(len(worked) - len(counts) + 1)
            assert any(worked[at : at + len(counts)] == counts for at in starts)
            same = [p for p in graded.pieces if (p.name == piece.name or size in p.name)
                    and p.chart.stitches.shape == piece.chart.stitches.shape
                    and (p.chart.stitches == piece.chart.stitches).all()]  # fmt: skip
            assert same, piece.name
    names = list(garment_files(graded))
    assert len(set(names)) == len(names)


def test_sizes_that_agree_share_a_chart() -> None:
    chosen = Settings(yarn=YARNS, gauge="32x36")
    options = GARMENTS["sock"].options(repeat=True, leg=12.0)
    graded = grade("sock", SAMPLES / "wave-repeat.png", chosen, options, "40,42")
    assert [piece.name for piece in graded.pieces] == ["right-leg", "left-leg"]
    assert "(" in graded.pattern.text()


def test_a_graded_line_says_all_numbers() -> None:
    graded = grade(
        "mitten", SAMPLES / "tabby.png", Settings(yarn=YARNS), GARMENTS["mitten"].options(), "7,8,9"
    )
    text = graded.pattern.text()
    assert "cast on 54 (62, 70) sts loosely" in text
    assert "oat (#ece2d0):" in text  # the digits of a colour are no numbers
    assert re.search(r"Sizes? [\d, ]+ only: Round", text)  # the larger top has more rounds
    assert graded.pattern.sections[0].heading == "Sizes"
    assert len(graded.views) % 3 == 0
    assert all(view.caption.startswith("Size ") for view in graded.views)


@pytest.mark.parametrize(
    ("kind", "sizes", "says"),
    [
        ("mitten", "7,huge", "the sizes|sizes are"),
        ("mitten", "7", "give 2 to 9"),
        ("mitten", "7,7", "give 2 to 9"),
        ("sock", "20..46", "give 2 to 9"),
        ("panel", "7,8", "no named sizes"),
        ("scarf", "7,8", "no named sizes"),
    ],
)
def test_sizes_that_cannot_be_graded(kind: str, sizes: str, says: str) -> None:
    with pytest.raises(SettingError, match=says):
        chosen_sizes(kind, sizes)


def test_sizes_and_own_measures_contradict() -> None:
    options = GARMENTS["mitten"].options(girth=20.0)
    with pytest.raises(SettingError, match="leave one of them out"):
        grade("mitten", SAMPLES / "tabby.png", Settings(), options, "7,8")


def test_sizes_stand_in_the_order_of_the_table() -> None:
    assert chosen_sizes("mitten", "9, 7,8") == ("7", "8", "9")
    assert chosen_sizes("mitten", "9..6") == ("6", "7", "8", "9")
    assert chosen_sizes("yoke", "2y..6y") == ("2y", "4y", "6y")


COUNTS = st.lists(st.integers(1, 400), min_size=3, max_size=3)


@given(
    st.lists(COUNTS, min_size=1, max_size=5), st.lists(st.integers(1, 6), min_size=3, max_size=3)
)
def test_lines_are_merged_and_read_back(numbers: list[list[int]], rounds: list[int]) -> None:
    """Whatever the numbers, and however many rounds each size has."""
    sizes = ("S", "M", "L")
    patterns = [
        Pattern("P", (Section("Body", tuple(
            [f"Round {r + 1}: k{r}, ssk, k2tog. {r} sts." for r in range(rounds[i])]
            + [f"Knit {line[i]} rounds ({line[i] / 10:.1f} cm). {line[i]} sts." for line in numbers]
        )),))
        for i in range(3)
    ]  # fmt: skip
    graded = graded_pattern(sizes, patterns)
    for size, pattern in zip(sizes, patterns, strict=True):
        assert of_size(graded, sizes, size).sections == pattern.sections


def test_the_command_makes_several_sizes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    yarns = [word for yarn in YARNS for word in ("--yarn", yarn)]
    command = ["make", "hat", str(SAMPLES / "wave-repeat.png"), "--repeat", *yarns]
    out = tmp_path / "hats"
    assert run([*command, "--sizes", "child,woman", "--out", str(out), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert [piece["name"] for piece in said["pieces"]] == ["hat-child", "hat-woman"]
    written = [path.read_text("utf-8") for path in out.rglob("*.txt")]
    assert any("sizes child (woman)" in text for text in written)
    assert run([*command, "--sizes", "child,tall", "--out", str(out)]) == 2
    assert "--sizes is 'tall'" in capsys.readouterr().err
