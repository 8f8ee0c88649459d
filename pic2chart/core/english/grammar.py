"""How English puts numbers, lists and beginnings of sentences; the rules of the templates' fields.

`{count:stitch}` counts a thing, '1 stitch' or '2 stitches'; `{names}` lists a tuple with 'and',
`{names:or}` with 'or', `{names:,}`, `{names:;}` and `{names: }` with commas,
semicolons or spaces; `{where:capital}` begins a
sentence and `{why:clause}` takes the full stop off one. Everything else is Python's own format.
"""

from __future__ import annotations

from collections.abc import Sequence
from numbers import Integral
from string import Formatter
from typing import Any


def many(count: int, word: str) -> str:
    """'1 stitch', '2 stitches', '1,920 rounds'."""
    ending = "" if count == 1 else "es" if word.endswith("ch") else "s"
    return f"{count:,} {word}{ending}"


def listed(words: Sequence[str]) -> str:
    """'oat', 'oat and ink', 'oat, ink and rust'."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


JOINERS = "\u200c\u200d"
"""Signs without a shape of their own that Persian, the scripts of India and emoji are spelled with."""


def one_line(text: str) -> str:
    """The text on one line, each character that does not print replaced by '?'."""
    whole = " ".join(text.split())
    return "".join(c if c.isprintable() or c in JOINERS else "?" for c in whole)


class Grammar(Formatter):
    """Fills a template. A field's format may be one of the words above."""

    def format_field(self, value: Any, format_spec: str) -> str:
        """One field."""
        if isinstance(value, tuple):
            return _list([str(part) for part in value], format_spec)
        if isinstance(value, Integral) and len(format_spec) > 1 and format_spec.isalpha():
            return many(int(value), format_spec)
        if format_spec == "capital":
            return f"{value[:1].upper()}{value[1:]}"
        if format_spec == "clause":
            return str(value).rstrip(".")
        return str(super().format_field(value, format_spec))


def _list(words: list[str], how: str) -> str:
    if not how:
        return listed(words)
    return {"or": " or ", ",": ", ", ";": "; ", " ": " "}[how].join(words)
