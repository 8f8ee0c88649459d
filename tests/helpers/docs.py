"""Write the tables of the options anew: python -m tests.helpers.docs. A test compares them."""

from __future__ import annotations

import re
from dataclasses import fields
from typing import Any

from pic2chart.cli.flags import help_text
from pic2chart.cli.words import flag
from pic2chart.core.settings import Settings
from pic2chart.sheets.sheet_settings import SheetSettings
from tests.helpers.places import ROOT

PAGE = ROOT / "pic2chart" / "cli" / "OPTIONS.md"


def options_table(kind: type[Any] = Settings) -> str:
    """Every setting as a line of a Markdown table."""
    lines = ["| option | default | what it does |", "|---|---|---|"]
    for f in fields(kind):
        default = "" if f.default in (None, (), False) else f"`{f.default}`"
        choices = f" ({', '.join(f.metadata['choices'])})" if f.metadata["choices"] else ""
        lines.append(f"| `{flag(f.name)}` | {default} | {help_text(f.metadata)}{choices} |")
    return "\n".join(lines)


def with_part(text: str, name: str, part: str) -> str:
    """The text with the part between its two marks replaced."""
    pattern = rf"(<!-- {name}: [^\n]*-->\n).*?(<!-- end of {name} -->)"
    return re.sub(pattern, lambda m: f"{m[1]}{part}\n{m[2]}", text, flags=re.DOTALL)


def page() -> str:
    """The page of the options as it should be."""
    text = with_part(PAGE.read_text(encoding="utf-8"), "options", options_table())
    return with_part(text, "sheet options", options_table(SheetSettings))


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
