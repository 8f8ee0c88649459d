"""The states of a project and its history: one line a step, only ever added to."""

from __future__ import annotations

import base64
import json
import os
import re
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError, OutputError, reason
from pic2chart.core.files import write_atomic
from pic2chart.core.messages import message
from pic2chart.core.settings import Settings
from pic2chart.desk.facts import bounds_of, yarns_of
from pic2chart.desk.thing import Thing
from pic2chart.model import plain_json as read
from pic2chart.model.chart import Catch, Chart
from pic2chart.model.chart_file import MAX_BYTES, chart_from_text, chart_to_text

# One state of a project: the settings, the picture, the chart. What undo goes back to.

_PICTURE = re.compile(r"picture-[0-9a-f]{16}")


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """`settings` as asked for; `picture` the file's name in the project's folder, `picture_name` the
    knitter's name for it; `follows`: the chart still lies stitch for stitch on the picture, so that
    it can be made anew with its fixed stitches kept. `whole` is where the history holds the last
    chart in full, None when this one's parts beside the stitches differ from that.
    """

    settings: Settings
    chart: Chart
    picture: str | None = None
    picture_name: str = ""
    follows: bool = False
    moved: int | None = None
    remarks: tuple[str, ...] = ()
    facts: Mapping[str, Any] = field(default_factory=dict)
    whole: int | None = None
    thing: Thing | None = None

    def edited(self, chart: Chart, follows: bool) -> State:
        """The state after a change by hand; the history needs the chart in full if more of it changed
        than stitches, fixed stitches and catches.
        """
        settings, whole = self.settings, self.whole
        if (chart.rows, chart.construction) != (self.chart.rows, self.chart.construction):
            whole = None
        if chart.yarns != self.chart.yarns:
            settings = replace(settings, yarn=yarns_of(chart), shelf=None, yarns=None)
            whole = None
        return replace(
            self,
            settings=settings,
            chart=chart,
            follows=self.follows and follows,
            moved=None,
            remarks=(),
            facts=bounds_of(self.facts) if self.follows and follows else {},
            whole=whole,
        )

    def to_plain(self) -> dict[str, Any]:
        """Plain data for a line of the history: small when only stitches differ."""
        plain: dict[str, Any] = {
            "settings": self.settings.changed(),
            "picture": self.picture,
            "picture_name": self.picture_name,
            "follows": self.follows,
            "moved": self.moved,
            "remarks": list(self.remarks),
            "facts": dict(self.facts),
            "thing": None if self.thing is None else self.thing.to_plain(),
        }
        if self.whole is None:
            return plain | {"chart": _packed(chart_to_text(self.chart).encode())}
        return plain | {"whole": self.whole, "arrays": _arrays(self.chart)}

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any], at: Callable[[int], Mapping[str, Any]]) -> State:
        """Read what `to_plain` wrote and the history gave; `at` finds an earlier line by its place.

        Raises InputError when it is anything else.
        """
        try:
            return cls._of(plain, at)
        except (KeyError, TypeError, ValueError, OverflowError, zlib.error) as error:
            raise InputError(
                message("history-step-unreadable", kind=type(error).__name__, why=str(error))
            ) from error

    @classmethod
    def _of(cls, plain: Mapping[str, Any], at: Callable[[int], Mapping[str, Any]]) -> State:
        whole = plain if "chart" in plain else at(plain["whole"])
        chart = chart_from_text(_unpacked(whole["chart"]).decode())
        if "arrays" in plain:
            chart = _with_arrays(chart, plain["arrays"])
        remarks = read.sequence(plain["remarks"], "remarks", 0, 1000)
        return cls(
            Settings.from_mapping(read.mapping(plain["settings"], "settings")),
            chart,
            _picture(plain["picture"]),
            read.text(plain["picture_name"], "picture_name", 10_000),
            plain["follows"] is True,
            plain["moved"] if type(plain["moved"]) is int else None,
            tuple(read.text(remark, "a remark", 10_000) for remark in remarks),
            read.mapping(plain["facts"], "facts"),
            int(whole["place"]),
            Thing.from_plain(plain.get("thing")),
        )


def _picture(name: Any) -> str | None:
    """The file's name in the project's folder, and never a way out of it."""
    if name is not None and not _PICTURE.fullmatch(read.text(name, "picture", 100)):
        raise ValueError("the picture's name is not one of the desk's own")
    return None if name is None else str(name)


def _arrays(chart: Chart) -> dict[str, Any]:
    fixed = None if chart.fixed is None else _packed(np.packbits(chart.fixed).tobytes())
    catches = np.array([(c.round, c.stitch, c.yarn) for c in chart.catches], "<u2")
    return {
        "shape": list(chart.stitches.shape),
        "stitches": _packed(chart.stitches.tobytes()),
        "fixed": fixed,
        "catches": _packed(catches.tobytes()),
    }


def _with_arrays(chart: Chart, arrays: Mapping[str, Any]) -> Chart:
    rounds, across = arrays["shape"]
    stitches = np.frombuffer(_unpacked(arrays["stitches"]), np.uint8).reshape(rounds, across)
    catches = np.frombuffer(_unpacked(arrays["catches"]), "<u2").reshape(-1, 3).tolist()
    return chart.with_(
        stitches=stitches,
        fixed=_bits(arrays["fixed"], (rounds, across)),
        catches=tuple(Catch(*catch) for catch in catches),
    )


def _bits(packed: str | None, shape: tuple[int, int]) -> NDArray[np.bool_] | None:
    if packed is None:
        return None
    bits = np.unpackbits(np.frombuffer(_unpacked(packed), np.uint8), count=shape[0] * shape[1])
    return bits.reshape(shape).astype(bool)


def _packed(data: bytes) -> str:
    return base64.b64encode(zlib.compress(data, 3)).decode("ascii")


def _unpacked(text: str) -> bytes:
    """The bytes that `_packed` packed; raises ValueError when they are more than a chart's."""
    unpack = zlib.decompressobj()
    data = unpack.decompress(base64.b64decode(text), MAX_BYTES)
    if not unpack.eof:
        raise ValueError("cut short, or larger than a chart can be")
    return data


# What was done to a project, one line a step, only ever added to.
#
# Each line carries a checksum. A step counts once its line lies on the disk, whole and synced, so a
# machine that dies loses at most the step in hand; on opening, whatever follows the last whole line
# is cut off (and kept beside, when it is more than one torn line). Undo and redo add a line too:
# the file says what was seen at any time.

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
            raise InputError(
                message("history-damaged", path=str(path), why=reason(error))
            ) from error

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
            raise InputError(message("project-empty", name=self.path.parent.name))
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
        raise InputError(message("history-damaged", path=str(self.path), why=why))

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
                entry = json.loads(body)
                mark = str(entry.get("mark", ""))
                step = self._end, str(entry["what"])
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
            raise OutputError(message("project-changed-elsewhere", name=self.path.parent.name))
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
            raise OutputError(message("change-not-saved", why=reason(error))) from error
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
