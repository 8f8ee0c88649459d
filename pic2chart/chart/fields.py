"""Reading single values of a parsed JSON file that may hold anything.

Each function returns the value or raises InputError naming where it stands, what was found and what
is allowed. `true` is never a number, and a number never a word.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from pic2chart.errors import InputError


def mapping(value: Any, where: str) -> Mapping[str, Any]:
    """A JSON object."""
    if not isinstance(value, dict):
        raise InputError(f"{where} is {shown(value)}; it must be an object in braces.")
    return value


def sequence(value: Any, where: str, low: int, high: int) -> list[Any]:
    """A JSON list of `low` to `high` parts."""
    if not isinstance(value, list):
        raise InputError(f"{where} is {shown(value)}; it must be a list in brackets.")
    if not low <= len(value) <= high:
        raise InputError(f"{where} has {len(value)} parts; it must have {low} to {high}.")
    return value


def whole(value: Any, where: str, low: int, high: int) -> int:
    """A whole number from `low` to `high`."""
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        raise InputError(
            f"{where} is {shown(value)}; it must be a whole number from {low} to {high}."
        )
    return value


def number(value: Any, where: str, low: float, high: float) -> float:
    """A finite number from `low` to `high`."""
    good = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not good or not low <= value <= high or not math.isfinite(value):
        raise InputError(
            f"{where} is {shown(value)}; it must be a number from {low:g} to {high:g}."
        )
    return float(value)


def text(value: Any, where: str, longest: int) -> str:
    """A piece of text of at most `longest` characters."""
    if not isinstance(value, str):
        raise InputError(f"{where} is {shown(value)}; it must be text in quotes.")
    if len(value) > longest:
        raise InputError(
            f"{where} has {len(value)} characters; it must have {longest} at the most."
        )
    return value


def word(value: Any, where: str, choices: tuple[str, ...]) -> str:
    """One of a few words."""
    if not isinstance(value, str) or value not in choices:
        allowed = " or ".join(f'"{choice}"' for choice in choices)
        raise InputError(f"{where} is {shown(value)}; it must be {allowed}.")
    return value


def shown(value: Any) -> str:
    """A value as it stands in the file, cut short; lists and objects by their kind."""
    if value is None:
        return "missing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (list, dict)):
        return "a list" if isinstance(value, list) else "an object"
    if isinstance(value, int) and abs(value) >= 10**15:
        return "a huge number"
    plain = ascii(value) if isinstance(value, str) else str(value)
    return plain if len(plain) <= 40 else plain[:37] + "..."
