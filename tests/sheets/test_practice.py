"""The swatch to learn on: its floats, its catches, and what is said of them."""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from pic2chart.checks.rules import check
from pic2chart.cli.app import run
from pic2chart.core.errors import SettingError
from pic2chart.core.settings import Settings
from pic2chart.core.variety import in_english
from pic2chart.model.any_file import read_any
from pic2chart.model.measure import Measures, floats
from pic2chart.sheets.practice import STITCHES, practice_chart, practice_files
from pic2chart.sheets.sheet_settings import SheetSettings
from tests.helpers.words_knitter import words_are_the_chart


@pytest.mark.parametrize("left", [False, True])
def test_floats_of_1_3_5_and_9_and_one_catch_of_each_yarn_in_each_half(left: bool) -> None:
    chart = practice_chart(Settings(left_handed=left))
    assert chart.stitch_count == STITCHES == 24
    lengths = {row[3] for row in floats(chart.stitches, True).rows()}
    assert lengths == {1, 3, 5, 9}
    half = chart.round_count // 2
    assert np.array_equal(chart.stitches[:half], chart.stitches[half:])
    for first in (0, half):
        caught = [c.yarn for c in chart.catches if first <= c.round < first + half]
        assert sorted(caught) == [0, 1]
    assert Measures.of(chart).stretches.longest <= chart.rules.float_limit
    assert {f.level for f in check(chart)} == {"note"}
    words_are_the_chart(chart)


def test_the_pattern_names_the_rounds_as_they_are() -> None:
    chart = practice_chart(Settings(yarn=("oat=#ece2d0", "ink=#26304c")))
    said = " ".join(line for section in chart.construction.steps for line in section.lines)
    assert "ink in round 11, oat in round 13" in said
    caught = {c.round + 1: chart.yarns[c.yarn].name for c in chart.catches}
    assert {r: caught[r] for r in (11, 13)} == {11: "ink", 13: "oat"}
    assert "Rounds 14–26: the same again, now oat under and ink over" in said
    assert "In the first half it is ink, in the second oat." in said


def shown(name: str, content: bytes | str) -> str:
    """What a person reads in a file; nothing of pictures."""
    if name.endswith(".pdf"):
        pages = PdfReader(io.BytesIO(content)).pages  # type: ignore[arg-type]
        return "\n".join(page.extract_text() for page in pages)
    text = content if isinstance(content, str) else ""
    if name.endswith((".html", ".svg")):
        text = re.sub(r"<(style|script)\b.*?</\1>", "", text, flags=re.DOTALL)
        return "\n".join(re.findall(r">([^<]+)<", text))
    return text if name.endswith((".txt", ".md")) else ""


@pytest.mark.parametrize("english", ["uk", "us"])
def test_all_that_is_printed_is_in_one_english(english: str) -> None:
    files = practice_files(Settings(), SheetSettings(english=english))
    read = {name: text for name, content in files.items() if (text := shown(name, content))}
    assert {name.rsplit(".", 1)[1] for name in read} == {"pdf", "txt", "md", "html", "svg"}
    for name, text in read.items():
        for line in text.splitlines():
            assert in_english(line, english) == line, name
    words = read["practice-swatch-words.txt"]
    assert ("Tension: " in words, "Gauge: " in words) == (english == "uk", english == "us")


def test_two_yarns_are_wanted() -> None:
    with pytest.raises(SettingError, match="yarn names 1; name two"):
        practice_chart(Settings(yarn=("oat=#ece2d0",)))


def test_the_command_writes_chart_and_sheets(tmp_path: Path) -> None:
    assert run(["practice", "--english", "us", "--out", str(tmp_path)]) == 0
    names = {file.name for file in tmp_path.iterdir()}
    assert {
        "practice-swatch.chart.json",
        "practice-swatch.pdf",
        "practice-swatch-words.txt",
    } <= names
    read_any(tmp_path / "practice-swatch.chart.json")
    words = (tmp_path / "practice-swatch-words.txt").read_text(encoding="utf-8")
    assert "Bind off" in words
    assert "Gauge: 28" in words
    assert "Cast off" not in words
