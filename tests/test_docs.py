"""The documents say what the program does."""

import re

import pic2chart
from pic2chart.design.filler import FILLERS
from tests.helpers import docs
from tests.helpers.places import ROOT


def test_the_options_table_is_the_settings():
    assert docs.readme() == (ROOT / "README.md").read_text(encoding="utf-8")


def test_every_link_and_picture_of_the_documents_is_there():
    for name in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / name).read_text(encoding="utf-8")
        for target in re.findall(r"\]\(([^)#:]+)\)", text):
            assert (ROOT / target).exists(), f"{name} points at {target}"


def test_the_fillers_named_are_the_fillers_there_are():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if line.startswith("* **Fillers**"))
    assert line.rstrip(".").split(": ")[1].split(", ") == list(FILLERS)


def test_every_exported_name_is_there_and_documented():
    for name in pic2chart.__all__:
        assert getattr(pic2chart, name).__doc__
