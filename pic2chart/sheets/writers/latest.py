"""What a writer made of the latest paths, for marks that are drawn along the same ones."""

from __future__ import annotations

from typing import Generic, TypeVar

from pic2chart.sheets.marks.page import Bundle, Point

_MOST = 16
"""Paths that are remembered: marks that share theirs stand close together in a sheet."""

_Kept = TypeVar("_Kept")
_Paths = tuple[tuple[Point, ...], ...] | Bundle


class Latest(Generic[_Kept]):
    """By the paths themselves, which are held as long as they are remembered."""

    def __init__(self) -> None:
        self._kept: dict[int, tuple[_Paths, _Kept]] = {}

    def get(self, paths: _Paths) -> _Kept | None:
        """What was made of these very paths; None when that is not known."""
        found = self._kept.get(id(paths))
        return None if found is None else found[1]

    def keep(self, paths: _Paths, made: _Kept) -> _Kept:
        """Remember it, and forget the oldest."""
        if len(self._kept) == _MOST:
            del self._kept[next(iter(self._kept))]
        self._kept[id(paths)] = paths, made
        return made
