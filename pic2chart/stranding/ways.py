"""The ways of holding two yarns, and of catching either with each, in a knitter's words.

Common practice, told for a right-handed knitter; for a left-handed one hands and needles change
sides. Every way of catching brings the strand back to where it runs, so that nothing stays twisted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Holding = Literal["throw", "pick", "two hands", "one finger"]
HOLDINGS: tuple[Holding, ...] = ("throw", "pick", "two hands", "one finger")
_TITLES: dict[Holding, str] = {
    "throw": "Throwing, one yarn at a time",
    "pick": "Picking, one yarn at a time",
    "two hands": "A yarn in each hand",
    "one finger": "Both yarns on one finger",
}
_SHORT: dict[Holding, str] = {
    "throw": "Throwing",
    "pick": "picking",
    "two hands": "A yarn in each hand",
    "one finger": "Both yarns on one finger",
}
_HOLD: dict[Holding, str] = {
    "throw": "{working_hand} hand: take up {under} from beneath, {over} over the top; drop the other.",
    "pick": "{other_hand} first finger: take up {under} from beneath, {over} over the top; drop the other.",
    "two hands": "{under} in the {other} hand, {over} in the {working}.",
    "one finger": "Both on the {other} first finger: {under} nearer the knuckle, {over} nearer the tip.",
}
_ACROSS = (
    "Lay {caught} across {knitted}, close to the needle; {work} the stitch with {knitted}; lay {caught} "
    "back {where}."
)
_CATCH: dict[Holding, tuple[str, str]] = {
    "throw": (_ACROSS, _ACROSS),
    "pick": (_ACROSS, _ACROSS),
    "two hands": (
        "Tip into the stitch and under {caught}; wrap {knitted}, draw it through, let {caught} slip off. "
        "Work the next stitch free of it.",
        "Wrap {caught} as if to {work}, then wrap {knitted}; take {caught} back off the way it came, and "
        "draw {knitted} through.",
    ),
    "one finger": (
        "Tip into the stitch and under {caught}; take {knitted} and draw it through. Work the next stitch "
        "free of it.",
        "Tip into the stitch and over {caught}; take {knitted} from beyond it and draw it through. Work "
        "the next stitch as always.",
    ),
}


@dataclass(frozen=True, slots=True)
class Way:
    """One way of holding: what it is called (`short` beside others), what the hands do, and how each
    yarn is caught.
    """

    holding: Holding
    title: str
    short: str
    hold: str
    catch_under: str
    catch_over: str


def ways_of(under: str, over: str, hand: str, *, purled: bool = False) -> tuple[Way, ...]:
    """The four ways for yarns of these names and a right- or left-handed knitter."""
    working, other = ("right", "left") if hand == "right" else ("left", "right")
    sides = {
        "working": working,
        "other": other,
        "working_hand": working.capitalize(),
        "other_hand": other.capitalize(),
        "work": "purl" if purled else "knit",
    }
    low = {"caught": under, "knitted": over, "where": "beneath", **sides}
    high = {"caught": over, "knitted": under, "where": "over the top", **sides}
    return tuple(
        Way(
            holding,
            _TITLES[holding],
            _SHORT[holding],
            _HOLD[holding].format(under=under, over=over, **sides),
            _CATCH[holding][0].format(**low),
            _CATCH[holding][1].format(**high),
        )
        for holding in HOLDINGS
    )


def caught_alike(ways: Sequence[Way]) -> list[tuple[str, Way]]:
    """The ways that catch differently, one for all that catch alike, with what these are called."""
    found: list[tuple[str, Way]] = []
    for way in ways:
        if found and (found[-1][1].catch_under, found[-1][1].catch_over) == (
            way.catch_under,
            way.catch_over,
        ):
            found[-1] = f"{found[-1][0]} or {way.short}", found[-1][1]
        else:
            found.append((way.short, way))
    return found
