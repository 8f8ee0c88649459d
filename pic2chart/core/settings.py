"""Every option as data: default, range, unit and help, said once.

The flags, the desk's form, the recipe file, the chart file and the table of options all read this.
Values are plain (numbers, words, tuples of words), spelled the same everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from typing import Any, Self

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message

MIN_SIDE, MAX_SIDE = 4, 1000
"""Fewest and most stitches across and rounds up that a chart of a picture may have."""
MAX_YARNS = 12
"""Most yarns a chart may have."""


def option(
    default: Any,
    help: str,
    *,
    unit: str = "",
    low: float | None = None,
    high: float | None = None,
    choices: tuple[str, ...] = (),
    example: str = "",
    kind: type = str,
) -> Any:
    """Declare one option. `kind` is the type of a single value (int, float, bool or str).

    An option whose default is a tuple takes several values, in any sequence, and keeps a tuple; one
    whose default is None may be None.
    """
    facts = {
        "help": help,
        "unit": unit,
        "low": low,
        "high": high,
        "choices": choices,
        "example": example,
        "kind": kind,
        "many": isinstance(default, tuple),
        "may_miss": default is None,
    }
    return field(default=default, metadata=facts)


@dataclass(frozen=True, slots=True)
class Settings:
    """What the knitter asked for. Raises SettingError naming the option that is out of range."""

    stitches: int = option(
        60, "Stitches across the chart.", unit="stitches", low=MIN_SIDE, high=MAX_SIDE, kind=int
    )
    rounds: int | None = option(
        None,
        "Rounds up the chart; when left out, the picture's own shape decides.",
        unit="rounds",
        low=MIN_SIDE,
        high=MAX_SIDE,
        kind=int,
    )
    gauge: str = option(
        "28x30",
        "Stitches x rounds in 10 cm of your washed stranded swatch.",
        example="28x31",
    )
    yarn: tuple[str, ...] = option(
        (), "A yarn you have, as name=#rrggbb; repeat for each yarn.", example="oat=#ece2d0"
    )
    shelf: str | None = option(
        None, "A CSV file of yarns to choose the best from.", example="shelf.csv"
    )
    yarns: int | None = option(
        None,
        "Most yarns to choose when they come from the shelf or from the picture (2 at first).",
        unit="yarns",
        low=2,
        high=12,
        kind=int,
    )
    per_round: int = option(
        2, "Most yarns in any one round.", unit="yarns", low=1, high=3, kind=int
    )
    float_limit: int = option(
        5, "Longest float left uncaught.", unit="stitches", low=1, high=60, kind=int
    )
    float_cm: float | None = option(
        None,
        "Longest float left uncaught, by length at your gauge; the smaller limit wins.",
        unit="cm",
        low=0.3,
        high=20.0,
        kind=float,
    )
    long_floats: str = option(
        "catch",
        "Leave long floats and plan catches, or break them with stitches.",
        choices=("catch", "break"),
    )
    isolated: str = option(
        "tidy", "Tidy single stitches away, or keep them.", choices=("tidy", "keep")
    )
    min_delta_L: float = option(
        20.0,
        "Smallest difference in lightness L* between yarns that share a round.",
        unit="L*",
        low=0.0,
        high=100.0,
        kind=float,
    )
    crop: str | None = option(
        None, "Part of the picture to use: x,y,width,height in pixels.", example="40,10,300,280"
    )
    turn: float = option(
        0.0,
        "Degrees to turn the picture clockwise under the stitches. {option[crop]} lies on the turned "
        "picture, spots and boxes on the picture as it is.",
        unit="degrees",
        low=-45.0,
        high=45.0,
        kind=float,
    )
    frame: str = option(
        "auto",
        "How much of the picture: whole, close round the subject, or head, the head and shoulders of one "
        "that is upright; auto is close where the subject was found. {option[crop]} goes before it.",
        choices=("auto", "whole", "close", "head"),
    )
    subject: str = option(
        "auto",
        "What the picture is of: auto finds it, none keeps everything, x,y,width,height is a box round "
        "it, a file is a mask (white is subject). The rest becomes a plain ground.",
        example="60,20,240,250",
    )
    keep: tuple[str, ...] = option(
        (),
        "A spot that belongs to the subject: x,y,radius in pixels; repeat for each spot.",
        example="180,150,20",
    )
    leave: tuple[str, ...] = option(
        (),
        "A spot that does not belong to the subject: x,y,radius in pixels; repeat for each spot.",
        example="40,220,30",
    )
    background: str | None = option(
        None, "Name of the yarn for a plain background; when left out, the best one is chosen."
    )
    filler: str | None = option(
        None, "Float-safe pattern to knit behind the subject instead of one plain yarn."
    )
    look: str = option(
        "auto",
        "How the picture is drawn; auto takes the one that shows it best, {option[compare]} shows all looks "
        "side by side.",
        choices=("auto", "clear", "calm", "inked", "hatched"),
    )
    focus: tuple[str, ...] = option(
        (),
        "A spot that matters most, such as an eye: x,y,radius in pixels; repeat for each spot.",
        example="210,140,25",
    )
    flat: bool = option(False, "Work back and forth in rows instead of in the round.", kind=bool)
    left_handed: bool = option(False, "Chart for a left-handed knitter.", kind=bool)
    title: str | None = option(None, "Title of the chart; when left out, the picture's name.")
    prove: float | None = option(
        None,
        "Most seconds to spend proving how near the best chart this is; the chart may get better.",
        unit="seconds",
        low=0.05,
        high=3600.0,
        kind=float,
    )
    seed: int = option(0, "Seed; the same seed gives the same chart.", low=0, high=2**31, kind=int)

    def __post_init__(self) -> None:
        check_options(self)

    @classmethod
    def from_mapping(cls, values: Mapping[str, Any]) -> Self:
        """Build from plain data; raises SettingError on a name that is no option."""
        known = {f.name for f in fields(cls)}
        for name in values:
            if name not in known:
                raise SettingError(
                    message("no-such-option", name=shown(name), known=tuple(sorted(known)))
                )
        return cls(**values)

    def changed(self) -> dict[str, Any]:
        """The options that differ from their defaults, as plain JSON data."""
        pairs = ((f, getattr(self, f.name)) for f in fields(self))
        return {f.name: list(v) if isinstance(v, tuple) else v for f, v in pairs if v != f.default}


KINDS = {
    int: message("whole-number"),
    float: message("number"),
    bool: message("yes-or-no"),
    str: message("word"),
}


def check_options(options: Any) -> None:
    """Check every option of a frozen dataclass of them; several values are kept as a tuple.

    Raises SettingError naming the first option that is not of its kind or out of its range.
    """
    for f in fields(options):
        value = getattr(options, f.name)
        if (
            f.metadata["many"]
            and isinstance(value, Sequence)
            and not isinstance(value, str | bytes)
        ):
            value = tuple(value)
            object.__setattr__(options, f.name, value)
        _check_option(f.name, value, f.metadata)


def _check_option(name: str, value: Any, facts: Mapping[str, Any]) -> None:
    if value is None and facts["may_miss"]:
        return
    if facts["many"] and isinstance(value, str):
        raise SettingError(message("option-single-word", value=shown(value), options=(name,)))
    if facts["many"] and not isinstance(value, tuple):
        raise SettingError(message("option-not-a-list", value=shown(value), options=(name,)))
    if not facts["many"] and isinstance(value, tuple | list):
        kind = KINDS[facts["kind"]]
        raise SettingError(
            message("option-not-single", value=shown(value), kind=kind, options=(name,))
        )
    for single in value if facts["many"] else (value,):
        _check_single(name, single, facts)


def shown(value: Any) -> str:
    """A value as a message names it, cut short."""
    text = ascii(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _check_single(name: str, value: Any, facts: Mapping[str, Any]) -> None:
    kind, low, high = facts["kind"], facts["low"], facts["high"]
    good = isinstance(value, (int, float)) if kind is float else isinstance(value, kind)
    if not good or (kind is not bool and isinstance(value, bool)):
        raise SettingError(
            message("option-wrong-kind", value=shown(value), kind=KINDS[kind], options=(name,))
        )
    if low is not None and not low <= value <= high:
        raise SettingError(
            message(
                "option-out-of-range",
                value=shown(value),
                low=low,
                high=high,
                unit=f" {facts['unit']}".rstrip(),
                options=(name,),
            )
        )
    if facts["choices"] and value not in facts["choices"]:
        raise SettingError(
            message(
                "option-not-a-choice", value=shown(value), choices=facts["choices"], options=(name,)
            )
        )
