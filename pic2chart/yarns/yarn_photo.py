"""From a photo of yarn to colours, their uncertainty, and the shelf."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import linear_rgb, linear_to_lab, mixed, parse_hex
from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import PYTHON, Door, Message, message, render
from pic2chart.model.yarn import Yarn
from pic2chart.picture.decode import Box, Picture, load_picture
from pic2chart.yarns.camera import Correction, Known, correction_of, winding_sd
from pic2chart.yarns.shade import (
    CLIPPED,
    DIFFERENCES,
    LotMatch,
    Shade,
    check_exposure,
    fibre_factor,
    find_reference,
    is_even,
    lit_light,
    match_lots,
    mean_light,
    measure_shade,
)
from pic2chart.yarns.shelf import Shelf, name_key
from pic2chart.yarns.spelling import read_colour
from pic2chart.yarns.stock_log import change_shelf

Floats = NDArray[np.float64]

PAPER_L, CARD_L = 94.5, 50.0
"""L* taken for white paper (ISO 12647-2 papers lie about 92 to 97; from memory) and for an 18% grey
card (116 · 0.18^(1/3) - 16 = 49.5)."""
_KNOWN_TO = {"marked": 1.5, "card": 0.8, "found": 2.5, "given": 0.4}
"""Standard deviation of the reference's L*, by how it is known: paper by the range above, the rest by
guess."""
_ONE_DYE = 1.5 * DIFFERENCES[-1]
"""Colours further apart than this, ΔE*ab, are not two lots of one dye."""
_MIXED = 7.0
"""Spread, ΔE*ab, beyond which a patch holds more than one yarn's colour."""
MOST_PATCHES = 40


@dataclass(frozen=True, slots=True)
class Reference:
    """A patch the light was corrected by: its box, how it is known, its known Lab and one standard
    deviation of that L*."""

    box: Box
    how: str
    lab: tuple[float, float, float]
    sd_L: float

    @property
    def words(self) -> Message:
        """Where it is and what it was taken for."""
        found = message("reference-found") if self.how == "found" else message("reference-marked")
        return message("light-corrected", box=str(self.box), how=found, light=self.lab[0])


@dataclass(frozen=True, slots=True)
class PhotoOptions:
    """What to measure: named boxes (none: the middle of the photo), and what corrects the light.

    `white`, `grey`: where white paper and an 18% grey card lie, one or both; `known`: the colour of
    the first of them as the shelf writes colours. `knowns`: further patches of known colour, each a
    colour or the name of a yarn on the shelf, and its box: a card of greys, or yarns one knows. All
    together correct the light. `as_lit` leaves the light as it is. `several`: take each patch as a
    yarn of several colours, where it holds several.
    """

    patches: tuple[tuple[str, Box], ...] = ()
    white: Box | None = None
    grey: Box | None = None
    known: str | None = None
    as_lit: bool = False
    knowns: tuple[tuple[str, Box], ...] = ()
    several: bool = False

    def __post_init__(self) -> None:
        marked = self.white is not None or self.grey is not None
        if self.as_lit and (marked or self.knowns):
            raise SettingError(
                message("as-lit-alone", options=("white", "grey", "knowns", "as_lit"))
            )
        if self.known is not None and not marked:
            raise SettingError(message("known-needs-patch", options=("known", "white", "grey")))
        if len(self.patches) > MOST_PATCHES:
            raise SettingError(
                message("too-many-patches", patches=len(self.patches), most=MOST_PATCHES)
            )
        names = [name_key(name) for name, _ in self.patches]
        for name, _ in self.patches:
            if names.count(name_key(name)) > 1:
                raise SettingError(message("two-patches-of-a-name", name=name))


@dataclass(frozen=True, slots=True)
class Measured:
    """The shades of a photo, each of the box of its place. `uncertainties`: ΔE*ab, and `within_L` L*
    alone, within which each lies 19 times in 20, None when the light was not corrected. `references`:
    what it was corrected by. `several`: the shades are yarns of several colours. `lots`: pairs of patches near enough
    to be lots of one dye.
    """

    photo: str
    boxes: tuple[Box, ...]
    shades: tuple[Shade, ...]
    uncertainties: tuple[float | None, ...]
    within_L: tuple[float | None, ...]
    references: tuple[Reference, ...]
    lots: tuple[LotMatch, ...]
    remarks: tuple[Message, ...]
    several: bool = False

    def yarns(self) -> tuple[Yarn, ...]:
        """The shades as yarns for a shelf; the note says where the colour comes from."""
        return tuple(
            Yarn(
                shade.name,
                mixed(shades)
                if (shades := shade.several if self.several else ())
                else shade.colour,
                note=f"colour from {self.photo}"
                + (", as lit" if uncertainty is None else f", within {uncertainty:.0f} ΔE"),
                within=None if light is None else round(light, 1),
                shades=shades,
            )
            for shade, uncertainty, light in zip(
                self.shades, self.uncertainties, self.within_L, strict=True
            )
        )

    def to_dict(self, door: Door = PYTHON) -> dict[str, Any]:
        """Plain data, the remarks in the words of a door; `reference` is the first of `references`."""
        references = [
            {"box": str(one.box), "how": one.how, "lab_d65": [round(v, 2) for v in one.lab]}
            for one in self.references
        ]
        return {
            "photo": self.photo,
            "reference": references[0] if references else None,
            "references": references,
            "shades": [
                shade.to_dict()
                | {
                    "box": str(box),
                    "doubt_delta_e": None if uncertainty is None else round(uncertainty, 1),
                    "doubt_L": None if light is None else round(light, 1),
                }
                for shade, box, uncertainty, light in zip(
                    self.shades, self.boxes, self.uncertainties, self.within_L, strict=True
                )
            ],
            "lots": [lot.to_dict() for lot in self.lots],
            "remarks": [render(remark, door) for remark in self.remarks],
        }


def parse_patch(text: str) -> tuple[str, Box]:
    """Read 'name=x,y,width,height', split at the last '='."""
    name, equals, box = text.rpartition("=")
    if not equals:
        raise SettingError(message("patch-unreadable", text=text[:80]))
    return Yarn(name, "#000000").name, Box.parse(box)


def parse_known(text: str) -> tuple[str, Box]:
    """Read 'colour=x,y,width,height', split at the last '='; the colour may be a yarn's name."""
    colour, equals, box = text.rpartition("=")
    if not equals or not colour.strip():
        raise SettingError(message("patch-unreadable", text=text[:80]))
    return colour.strip(), Box.parse(box)


def measure_photo(path: Path, options: PhotoOptions, shelf: Sequence[Yarn] = ()) -> Measured:
    """Measure every patch of a photo; `shelf`: yarns that known patches may be called by.

    Raises InputError when the photo cannot be read, no reference is found, or a patch is
    over-exposed, too dark or outside the photo.
    """
    photo = load_picture(path)
    patches = options.patches or ((path.stem[:60] or "yarn", _middle(photo)),)
    for name, box in patches:
        box.inside(photo.size, f"{path.name}' for the patch '{name}")
    references = () if options.as_lit else _references(photo, options, shelf)
    correction = _correction(photo, references)
    light = _as_it_is if correction is None else correction.light
    shades = tuple(measure_shade(name, _pixels(photo, box), light) for name, box in patches)
    within = [
        (None, None) if correction is None else correction.within(one.lab, one.standard_error)
        for one in shades
    ]
    boxes = tuple(box for _, box in patches)
    remarks = _remarks(photo, options, references, boxes, shades)
    return Measured(
        path.name,
        boxes,
        shades,
        tuple(delta_e for delta_e, _ in within),
        tuple(light for _, light in within),
        references,
        _lots(shades),
        remarks,
        options.several,
    )


def _as_it_is(linear: Floats) -> Floats:
    return linear


def put_on_shelf(measured: Measured, path: Path, day: str | None = None) -> tuple[str, ...]:
    """Add the shades to a shelf file, made if need be; a yarn of the same name gets the colour. The
    change is logged, with the `day` where it is given.

    Returns a sentence for each yarn. Raises InputError, OutputError; nothing else is changed.
    """
    shelf, new = Shelf.at(path), measured.yarns()
    waiting = {name_key(one.name) for one in shelf.uncoloured}
    yarns, said = _in_place(shelf, {name_key(yarn.name) for yarn in new}), []
    for yarn in new:
        key = name_key(yarn.name)
        old = yarns.get(key)
        if old is None:
            yarns[key] = yarn
            said.append(f"{yarn.name} added")
            continue
        yarns[key] = replace(old, colour=yarn.colour, shades=yarn.shades, within=yarn.within)
        before = "no colour" if key in waiting else old.colour
        said.append(f"{yarn.name}: {before} becomes {yarn.colour}")
    change_shelf(path, shelf, tuple(yarns.values()), f"colours from {measured.photo}", day)
    return tuple(said)


def _in_place(shelf: Shelf, named: Collection[str]) -> dict[str, Yarn]:
    """The shelf's yarns by name, and where they stand in the file those `named` that have no colour."""
    waiting: dict[str | None, list[Yarn]] = {}
    for one in shelf.uncoloured:
        if name_key(one.name) in named:
            waiting.setdefault(one.before, []).append(one.in_colour("#808080"))
    rows = [
        row for yarn in shelf.yarns for row in (*waiting.get(yarn.name, ()), yarn)
    ] + waiting.get(None, [])
    return {name_key(yarn.name): yarn for yarn in rows}


def _middle(photo: Picture) -> Box:
    width, height = photo.size
    return Box(width // 3, height // 3, max(1, width // 3), max(1, height // 3))


def _pixels(photo: Picture, box: Box) -> NDArray[np.uint8]:
    return photo.rgb[box.y : box.y + box.h, box.x : box.x + box.w]


def _references(
    photo: Picture, options: PhotoOptions, shelf: Sequence[Yarn]
) -> tuple[Reference, ...]:
    """All patches of known colour, found if none is marked. Raises InputError, SettingError."""
    found = []
    known = None if options.known is None else _known_lab(options.known)
    for box, how, L in ((options.white, "marked", PAPER_L), (options.grey, "card", CARD_L)):
        if box is None:
            continue
        lab, how = (known, "given") if known is not None else ((L, 0.0, 0.0), how)
        known = None  # it is the colour of the first of them
        found.append(Reference(box, how, lab, _KNOWN_TO[how]))
    by_name = {name_key(yarn.name): yarn for yarn in shelf}
    for text, box in options.knowns:
        yarn = by_name.get(name_key(text))
        lab = _known_lab(text if yarn is None else yarn.colour)
        sd = _KNOWN_TO["given"] if yarn is None else (yarn.within or 2.0) / 2
        found.append(Reference(box, "given", lab, sd))
    for one in found:
        one.box.inside(photo.size, photo.name)
    return tuple(found) or (_found_reference(photo),)


def _found_reference(photo: Picture) -> Reference:
    found = find_reference(photo.rgb)
    if found is not None:
        return Reference(Box(*found), "found", (PAPER_L, 0.0, 0.0), _KNOWN_TO["found"])
    burnt = float((photo.rgb.max(axis=2) >= CLIPPED).mean())
    raise InputError(
        message(
            "no-reference-overexposed", file=photo.name, burnt=burnt, options=("white", "as_lit")
        )
        if burnt > 0.02
        else message("no-reference", file=photo.name, options=("white", "as_lit"))
    )


def _known_lab(text: str) -> tuple[float, float, float]:
    try:
        L, a, b = linear_to_lab(linear_rgb(np.array(parse_hex(read_colour(text)), np.uint8)))
    except ValueError as error:
        raise SettingError(
            message("known-unreadable", why=str(error), options=("known",))
        ) from error
    return float(L), float(a), float(b)


def _correction(photo: Picture, references: Sequence[Reference]) -> Correction | None:
    """What the references say of light and camera; None without any. Raises InputError."""
    knowns = []
    for one in references:
        pixels = _pixels(photo, one.box)
        check_exposure(pixels, message("reference-patch", box=str(one.box)))
        linear = linear_rgb(pixels)
        even = is_even(linear)
        light = mean_light(pixels)[0]
        if not even:
            light = lit_light(linear) * fibre_factor(linear)
        knowns.append(Known(light, one.lab, one.sd_L, even))
    return correction_of(knowns) if knowns else None


def _lots(shades: Sequence[Shade]) -> tuple[LotMatch, ...]:
    """The pairs of patches within reach of the grey scale."""
    found = []
    for one, other in combinations(shades, 2):
        errors = (one.standard_error, other.standard_error)
        uncertainty = 2 * math.hypot(*errors, *(winding_sd(shade.lab[0]) for shade in (one, other)))
        match = match_lots(one.name, other.name, one.lab, other.lab, uncertainty)
        if match.delta_e <= _ONE_DYE:
            found.append(match)
    return tuple(found)


def _remarks(
    photo: Picture,
    options: PhotoOptions,
    references: Sequence[Reference],
    boxes: Sequence[Box],
    shades: Sequence[Shade],
) -> tuple[Message, ...]:
    remarks = []
    if not options.patches:
        remarks.append(message("middle-measured"))
    for shade in shades:
        if shade.several:
            count = len(shade.several)
            remarks.append(
                message("yarn-of-several-colours", name=shade.name, colours=count)
                if options.several
                else message(
                    "patch-of-several-colours",
                    name=shade.name,
                    colours=count,
                    options=("several",),
                )
            )
    if not references:
        return (*remarks, message("light-not-corrected"))
    remarks += [one.words for one in references]
    if references[0].how == "found":
        remarks.append(message("reference-uncertain", options=("white",)))
        white = mean_light(_pixels(photo, references[0].box))[0].mean()
        if any(mean_light(_pixels(photo, box))[0].mean() > 1.05 * white for box in boxes):
            remarks.append(message("yarn-brighter-than-reference"))
    if len(references) == 1:
        remarks.append(message("one-reference", options=("grey", "knowns")))
    return tuple(remarks)
