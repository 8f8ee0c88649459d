"""The log in which earlier versions kept a project's history: read once, and left as it is.

One line a step, each with a checksum; undo and redo are lines too. What follows the last whole line
counts as never written.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pic2chart.core.errors import InputError, reason
from pic2chart.core.messages import message

NAME = "history.log"

_STEP, _GO = b"S", b"G"
_LONGEST = 100_000_000
"""Bytes of a line: several times what the largest chart takes."""
_SPOILT = (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError)
"""What reading a line that holds anything at all may raise."""


@dataclass(frozen=True, slots=True)
class LoggedStep:
    """A step that was done: its name and its state, which names others by their number here."""

    what: str
    state: dict[str, Any]


@dataclass(frozen=True, slots=True)
class LoggedChange:
    """A line: the step it showed, by its number from 0; the step itself where the line brought it."""

    shown: int
    mark: str
    step: LoggedStep | None = None


def read_log(path: Path) -> Iterator[LoggedChange]:
    """Every whole line of a log in its order. Raises InputError when the file cannot be read."""
    log = _Log()
    try:
        with path.open("rb") as file:
            while line := file.readline(_LONGEST):
                try:
                    change = log.follow(line)
                except _SPOILT:
                    return
                yield change
    except OSError as error:
        raise InputError(message("history-damaged", path=str(path), why=reason(error))) from error


@dataclass(slots=True)
class _Log:
    """What is known after so many lines: `begins` where each step's line begins, and its number;
    `steps` those that undo and redo go along, and which of them is shown.
    """

    begins: dict[int, int] = field(default_factory=dict)
    steps: list[int] = field(default_factory=list)
    shown: int = -1
    end: int = 0

    def follow(self, line: bytes) -> LoggedChange:
        """Take one line into account; raises one of _SPOILT, and changes nothing, at a torn one."""
        kind, body = _taken_apart(line)
        if kind == _GO:
            place, _, mark = body.decode("ascii").partition(" ")
            wanted, step = int(place), None
            if not 0 <= wanted < len(self.steps):
                raise ValueError("a step that is not there")
        else:
            entry = json.loads(body)
            mark, state = str(entry.get("mark", "")), dict(entry["state"])
            if state.get("whole") is not None:
                state["whole"] = self._number(state["whole"])
            step = LoggedStep(str(entry["what"]), state)
            wanted = self.shown + 1
            self.steps[wanted:] = [len(self.begins)]
            self.begins[self.end] = len(self.begins)
        self.shown = wanted
        self.end += len(line)
        return LoggedChange(self.steps[wanted], mark, step)

    def _number(self, begin: Any) -> int:
        """The step whose line begins there; one that no step has where there is none."""
        return self.begins.get(begin, -1) if isinstance(begin, int) else -1


def _taken_apart(line: bytes) -> tuple[bytes, bytes]:
    """Kind and body of a line; raises ValueError unless it is whole."""
    if len(line) < 12 or not line.endswith(b"\n"):
        raise ValueError("cut short")
    kind, body = line[:1], line[11:-1]
    if kind not in (_STEP, _GO) or int(line[2:10], 16) != zlib.crc32(body):
        raise ValueError("spoilt")
    return kind, body
