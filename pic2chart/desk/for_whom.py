"""What the page asks of a garment: its sizes in words with their measures, and which fields come first."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from pic2chart.desk.form import field_of
from pic2chart.garment.chests import CHESTS
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.sizes import FEET, HANDS, HEADS, Body

_BODIES: Mapping[str, tuple[str, Mapping[str, Body]]] = {
    "mitten": ("hand", HANDS),
    "hat": ("head", HEADS),
    "band": ("head", HEADS),
    "cowl": ("head", HEADS),
    "sock": ("foot", FEET),
}
"""The part of the body that a kind is for, and its sizes."""
_CHESTS = frozenset({"yoke", "jumper"})
_NUMBERS = {"hand": "Glove size", "foot": "Shoe size (EU)", "chest": "Chest"}
"""What a size that is a number is, by the part of the body."""
_PLAINLY = {
    "newborn": "Newborn",
    "child": "Child, 4 years",
    "adult": "Grown-up",
    "large": "Grown-up, large",
}
_FIRST = ("size", "width", "height", "place", "repeat")
"""Options that are shown at once; the others are folded away."""
_OWN = ("girth", "length", "depth", "head", "chest")
"""Measures of one's own, behind a fold of their own."""


def garment_form() -> list[dict[str, Any]]:
    """Every kind of garment with its sizes and its fields."""
    return [
        {
            "name": kind.name,
            "description": kind.description,
            "noun": kind.noun,
            "first": kind.first,
            "sizes": _sizes(kind.name),
            "fields": [
                _field(f.name, field_of(f.name, f.default, f.metadata, kind.label(f.name)))
                for f in fields(kind.options)
                if f.name not in kind.files
            ],
        }
        for kind in GARMENTS.values()
    ]


def _field(name: str, field: dict[str, Any]) -> dict[str, Any]:
    """A field with where it stands; what is shown at once speaks for itself."""
    if name in _FIRST:
        return field | {"rank": "first", "help": ""}
    return field | {"rank": "own" if name in _OWN else "more"}


def _sizes(kind: str) -> list[dict[str, Any]]:
    """The sizes there are for a kind, in words, each with the measure it stands for; the numbers that not
    everybody knows of himself come last.
    """
    if kind in _CHESTS:
        return [
            {
                "value": name,
                "label": size_words(name, "chest"),
                "measures": f"chest {wearer.chest:.0f} cm round",
            }
            for name, wearer in CHESTS.items()
        ]
    part, bodies = _BODIES.get(kind, ("", {}))
    return [
        {
            "value": name,
            "label": size_words(name, part),
            "measures": f"{part} {body.girth:.0f} cm round, {body.length:.0f} cm long",
        }
        for name, body in sorted(bodies.items(), key=lambda size: size[0].isdecimal())
    ]


def size_words(name: str, part: str) -> str:
    """'Child, 4 to 6 years' for '4-6y', 'Glove size 7' for '7' of a hand, 'Woman, M' for 'woman-m'."""
    if name in _PLAINLY:
        return _PLAINLY[name]
    if years := re.fullmatch(r"(\d+)-(\d+)y", name):
        return f"Child, {years[1]} to {years[2]} years"
    if years := re.fullmatch(r"(\d+)y", name):
        return f"Child, {years[1]} year{'' if years[1] == '1' else 's'}"
    if months := re.fullmatch(r"(\d+)mo", name):
        return f"Baby, {months[1]} months"
    if letters := re.fullmatch(r"(woman|man)-(\w+)", name):
        return f"{letters[1].capitalize()}, {letters[2].upper()}"
    return f"{_NUMBERS.get(part, 'Size')} {name}" if name.isdecimal() else name.capitalize()
