"""A written pattern for the other hand.

A left-handed knitter works the mirror image: every step the same with left for right, and her left
mitten as a right-handed knitter's right. So the pattern is rewritten word by word; what is no side
('the right side facing', '20 sts left') stays. A steek that ends one hand's rounds begins the other's.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from pic2chart.model.construction import StepSection

LEANINGS = "All leanings are as a left-handed knitter works these, seen from outside."
"""The line that closes a left-handed knitter's abbreviations where some lean."""
_LEANING = re.compile(r"(?:k2tog|ssk|M1L|M1R): .*(?:left|right)")
_NO_SIDE = (
    r"right-side|right side(?= facing|\))|(?:sts?|stitch(?:es)?|are|is|were) left(?=[.,;:)]|$)"
)
_SIDE = re.compile(rf"\b(?:{_NO_SIDE}|(?P<side>left|right))\b", re.IGNORECASE)
_OTHER = {"left": "right", "right": "left"}
_ENDS = {"after": "before", "before": "after", "first": "last", "last": "first"}
_STEEK = re.compile(
    r"(?P<one>\d+ for the (?:panel|steek)) and (?P<two>\d+ for the (?:panel|steek))"
    r"|(?P<place>after|before)(?= the steek)|(?P<end>first|last)(?= \d+ sts of every round are the steek)"
)


def for_other_hand(sections: Iterable[StepSection], hand: str) -> tuple[StepSection, ...]:
    """The sections for a knitter of `hand`, written for the other one."""
    return tuple(
        StepSection(_turned(heading), tuple(_lines(lines, hand))) for heading, lines in sections
    )


def _lines(lines: Iterable[str], hand: str) -> list[str]:
    kept = [line for line in lines if line != LEANINGS]
    turned = [_turned(line) for line in kept]
    if hand == "left" and any(map(_LEANING.match, kept)):
        turned.append(LEANINGS)
    return turned


def _turned(text: str) -> str:
    return _SIDE.sub(_swapped, _STEEK.sub(_at_other_end, text))


def _at_other_end(match: re.Match[str]) -> str:
    if match["one"]:
        return f"{match['two']} and {match['one']}"
    return _ENDS[match["place"] or match["end"]]


def _swapped(match: re.Match[str]) -> str:
    side = match["side"]
    if side is None:
        return match[0]
    other = _OTHER[side.lower()]
    return other.capitalize() if side[0].isupper() else other
