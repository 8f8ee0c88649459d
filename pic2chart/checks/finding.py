"""A finding: one thing a check noticed, where, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from pic2chart.core.messages import PYTHON, Door, Message, render

Level = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Finding:
    """Where, what, and what to do. `round` and `stitch` count from 1, None where they do not apply.

    `rule` is the code of the rule; `what` was found and `cure` is what to do, which `message` and
    `mend` have as sentences; `length` is in stitches; `yarn` is a yarn's name.
    """

    rule: str
    level: Level
    what: Message
    cure: Message
    round: int | None = None
    stitch: int | None = None
    length: int | None = None
    yarn: str | None = None

    @property
    def message(self) -> str:
        """What was found, as a sentence."""
        return str(self.what)

    @property
    def mend(self) -> str:
        """What to do, as a sentence."""
        return str(self.cure)

    def to_dict(self, door: Door = PYTHON) -> dict[str, Any]:
        """Plain data, in the order of the file format, the sentences in the words of a door."""
        return {
            "rule": self.rule,
            "level": self.level,
            "message": render(self.what, door),
            "mend": render(self.cure, door),
            "round": self.round,
            "stitch": self.stitch,
            "length": self.length,
            "yarn": self.yarn,
        }
