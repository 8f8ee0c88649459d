"""A finding: one thing a check noticed, in a knitter's words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Level = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Finding:
    """Where, what, and what to do. `round` and `stitch` count from 1, None where they do not apply.

    `rule` is the code of the rule; `length` is in stitches; `yarn` is a yarn's name.
    """

    rule: str
    level: Level
    message: str
    mend: str
    round: int | None = None
    stitch: int | None = None
    length: int | None = None
    yarn: str | None = None

    def to_dict(self) -> dict[str, Any]:
        """Plain data, in the order of the file format."""
        return {name: getattr(self, name) for name in self.__slots__}
