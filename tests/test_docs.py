"""The documents say what the program does."""

import re

import pic2chart
from pic2chart.design.filler import FILLERS
from tests.helpers import docs
from tests.helpers.places import ROOT
from tests.helpers.readme import PAGES, blocks


def test_the_tables_of_options_are_the_settings():
    assert docs.page() == docs.PAGE.read_text(encoding="utf-8")


def test_every_link_and_picture_of_the_documents_is_there():
    for page in (*PAGES, ROOT / "DEVELOPERS.md"):
        text = page.read_text(encoding="utf-8")
        for target, heading in re.findall(r"\]\(([^)#:]+)#?([^)]*)\)", text):
            there = page.parent / target
            assert there.exists(), f"{page} points at {target}"
            assert not heading or heading in headings(there), f"{page} points at {target}#{heading}"


def headings(page):
    """The names that a page's headings go by in links."""
    found = re.findall(r"^#+ (.+)$", page.read_text(encoding="utf-8"), re.MULTILINE)
    return [re.sub(r"[^\w -]", "", heading).lower().replace(" ", "-") for heading in found]


def test_a_newcomer_s_page_stays_short():
    assert len((ROOT / "README.md").read_bytes()) <= 12_288


def test_the_way_to_a_mitten_stands_first_and_by_mouse():
    first, then, *_ = blocks("sh")
    assert first.rstrip().endswith("pic2chart desk")
    assert "pic2chart make mitten" in then


def test_the_fillers_named_are_the_fillers_there_are():
    text = (ROOT / "pic2chart" / "design" / "README.md").read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if line.startswith("* **Fillers**"))
    assert line.rstrip(".").split(": ")[1].split(", ") == list(FILLERS)


def test_every_exported_name_is_there_and_documented():
    for name in pic2chart.__all__:
        assert getattr(pic2chart, name).__doc__
