"""Whose a picture is: said in recipe and side file, or by the picture itself (EXIF, IPTC, XMP)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Self


@dataclass(frozen=True, slots=True)
class Rights:
    """Who made what a motif is of, who is to be named, under which licence it may be used, where it
    is from, and what else to know; '' where nothing is said."""

    author: str = ""
    credit: str = ""
    licence: str = ""
    source: str = ""
    notes: str = ""

    @classmethod
    def of_list(cls, values: Sequence[str]) -> Self:
        """From what `as_list` gives; an empty list says nothing."""
        return cls(*values[: len(fields(cls))])

    def as_list(self) -> list[str]:
        """The five in order, an empty list when nothing is said."""
        values = [getattr(self, f.name) for f in fields(self)]
        return values if any(values) else []

    def said(self) -> dict[str, str]:
        """Those of which something is said, by name."""
        pairs = ((f.name, getattr(self, f.name)) for f in fields(self))
        return {name: value for name, value in pairs if value}

    def over(self, other: Rights) -> Rights:
        """What is said here, and where nothing is, what is said there."""
        return Rights(**(other.said() | self.said()))
