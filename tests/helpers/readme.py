"""What README.md and the rooms' pages print, and whether the charts hold that it leaves behind."""

from __future__ import annotations

import re
from pathlib import Path

from pic2chart.design.checked import check_chart
from tests.helpers.places import ROOT

BLOCK = re.compile(r"```(\w+)\n(.*?)```", re.DOTALL)


PAGES = [ROOT / "README.md", *sorted(ROOT.glob("pic2chart/*/README.md"))]
"""README.md first, since the rooms' pages go on with what its commands made."""


def blocks(language: str) -> list[str]:
    """The pages' blocks of code in a language, in order."""
    text = "\n".join(page.read_text(encoding="utf-8") for page in PAGES)
    return [body for name, body in BLOCK.findall(text) if name == language]


def check_every_chart(folder: Path) -> int:
    """How many charts lie in the folder; none may have an error."""
    charts = sorted(folder.rglob("*.chart.json"))
    for path in charts:
        errors = [f.message for f in check_chart(path).findings if f.level == "error"]
        assert errors == [], path.relative_to(folder)
    return len(charts)
