"""What settings may come from a page or from another desk's file, and what they may not name."""

from __future__ import annotations

from typing import Any

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.desk.project import SHELF

MAX_TEXT = 300
MOST_MARKS = 64
"""Marks of a subject, both kinds together: more say nothing new, and each costs time."""
_PLACES = set("0123456789, ")


def trusted(settings: dict[str, Any]) -> dict[str, Any]:
    """Settings from the page: no path to a shelf or a mask, no text that cannot be shown, and no more
    marks than are looked through quickly.
    """
    if settings.get("shelf") not in (None, SHELF):
        raise SettingError(message("desk-shelf-only"))
    which = settings.get("subject", "auto")
    if isinstance(which, str) and which not in ("auto", "none") and not set(which) <= _PLACES:
        raise SettingError(message("desk-no-mask-file"))
    marks = [settings.get(name) for name in ("keep", "leave")]
    if sum(len(some) for some in marks if isinstance(some, list)) > MOST_MARKS:
        raise SettingError(message("too-many-marks", most=MOST_MARKS))
    for value in settings.values():
        for text in value if isinstance(value, list) else [value]:
            if isinstance(text, str) and not (len(text) <= MAX_TEXT and text.isprintable()):
                raise SettingError(message("setting-not-printable"))
    return settings
