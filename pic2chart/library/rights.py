"""Whose a picture is: said in recipe and side file, or by the picture itself (EXIF, IPTC, XMP)."""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, fields
from html import escape
from pathlib import Path
from typing import Any, Self

from pic2chart.core.confined import Parts, confined
from pic2chart.core.errors import InputError
from pic2chart.core.files import read_bytes


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

    @classmethod
    def names(cls) -> tuple[str, ...]:
        """The five names."""
        return tuple(f.name for f in fields(cls))

    def said(self) -> dict[str, str]:
        """Those of which something is said, by name."""
        pairs = ((f.name, getattr(self, f.name)) for f in fields(self))
        return {name: value for name, value in pairs if value}

    def over(self, other: Rights) -> Rights:
        """What is said here, and where nothing is, what is said there."""
        return Rights(**(other.said() | self.said()))


# What a picture itself says, read with Pillow's own readers of EXIF, IPTC and XMP.

_LONGEST = 2_000
"""Letters kept of one value."""
_EXIF = {"author": (0x013B,), "licence": (0x8298,), "notes": (0x010E,)}
"""Artist, Copyright, ImageDescription (EXIF 2.32)."""
_IPTC = {
    "author": ((2, 80),),
    "credit": ((2, 110),),
    "licence": ((2, 116),),
    "source": ((2, 115),),
    "notes": ((2, 40), (2, 120)),
}
"""By-line; credit; copyright notice; source; special instructions, caption (IPTC-IIM 4.2)."""
_XMP = {
    "author": ("creator",),
    "credit": ("Credit",),
    "licence": ("UsageTerms", "license", "rights", "WebStatement"),
    "source": ("Source", "source"),
    "notes": ("Instructions", "description"),
}
"""By their names in Dublin Core, Photoshop's, Creative Commons' and XMP's rights schemas."""


def rights_of_picture(path: Path) -> Rights:
    """What a picture says of its rights; XMP goes over IPTC, and that over EXIF. Whatever cannot be
    read says nothing: the picture is judged elsewhere."""
    from pic2chart.picture.decode import MAX_BYTES

    try:
        data = read_bytes(path, MAX_BYTES, "picture")
        return Rights(**confined(rights_parts, path, data)[0])
    except (InputError, TypeError):  # TypeError: other names than those five
        return Rights()


def rights_parts(path: Path, data: bytes) -> Parts:
    """The same as plain data."""
    from pic2chart.picture.decode import opened

    found = Rights()
    with suppress(Exception), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with opened(data) as image:
            for reader in (_from_xmp, _from_iptc, _from_exif):
                with suppress(Exception):  # damaged notes of a good picture
                    found = found.over(reader(image))
    return asdict(found), ()


def _from_exif(image: Any) -> Rights:
    exif = image.getexif()
    return _first({name: [exif.get(tag) for tag in tags] for name, tags in _EXIF.items()})


def _from_iptc(image: Any) -> Rights:
    from PIL import IptcImagePlugin

    info = IptcImagePlugin.getiptcinfo(image) or {}
    return _first({name: [info.get(tag) for tag in tags] for name, tags in _IPTC.items()})


def _from_xmp(image: Any) -> Rights:
    import defusedxml  # noqa: F401  (Pillow reads XMP with it, and without it says nothing)

    known: dict[str, list[Any]] = {}
    for name, value in _leaves(image.getxmp()):
        known.setdefault(name, []).append(value)
    return _first({name: [known.get(n) for n in names] for name, names in _XMP.items()})


def _leaves(tree: Any, name: str = "") -> Iterator[tuple[str, str]]:
    """(name, words) of everything in an XMP tree; lists and languages go by the name above them."""
    if isinstance(tree, Mapping):
        for key, value in tree.items():
            inner = key in ("Seq", "Bag", "Alt", "li", "text", "resource")
            if key != "lang":
                yield from _leaves(value, name if inner else key)
    elif isinstance(tree, list):
        for value in tree:
            yield from _leaves(value, name)
    elif isinstance(tree, str):
        yield name, tree


def _first(candidates: Mapping[str, Sequence[Any]]) -> Rights:
    """Of each name the first value that says something."""
    chosen = {}
    for name, values in candidates.items():
        texts = (_text(value) for value in values)
        chosen[name] = next((text for text in texts if text), "")
    return Rights(**chosen)


def _text(value: Any) -> str:
    if isinstance(value, list | tuple):
        return ", ".join(dict.fromkeys(text for part in value if (text := _text(part))))
    if isinstance(value, bytes):
        try:
            value = value.decode("utf-8")
        except UnicodeDecodeError:
            value = value.decode("latin-1")
    if not isinstance(value, str):
        return ""
    plain = "".join(c if c.isprintable() else " " for c in value)
    return " ".join(plain.split())[:_LONGEST]


def svg_with_rights(svg: str, title: str, rights: Rights) -> str:
    """An SVG drawing with its rights as metadata (RDF in Dublin Core's terms)."""
    names = {
        "author": "dc:creator",
        "credit": "dc:contributor",
        "licence": "dc:rights",
        "source": "dc:source",
        "notes": "dc:description",
    }
    said = rights.said()
    if not said:
        return svg
    lines = [f"<{names[name]}>{escape(value)}</{names[name]}>" for name, value in said.items()]
    metadata = (
        '<metadata><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" '
        'xmlns:dc="http://purl.org/dc/elements/1.1/"><rdf:Description rdf:about="">'
        f"<dc:title>{escape(title)}</dc:title>{''.join(lines)}"
        "</rdf:Description></rdf:RDF></metadata>\n"
    )
    at = svg.index(">", svg.index("<svg")) + 1
    return f"{svg[:at]}\n{metadata}{svg[at:].lstrip()}"
