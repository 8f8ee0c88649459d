"""British or American English in what is printed: the trade's terms and the spelling that differ.

Texts are written once; before they are printed, every term becomes that of the variety asked for
(terms as the usual pattern glossaries pair them; common practice). A name that a person gave, such as
a yarn 'grey', is never respelled.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

VARIETIES = ("uk", "us")
_PAIRS = (
    ("cast off", "bind off"),
    ("casting off", "binding off"),
    ("casts off", "binds off"),
    ("cast off", "bound off"),
    ("tension", "gauge"),
    ("stocking stitch", "stockinette stitch"),
    ("jumper", "sweater"),
    ("colour", "color"),
    ("coloured", "colored"),
    ("colouring", "coloring"),
    ("colourway", "colorway"),
    ("colourwork", "colorwork"),
    ("grey", "gray"),
    ("centre", "center"),
    ("centred", "centered"),
    ("neighbouring", "neighboring"),
    ("metre", "meter"),
    ("centimetre", "centimeter"),
    ("millimetre", "millimeter"),
    ("licence", "license"),
)
"""British and American; the first of two with one partner is what the other becomes. All but verbs may
have an s."""
_LETTERS = r"[^\W\d_]"


@lru_cache(maxsize=2)
def _table(variety: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for uk, us in _PAIRS:
        for ending in ("", "s"):
            one, other = (us, uk) if variety == "uk" else (uk, us)
            found.setdefault(one + ending, other + ending)
    return found


@lru_cache(maxsize=2)
def _pattern(variety: str) -> re.Pattern[str]:
    words = sorted(_table(variety), key=len, reverse=True)
    any_of = "|".join(map(re.escape, words))
    first = "".join(sorted({word[0] for word in words}))  # most places are passed over by it alone
    return re.compile(rf"(?<!{_LETTERS})(?=[{first}])(?:{any_of})(?!{_LETTERS})", re.IGNORECASE)


def own_terms(names: Iterable[str]) -> frozenset[str]:
    """The terms, in small letters, that names given by a person hold; none of them is respelled."""
    found = (m[0].lower() for v in VARIETIES for n in names for m in _pattern(v).finditer(n))
    return frozenset(found)


def in_english(text: str, variety: str, own: frozenset[str] = frozenset()) -> str:
    """The text in that variety, 'uk' or 'us', capitals kept. `own`: terms that stay as they are."""
    table = _table(variety)

    def other(match: re.Match[str]) -> str:
        word = match[0]
        if word.lower() in own:
            return word
        found = table[word.lower()]
        if word.isupper():
            return found.upper()
        return found[0].upper() + found[1:] if word[0].isupper() else found

    return _pattern(variety).sub(other, text)
