"""The table of garments: one line a kind, and a folder of that name beside this file.

Each folder's `__init__` declares its `KIND`. They are named here, not found by listing the folder,
since the order is the one in which they are shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.garment.kind import Kind

_NAMES = (
    "band",
    "hat",
    "mitten",
    "sock",
    "cowl",
    "scarf",
    "yoke",
    "jumper",
    "cushion",
    "panel",
)

GARMENTS: Mapping[str, Kind] = {
    name: import_module(f"pic2chart.garment.kinds.{name}").KIND for name in _NAMES
}
"""Every kind by name, in the order they are shown."""


def kind_named(name: str) -> Kind:
    """The kind of that name. Raises SettingError, naming those there are."""
    if name not in GARMENTS:
        raise SettingError(message("no-such-garment", kind=name[:40], known=tuple(GARMENTS)))
    return GARMENTS[name]
