"""What the pages and the help print beside README.md's commands, run in a clean folder.

Afterwards every chart that any of them wrote is checked: none may hold an error.
"""

from __future__ import annotations

import shlex
import shutil
from pathlib import Path

import pytest
from PIL import Image

from pic2chart.cli.app import COMMANDS, run
from pic2chart.yarns.kits import read_kit_plan
from tests.helpers.places import SAMPLES
from tests.helpers.readme import blocks, check_every_chart

KIT = """
title = "Dog mittens"
margin = 0.4
[[sizes]]
name = "S"
charts = ["dog-chart/dog.chart.json"]
[[colourways]]
name = "winter"
yarns = {ink = "slate"}
"""


@pytest.fixture
def clean(tmp_path, monkeypatch):
    """A folder that holds the sample pictures and nothing else, and is the current one."""
    pictures = tmp_path / "sample_images"
    pictures.mkdir()
    for path in SAMPLES.iterdir():
        if path.suffix in (".png", ".jpg", ".csv"):
            shutil.copy(path, pictures)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_readme_s_python_runs_as_printed(clean):
    for block in blocks("python"):
        exec(compile(block, "README.md", "exec"), {})
    assert check_every_chart(clean) == 1


def test_the_library_s_recipe_is_a_recipe(clean, capsys):
    (recipe,) = (block for block in blocks("toml") if "[[sizes]]" not in block)
    Path("harbour.toml").write_text(recipe, encoding="utf-8")
    Path("pictures").mkdir()
    shutil.copy("sample_images/wave-repeat.png", "pictures")
    shutil.copy("sample_images/word.png", "pictures")
    assert run(["library", "pictures", "--out", "out", "--recipe", "harbour.toml"]) == 0
    capsys.readouterr()
    assert check_every_chart(clean / "out") == 2


def test_the_form_of_a_kit_file_can_be_read(tmp_path):
    (form,) = (block for block in blocks("toml") if "[[sizes]]" in block)
    (tmp_path / "kit.toml").write_text(form, encoding="utf-8")
    assert read_kit_plan(tmp_path / "kit.toml").title == "Harbour mittens"


@pytest.mark.slow
def test_every_example_of_the_help_runs(clean, capsys):
    """The examples' own file names stand for pictures of that kind from the samples."""
    for name, sample in {
        "dog.jpg": "harbour-dog.png",
        "dog.png": "harbour-dog.png",
        "cat.jpg": "tabby.png",
        "waves.png": "wave-repeat.png",
        "gull.png": "gull.png",
        "kelp.png": "kelp.png",
        "lighthouse.png": "lighthouse.png",
        "swatch.jpg": "swatch.jpg",
        "old-chart.jpg": "squared-paper.jpg",
    }.items():
        with Image.open(SAMPLES / sample) as picture:
            picture.convert("RGB").save(name, quality=92)
    with Image.open(SAMPLES / "skeins.png") as picture:
        picture.convert("RGB").resize((900, 600)).save("balls.jpg")
    shutil.copy(SAMPLES / "shelf.csv", "shelf.csv")
    Path("mittens.toml").write_text(KIT, encoding="utf-8")
    for command in COMMANDS:
        words = shlex.split(command.example)[1:]
        if words[0] == "desk":
            continue
        if words[0] == "mend":
            shutil.copy("dog-chart/dog.chart.json", "old.chart.json")
        status = run(words)
        said = capsys.readouterr()
        assert status == 0, f"{command.example}: {said.err or said.out[-500:]}"
    check_every_chart(clean)
