"""Steeks: stitches that are secured and cut open.

Common practice: a steek has 5 or 7 stitches, odd when its edges are crocheted, even when they are
sewn; both yarns alternate in it, so that no float lies where it is cut; never in slippery yarn.
"""

from __future__ import annotations

STEEKS = {"crochet": 7, "sewn": 6}
"""Stitches of a steek by how its edges are secured."""


def steek_lines(count: int, how: str) -> tuple[str, str]:
    """How a steek of so many stitches, counted from 1, is secured and cut."""
    middle = count // 2 + 1
    crochet = how == "crochet"
    secure = (
        f"Crochet a chain up each side of steek st {middle}: one joins its one half to the half of st "
        f"{middle - 1} beside it, the other its other half to that of st {middle + 1}, in every round."
        if crochet
        else f"Sew two lines of small stitches, by machine or by hand, through st {middle - 1} and two "
        f"through st {middle}, from edge to edge."
    )
    line = f"up the middle of st {middle}" if crochet else f"between sts {middle - 1} and {middle}"
    cut = (
        f"Cut {line}, only after it is secured, in good light, with the work laid flat and nothing "
        "below it. Never steek slippery yarn or yarn that ravels: try the swatch first."
    )
    return secure, cut


def steek_tools(how: str) -> str:
    """What it takes: 'a crochet hook, sharp scissors'."""
    tool = "a crochet hook" if how == "crochet" else "a sewing needle and thread"
    return f"{tool}, sharp scissors"
