"""The written pattern a garment's chart carries among its further keys, read with care.

`"steps"` is a list of `{"heading", "lines"}`. Whatever does not fit is passed over.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

MOST_SECTIONS, MOST_LINES, MOST_LETTERS = 60, 400, 2000

Section = tuple[str, tuple[str, ...]]
"""A heading and its lines."""


def read_steps(extra: Mapping[str, Any]) -> tuple[Section, ...]:
    """The sections that can be read, in order; at most 60 of 400 lines of 2000 letters."""
    told = extra.get("steps")
    parts = told[:MOST_SECTIONS] if isinstance(told, list) else []
    read = (_section(part) for part in parts)
    return tuple(section for section in read if section is not None)


def _section(part: Any) -> Section | None:
    if not isinstance(part, Mapping) or not isinstance(part.get("heading"), str):
        return None
    lines = part.get("lines")
    if not isinstance(lines, list):
        return None
    kept = tuple(line[:MOST_LETTERS] for line in lines[:MOST_LINES] if isinstance(line, str))
    return part["heading"][:MOST_LETTERS], kept
