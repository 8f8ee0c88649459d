"""What was done to a project, one line a step, only ever added to.

Each line carries a checksum. A step counts once its line lies on the disk, whole and synced, so a
machine that dies loses at most the step in hand; on opening, whatever follows the last whole line
is cut off (and kept beside, when it is more than one torn line). Undo and redo add a line too: the
file says what was seen at any time.
"""

from __future__ import annotations

import json
import os
import zlib
from pathlib import Path
from typing import Any

from pic2chart.errors import InputError, OutputError
from pic2chart.files import reason, write_atomic

_STEP, _GO = b"S", b"G"
_LONGEST = 100_000_000
"""Bytes of a line: several times what the largest chart takes."""
_SPOILT = (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError)
"""What reading a line that holds anything at all may raise."""


class History:
    """Steps, the one that is shown, and how often anything changed.

    `revision` grows by one with every line; `mark` is what came with the last one. Raises InputError
    when the file cannot be read.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.revision = 0
        self.mark = ""
        self._steps: list[tuple[int, str]] = []  # where each step's line begins, and its name
        self._shown = -1
        self._end = 0
        try:
            with path.open("rb") as file:
                while self._follow(file.readline(_LONGEST)):
                    pass
                file.seek(self._end)
                rest = file.read()
            if rest:
                self._cut_off(rest)
        except FileNotFoundError:
            return
        except OSError as error:
            raise InputError(f"The history '{path}' cannot be read: {reason(error)}.") from error

    @property
    def undo(self) -> str | None:
        """What undoing would take back; None at the start."""
        return self._steps[self._shown][1] if self._shown > 0 else None

    @property
    def redo(self) -> str | None:
        """What would be done again; None when nothing was undone."""
        following = self._shown + 1
        return self._steps[following][1] if following < len(self._steps) else None

    @property
    def step(self) -> int:
        """Number of the step that is shown, from 0; -1 when there is none."""
        return self._shown

    def add(self, what: str, state: dict[str, Any], mark: str = "") -> int:
        """Add a step after the one shown; those undone are let go. Return where its line begins."""
        text = json.dumps({"what": what, "mark": mark, "state": state}, separators=(",", ":"))
        return self._write(_STEP, text.encode("ascii"))

    def go(self, by: int, mark: str = "") -> dict[str, Any]:
        """Show the step before (-1) or after (+1); its state. Nothing moves at either end."""
        wanted = min(max(self._shown + by, 0), len(self._steps) - 1)
        if wanted != self._shown:
            self._write(_GO, f"{wanted} {mark}".strip().encode("ascii"))
        return self.shown()

    def shown(self) -> dict[str, Any]:
        """The state of the step that is shown. Raises InputError when there is none."""
        if self._shown < 0:
            raise InputError(f"The project '{self.path.parent.name}' holds nothing yet.")
        return self.at(self._steps[self._shown][0])

    def at(self, place: int) -> dict[str, Any]:
        """The state of the step whose line begins at `place`, with `place` inside it."""
        try:
            with self.path.open("rb") as file:
                file.seek(place)
                _, body = _taken_apart(file.readline(_LONGEST))
            state: dict[str, Any] = json.loads(body)["state"]
            return state | {"place": place}
        except OSError as error:
            why = reason(error)
        except _SPOILT as error:
            why = f"a step is spoilt ({type(error).__name__})"
        raise InputError(f"The history '{self.path}' cannot be read: {why}.")

    def _follow(self, line: bytes) -> bool:
        """Take one line into account; False when it is torn or spoilt."""
        try:
            kind, body = _taken_apart(line)
            if kind == _GO:
                place, _, mark = body.decode("ascii").partition(" ")
                wanted = int(place)
                if not 0 <= wanted < len(self._steps):
                    return False
                self._shown = wanted
            else:
                told = json.loads(body)
                mark = str(told.get("mark", ""))
                step = self._end, str(told["what"])
                del self._steps[self._shown + 1 :]
                self._steps.append(step)
                self._shown = len(self._steps) - 1
        except _SPOILT:
            return False
        self._end += len(line)
        self.revision += 1
        self.mark = mark
        return True

    def _cut_off(self, rest: bytes) -> None:
        """End the file after its last whole line; more than one torn line is kept in a file beside."""
        if b"\n" in rest[:-1]:
            write_atomic(self.path.with_name(f"history-rest-{zlib.crc32(rest):08x}.log"), rest)
        os.truncate(self.path, self._end)

    def _write(self, kind: bytes, body: bytes) -> int:
        place, line = self._end, b"%s %08x %s\n" % (kind, zlib.crc32(body), body)
        fresh = not self.path.exists()
        if (0 if fresh else self.path.stat().st_size) != place:
            raise OutputError(
                f"The project '{self.path.parent.name}' was changed by another program meanwhile; "
                "close the desk and open it again."
            )
        try:
            with self.path.open("ab") as file:
                file.write(line)
                file.flush()
                os.fsync(file.fileno())
            if fresh:
                _sync_folder(self.path.parent)
        except OSError as error:
            if self.path.exists():
                os.truncate(self.path, place)
            raise OutputError(f"The change could not be saved: {reason(error)}.") from error
        self._follow(line)
        return place


def _taken_apart(line: bytes) -> tuple[bytes, bytes]:
    """Kind and body of a line; raises ValueError unless it is whole."""
    if len(line) < 12 or not line.endswith(b"\n"):
        raise ValueError("cut short")
    kind, body = line[:1], line[11:-1]
    if kind not in (_STEP, _GO) or int(line[2:10], 16) != zlib.crc32(body):
        raise ValueError("spoilt")
    return kind, body


def _sync_folder(folder: Path) -> None:
    """Make a new file's name as lasting as its content, where the system can do that."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
