"""Titles of what is made from a file, after its name."""

from __future__ import annotations

import re
from pathlib import PurePath

from pic2chart.model.keys import clean_title

_DEVICES = "img image dsc dscn dscf dji gopr mvimg pxl pict p fullsizerender"
_PROGRAMS = "wa whatsapp signal photo screenshot scan at am pm edited received jpeg jpg"
_CAMERA = frozenset([*_DEVICES.split(), *_PROGRAMS.split()])
"""Words of which cameras, phones and scanners make names, beside numbers."""
_CAMERAS_OWN = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.IGNORECASE)
_LONG_NUMBER = 8
"""Digits in a name of digits alone from which it is a date, a time or a counter and no motif's number."""
_TOLD = 4
"""Digits of a camera's number that the title keeps, so that photos are told apart."""


def title_of_file(name: str) -> str:
    """The title of what is made from a file, after its name or path: 'red fox' of 'red_fox.png'.

    A name that a camera gave is nobody's title: 'photo 1234' of 'IMG_1234.jpg'.
    """
    stem = PurePath(name).stem.removesuffix(".chart")
    words = [word.lower() for word in re.findall(r"[^\W\d_]+", stem)]
    numbers = re.findall(r"\d+", stem)
    long = sum(map(len, numbers)) >= _LONG_NUMBER
    if _CAMERAS_OWN.fullmatch(stem):
        return f"photo {stem[:4].lower()}"
    if _CAMERA.issuperset(words) and (numbers if words else long):
        told = [number for number in numbers if len(number) >= _TOLD] or numbers
        return f"photo {told[-1][-_TOLD:]}"
    return clean_title(stem.replace("_", " "))
