"""Small helpers for what is printed: nothing a file says may steer the terminal."""

from __future__ import annotations

from pic2chart.yarn.yarn import JOINERS


def one_line(text: str) -> str:
    """The text on one line, each character that does not print replaced by '?'."""
    whole = " ".join(text.split())
    return "".join(c if c.isprintable() or c in JOINERS else "?" for c in whole)


def many(count: int, one: str, more: str | None = None) -> str:
    """'1 stitch', '1,920 stitches'."""
    return f"{count:,} {one if count == 1 else more or one + 's'}"
