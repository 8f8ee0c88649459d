"""Reading single values of a parsed JSON file that may hold anything.

Each function returns the value or raises InputError naming where it stands, what was found and what
is allowed. `true` is never a number, and a number never a word.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

from pic2chart.core.errors import InputError, OutputError
from pic2chart.core.messages import message

# JSON text in and out, held to what can be trusted and written again.
#
# Reading refuses what the JSON standard (RFC 8259) leaves open or allows without bound: names given
# twice, NaN and Infinity, numbers of hundreds of digits, deep nesting, half surrogate pairs.

DEEPEST = 32
MOST_PARTS = 1_000_000
MOST_DIGITS = 30


def parse(content: str, what: str) -> Any:
    """The value of a JSON text; InputError names `what` it should have been."""
    if content.count("[") + content.count("{") > MOST_PARTS:
        raise InputError(message("json-too-many-parts", what=what, most=MOST_PARTS))
    try:
        value = json.loads(
            content,
            object_pairs_hook=_unique,
            parse_constant=_refuse,
            parse_int=_whole,
            parse_float=_finite,
        )
    except json.JSONDecodeError as error:
        raise InputError(
            message(
                "json-not-valid",
                what=what,
                line=error.lineno,
                column=error.colno,
                why=f"{error.msg[:1].lower()}{error.msg[1:]}",
            )
        ) from error
    except RecursionError as error:
        raise InputError(message("json-too-deep", what=what, most=DEEPEST)) from error
    except _RefusedError as error:
        raise InputError(message("json-refused", what=what, why=str(error))) from None
    _check(value, what)
    return value


def line(value: Any) -> str:
    """A value on one line of JSON, letters of every script as they are. Raises OutputError."""
    try:
        return _ENCODER.encode(value)
    except (TypeError, ValueError, RecursionError) as error:
        raise OutputError(message("json-cannot-hold", why=str(error))) from error


def document(parts: Mapping[str, Any], broken: frozenset[str]) -> str:
    """A JSON object for reading in a diff: a line each key, and a line each part of some lists.

    The lists under the names in `broken` get one line for each of their parts; an object under such
    a name is set out like the whole.
    """
    return f"{_object(parts, broken, '')}\n"


def _object(parts: Mapping[str, Any], broken: frozenset[str], indent: str) -> str:
    lines = []
    for name, value in parts.items():
        if name not in broken or not isinstance(value, (Mapping, list)) or not value:
            told = line(value)
        elif isinstance(value, Mapping):
            told = _object(value, broken, f"{indent}  ")
        else:
            inner = ",\n".join(f"{indent}    {line(part)}" for part in value)
            told = f"[\n{inner}\n{indent}  ]"
        lines.append(f"{indent}  {line(name)}: {told}")
    return "{\n" + ",\n".join(lines) + f"\n{indent}}}"


class _RefusedError(Exception):
    """What a text may not hold, as the end of a sentence."""


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result: dict[str, Any] = {}
    for name, value in pairs:
        if name in result:
            raise _RefusedError(f"gives {name[:40]!a} twice in one object; keep one of them")
        result[name] = value
    return result


def _refuse(constant: str) -> Any:
    raise _RefusedError(f"holds {constant}, which is not a number; leave it out")


def _whole(digits: str) -> int:
    if len(digits) > MOST_DIGITS:
        raise _RefusedError(f"holds a number of {len(digits)} digits; {MOST_DIGITS} are allowed")
    return int(digits)


def _finite(digits: str) -> float:
    value = float(digits)
    if not math.isfinite(value):
        raise _RefusedError(f"holds the number {digits[:20]}, which is too large")
    return value


def _check(value: Any, what: str) -> None:
    """Walk the value level by level: not too deep, and every text can be written as UTF-8."""
    level, depth = [value], 0
    while level:
        if depth > DEEPEST:
            raise InputError(message("json-too-deep", what=what, most=DEEPEST))
        for part in level:
            texts = part if isinstance(part, dict) else [part]
            if any(isinstance(t, str) and not _encodes(t) for t in texts):
                raise InputError(message("json-half-character", what=what))
        holders = [part for part in level if isinstance(part, (dict, list))]
        level = [
            inner
            for part in holders
            for inner in (part.values() if isinstance(part, dict) else part)
        ]
        depth += 1


def _encodes(text: str) -> bool:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _plain(value: Any) -> Any:
    """Mappings and numpy's numbers and arrays as plain data."""
    if isinstance(value, Mapping):
        return dict(value)
    if hasattr(value, "tolist"):
        return value.tolist()
    raise TypeError(f"a {type(value).__name__}")


_ENCODER = json.JSONEncoder(ensure_ascii=False, allow_nan=False, default=_plain)


def mapping(value: Any, where: str) -> Mapping[str, Any]:
    """A JSON object."""
    if not isinstance(value, dict):
        raise InputError(message("json-no-object", where=where, value=shown(value)))
    return value


def sequence(value: Any, where: str, low: int, high: int) -> list[Any]:
    """A JSON list of `low` to `high` parts."""
    if not isinstance(value, list):
        raise InputError(message("json-no-list", where=where, value=shown(value)))
    if not low <= len(value) <= high:
        raise InputError(
            message("json-list-length", where=where, parts=len(value), low=low, high=high)
        )
    return value


def whole(value: Any, where: str, low: int, high: int) -> int:
    """A whole number from `low` to `high`."""
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        raise InputError(
            message("json-no-whole-number", where=where, value=shown(value), low=low, high=high)
        )
    return value


def number(value: Any, where: str, low: float, high: float) -> float:
    """A finite number from `low` to `high`."""
    good = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not good or not low <= value <= high or not math.isfinite(value):
        raise InputError(
            message("json-no-number", where=where, value=shown(value), low=low, high=high)
        )
    return float(value)


def text(value: Any, where: str, longest: int) -> str:
    """A piece of text of at most `longest` characters."""
    if not isinstance(value, str):
        raise InputError(message("json-no-text", where=where, value=shown(value)))
    if len(value) > longest:
        raise InputError(
            message("json-text-too-long", where=where, characters=len(value), longest=longest)
        )
    return value


def word(value: Any, where: str, choices: tuple[str, ...]) -> str:
    """One of a few words."""
    if not isinstance(value, str) or value not in choices:
        allowed = " or ".join(f'"{choice}"' for choice in choices)
        raise InputError(
            message("json-not-allowed", where=where, value=shown(value), allowed=allowed)
        )
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
