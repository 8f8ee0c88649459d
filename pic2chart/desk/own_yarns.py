"""The yarns one has, kept on the desk: added and changed one by one, photographed, offered as sets.

They lie in the desk's shelf, a CSV file, which can be put there and taken away as a whole; columns of
one's own and the spelling of what is not changed stay.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np

from pic2chart.core.colour import lightness, srgb_to_lab
from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.desk.form import worded
from pic2chart.desk.page_data import grey
from pic2chart.desk.store import with_photo, write_shelf
from pic2chart.model.yarn import Yarn
from pic2chart.picture.decode import Box
from pic2chart.yarns.classes import CLASSES
from pic2chart.yarns.sets import best_yarn_sets
from pic2chart.yarns.shelf import Shelf, name_key
from pic2chart.yarns.spelling import COLUMNS
from pic2chart.yarns.yarn_photo import PhotoOptions, measure_photo

_SHOWN = frozenset(
    {"middle-measured", "light-corrected", "reference-doubtful", "reference-uncertain"}
)
"""What the page shows by frames on the photo, in place of words with numbers."""
_NOT_HERE = frozenset({"one-reference"})
"""What could be done about only by the command."""
_MOST_SEARCHED = 200
"""Yarns among which sets are looked for at once; of a larger shelf the first so many."""
_SEVERAL = "patch-of-several-colours"
_SETS, _MET = 5, 40
"""Sets that are offered, and the best ones they are taken from."""


def own_yarns(shelf: Path) -> dict[str, Any]:
    """All yarns with what their labels say, and the classes of weight to choose from. Raises InputError."""
    yarns = Shelf.at(shelf).yarns
    light = lightness(np.array([y.rgb for y in yarns], np.uint8).reshape(-1, 3)).tolist()
    return {
        "yarns": [
            {name: getattr(yarn, name) for name in COLUMNS} | {"L": round(L, 1), "grey": grey(L)}
            for yarn, L in zip(yarns, light, strict=True)
        ],
        "weights": [one.name for one in CLASSES],
    }


def put_yarn(shelf: Path, was: str | None, facts: Mapping[str, Any]) -> None:
    """Add a yarn, or give the one called `was` these facts; the others of its label stay.

    Raises SettingError for facts no yarn has, or a name that is taken; InputError, OutputError for the
    shelf.
    """
    known = Shelf.at(shelf)
    yarns = list(known.yarns)
    place = None if was is None else _place(yarns, was)
    old = {} if place is None else {f.name: getattr(yarns[place], f.name) for f in fields(Yarn)}
    yarn = Yarn(**(old | {name: value for name, value in facts.items() if name in COLUMNS}))
    if place is None:
        yarns.append(yarn)
    else:
        known = known.renamed(yarns[place].name, yarn.name)
        yarns[place] = yarn
    write_shelf(shelf, known.with_yarns(yarns).to_bytes(shelf))


def take_away(shelf: Path, name: str) -> None:
    """Take a yarn off the shelf. Raises SettingError when there is none of that name."""
    known = Shelf.at(shelf)
    yarns = list(known.yarns)
    del yarns[_place(yarns, name)]
    write_shelf(shelf, known.with_yarns(yarns).to_bytes(shelf))


def measured(
    data: bytes, root: Path, yarn: str | None, white: str | None, as_lit: bool
) -> dict[str, Any]:
    """The colour of a yarn in a photo: in the box `yarn`, 'x,y,width,height' in pixels of the upright
    photo, or in its middle; by the white paper in the box `white`, or found. Nothing is kept.

    Raises InputError where the photo shows no such thing, SettingError for what is no box.
    """
    patches = () if yarn is None else (("yarn", Box.parse(yarn)),)
    paper = None if white is None or as_lit else Box.parse(white)
    options = PhotoOptions(patches, white=paper, as_lit=as_lit)
    found = with_photo(data, root, lambda path: measure_photo(path, options))
    (shade,), (uncertainty,), (box,) = found.shades, found.uncertainties, found.boxes
    return {
        "colour": shade.colour,
        "within": None if uncertainty is None else round(uncertainty, 1),
        "box": [box.x, box.y, box.w, box.h],
        "white": _corners(found.references[0].box) if found.references else None,
        "remarks": [
            worded(message("desk-several-colours") if one.code == _SEVERAL else one)
            for one in found.remarks
            if one.code not in _SHOWN | _NOT_HERE
        ],
    }


def sets_that_read(shelf: Path, count: int, gap: float) -> dict[str, Any]:
    """Sets of so many yarns of which every two differ by `gap` in L*, best first and unlike each other.

    Raises SettingError where there are too few yarns.
    """
    yarns = Shelf.at(shelf).yarns[:_MOST_SEARCHED]
    if len(yarns) < count:
        raise SettingError(message("too-few-own-yarns", yarns=len(yarns), count=count))
    lab = srgb_to_lab(np.array([yarn.rgb for yarn in yarns], np.uint8))
    found = best_yarn_sets(lab, count, gap, keep=_MET).sets
    return {
        "sets": [
            [{"name": yarns[i].name, "colour": yarns[i].colour} for i in members]
            for members in _unlike(found)
        ]
    }


def _unlike(found: Sequence[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Of the best sets those that have at most all but two yarns of a better one, then the rest."""
    chosen: list[tuple[int, ...]] = []
    for members in found:
        if all(len(set(members) & set(other)) <= len(members) - 2 for other in chosen):
            chosen.append(members)
    return [*chosen, *(members for members in found if members not in chosen)][:_SETS]


def _place(yarns: Sequence[Yarn], name: str) -> int:
    for place, yarn in enumerate(yarns):
        if name_key(yarn.name) == name_key(name):
            return place
    raise SettingError(message("no-such-own-yarn", name=name[:60]))


def _corners(box: Box) -> list[int]:
    return [box.x, box.y, box.w, box.h]
