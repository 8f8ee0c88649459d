"""One state of a project: the settings, the picture, the chart. What undo goes back to."""

from __future__ import annotations

import base64
import hashlib
import re
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.core.settings import Settings
from pic2chart.desk.facts import bounds_of, yarns_of
from pic2chart.desk.in_hand import InHand
from pic2chart.model import plain_json as read
from pic2chart.model.chart import Catch, Chart
from pic2chart.model.chart_file import MAX_BYTES, chart_from_text, chart_to_text

_PICTURE = re.compile(r"picture-[0-9a-f]{16}")


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """`settings` as asked for; `picture` the file's name in the project's folder, `picture_name` the
    knitter's name for it; `follows`: the chart still lies stitch for stitch on the picture, so that
    it can be made anew with its fixed stitches kept. `whole` is where the history holds the last
    chart in full, None when this one's parts beside the stitches differ from that. `thing`: what is
    made of it, None for the chart itself.
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
    thing: InHand | None = None

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
        """Plain data for a step of the history: small when only stitches differ."""
        plain: dict[str, Any] = {
            "settings": self.settings.changed(),
            "picture": self.picture,
            "picture_name": self.picture_name,
            "follows": self.follows,
            "moved": self.moved,
            "remarks": list(self.remarks),
            "facts": dict(self.facts),
            "thing": {} if self.thing is None else self.thing.to_plain(),
        }
        if self.whole is None:
            return plain | {"chart": _packed(chart_to_text(self.chart).encode())}
        return plain | {"whole": self.whole, "arrays": _arrays(self.chart)}

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any], at: Callable[[int], Mapping[str, Any]]) -> State:
        """Read what `to_plain` wrote and the history gave; `at` finds an earlier step by its place.

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
            InHand.from_plain(read.mapping(plain.get("thing", {}), "thing")),
        )


def picture_name(data: bytes) -> str:
    """What a picture of a project's folder is called: it changes with its content."""
    return f"picture-{hashlib.sha256(data).hexdigest()[:16]}"


def is_picture_name(name: str) -> bool:
    """Whether a picture of a project's folder may be called so."""
    return _PICTURE.fullmatch(name) is not None


def _picture(name: Any) -> str | None:
    """The file's name in the project's folder, and never a way out of it."""
    if name is not None and not is_picture_name(read.text(name, "picture", 100)):
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
    catches = np.frombuffer(_unpacked(arrays["catches"]), "<u2").reshape(-1, 3)
    if (catches >= (rounds, across, len(chart.yarns))).any():
        raise ValueError("a catch lies outside the chart")
    return chart.with_(
        stitches=stitches,
        fixed=_bits(arrays["fixed"], (rounds, across)),
        catches=tuple(Catch(*catch) for catch in catches.tolist()),
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
