"""From a photo of yarn to colours, their uncertainty, and the shelf."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import (
    delta_e76,
    lab_to_linear,
    linear_rgb,
    linear_to_lab,
    parse_hex,
    white_balance,
)
from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import PYTHON, Door, Message, message, render
from pic2chart.model.yarn import Yarn
from pic2chart.picture.decode import Box, Picture, load_picture
from pic2chart.yarns.shade import (
    CLIPPED,
    DIFFERENCES,
    LotMatch,
    Shade,
    check_exposure,
    find_reference,
    match_lots,
    mean_light,
    measure_shade,
)
from pic2chart.yarns.shelf import Shelf, name_key
from pic2chart.yarns.spelling import read_colour

Floats = NDArray[np.float64]

PAPER_L, CARD_L = 95.0, 50.0
"""L* taken for white paper (ISO 12647-2 papers lie about 93 to 96; from memory) and for an 18 % grey
card (116 · 0.18^(1/3) - 16 = 49.5)."""
_KNOWN_TO = {"marked": 1.5, "card": 0.8, "found": 2.5, "given": 0.3}
"""Standard deviation of the reference's L*, by how it is known; guesses, said so in the README."""
CAMERA = 2.0
"""One standard deviation of a telephone camera's own colours, ΔE*ab; from memory, not measured."""
_CAST = 0.12
"""Part of a strong cast that stays in a colour of chroma 50, one standard deviation; measured on
rendered colour cards under lights of 2856 K to 8000 K, and rounded up."""
_ONE_DYE = 1.5 * DIFFERENCES[-1]
"""Colours further apart than this, ΔE*ab, are not two lots of one dye."""
_MIXED = 7.0
"""Spread, ΔE*ab, beyond which a patch holds more than one yarn's colour."""
MOST_PATCHES = 40


@dataclass(frozen=True, slots=True)
class Reference:
    """The white or grey the light was corrected by: its box, how it is known, its known Lab."""

    box: Box
    how: str
    lab: tuple[float, float, float]

    @property
    def words(self) -> Message:
        """Where it is and what it was taken for."""
        found = message("reference-found") if self.how == "found" else message("reference-marked")
        return message("light-corrected", box=str(self.box), how=found, light=self.lab[0])


@dataclass(frozen=True, slots=True)
class PhotoOptions:
    """What to measure: named boxes (none: the middle of the photo), and what corrects the light.

    At most one of `white` and `grey` marks the reference; `known` is its colour as the shelf writes
    colours; `as_lit` leaves the light as it is.
    """

    patches: tuple[tuple[str, Box], ...] = ()
    white: Box | None = None
    grey: Box | None = None
    known: str | None = None
    as_lit: bool = False

    def __post_init__(self) -> None:
        if sum((self.white is not None, self.grey is not None, self.as_lit)) > 1:
            raise SettingError(message("one-reference", options=("white", "grey", "as_lit")))
        if self.known is not None and self.white is None and self.grey is None:
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
    """The shades of a photo, each of the box of its place. `uncertainties`: ΔE*ab within which each
    lies 19 times in 20, None when the light was not corrected. `lots`: pairs of patches near enough
    to be lots of one dye.
    """

    photo: str
    boxes: tuple[Box, ...]
    shades: tuple[Shade, ...]
    uncertainties: tuple[float | None, ...]
    reference: Reference | None
    lots: tuple[LotMatch, ...]
    remarks: tuple[Message, ...]

    def yarns(self) -> tuple[Yarn, ...]:
        """The shades as yarns for a shelf; the note says where the colour comes from."""
        notes = (
            f"colour from {self.photo}"
            + (f", within {uncertainty:.0f} ΔE" if uncertainty else ", as lit")
            for uncertainty in self.uncertainties
        )
        return tuple(
            Yarn(shade.name, shade.colour, note=note)
            for shade, note in zip(self.shades, notes, strict=True)
        )

    def to_dict(self, door: Door = PYTHON) -> dict[str, Any]:
        """Plain data, the remarks in the words of a door."""
        return {
            "photo": self.photo,
            "reference": None
            if self.reference is None
            else {
                "box": str(self.reference.box),
                "how": self.reference.how,
                "lab_d65": [round(v, 2) for v in self.reference.lab],
            },
            "shades": [
                shade.to_dict()
                | {
                    "box": str(box),
                    "doubt_delta_e": None if uncertainty is None else round(uncertainty, 1),
                }
                for shade, box, uncertainty in zip(
                    self.shades, self.boxes, self.uncertainties, strict=True
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


def measure_photo(path: Path, options: PhotoOptions) -> Measured:
    """Measure every patch of a photo.

    Raises InputError when the photo cannot be read, no reference is found, or a patch is
    over-exposed, too dark or outside the photo.
    """
    photo = load_picture(path)
    patches = options.patches or ((path.stem[:60] or "yarn", _middle(photo)),)
    for name, box in patches:
        box.inside(photo.size, f"{path.name}' for the patch '{name}")
    reference = None if options.as_lit else _reference(photo, options)
    balance, light, cast = _balance(photo, reference)
    shades = tuple(measure_shade(name, _pixels(photo, box), balance) for name, box in patches)
    uncertainties = tuple(_uncertainty(shade, reference, light, cast) for shade in shades)
    boxes = tuple(box for _, box in patches)
    remarks = _remarks(photo, options, reference, boxes, shades)
    return Measured(path.name, boxes, shades, uncertainties, reference, _lots(shades), remarks)


def put_on_shelf(measured: Measured, path: Path) -> tuple[str, ...]:
    """Add the shades to a shelf file, made if need be; a yarn of the same name gets the colour.

    Returns a sentence for each yarn. Raises InputError, OutputError; nothing else is changed.
    """
    shelf = Shelf.at(path)
    yarns = {name_key(yarn.name): yarn for yarn in shelf.yarns}
    said = []
    for yarn in measured.yarns():
        old = yarns.get(name_key(yarn.name))
        yarns[name_key(yarn.name)] = replace(old, colour=yarn.colour) if old else yarn
        said.append(
            f"{yarn.name}: {old.colour} becomes {yarn.colour}" if old else f"{yarn.name} added"
        )
    shelf.with_yarns(yarns.values()).write(path)
    return tuple(said)


def _middle(photo: Picture) -> Box:
    width, height = photo.size
    return Box(width // 3, height // 3, max(1, width // 3), max(1, height // 3))


def _pixels(photo: Picture, box: Box) -> NDArray[np.uint8]:
    return photo.rgb[box.y : box.y + box.h, box.x : box.x + box.w]


def _reference(photo: Picture, options: PhotoOptions) -> Reference:
    box, how = options.white or options.grey, "marked" if options.grey is None else "card"
    if box is None:
        found = find_reference(photo.rgb)
        if found is None:
            burnt = float((photo.rgb.max(axis=2) >= CLIPPED).mean())
            raise InputError(
                message(
                    "no-reference-overexposed",
                    file=photo.name,
                    burnt=burnt,
                    options=("white", "as_lit"),
                )
                if burnt > 0.02
                else message("no-reference", file=photo.name, options=("white", "as_lit"))
            )
        return Reference(Box(*found), "found", (PAPER_L, 0.0, 0.0))
    box.inside(photo.size, photo.name)
    if options.known is not None:
        return Reference(box, "given", _known_lab(options.known))
    return Reference(box, how, (CARD_L if how == "card" else PAPER_L, 0.0, 0.0))


def _known_lab(text: str) -> tuple[float, float, float]:
    try:
        L, a, b = linear_to_lab(linear_rgb(np.array(parse_hex(read_colour(text)), np.uint8)))
    except ValueError as error:
        raise SettingError(
            message("known-unreadable", why=str(error), options=("known",))
        ) from error
    return float(L), float(a), float(b)


def _balance(photo: Picture, reference: Reference | None) -> tuple[Floats, float, float]:
    """The matrix that corrects the light, the relative uncertainty of the reference's light, the
    cast.

    The cast is how far from its known colour the reference looks, ΔE*ab at its own lightness.
    """
    if reference is None:
        return np.eye(3), 0.0, 0.0
    pixels = _pixels(photo, reference.box)
    check_exposure(pixels, message("reference-patch", box=str(reference.box)))
    seen, uncertainty = mean_light(pixels)
    known = lab_to_linear(reference.lab)
    as_bright = seen * (known.mean() / max(float(seen.mean()), 1e-6))
    cast = float(delta_e76(linear_to_lab(as_bright), reference.lab))
    return white_balance(seen, known), uncertainty, cast


def _uncertainty(
    shade: Shade, reference: Reference | None, light: float, cast: float
) -> float | None:
    """ΔE*ab within which the colour lies 19 times in 20, of all sources together."""
    if reference is None:
        return None
    L = reference.lab[0]
    step = ((L + _KNOWN_TO[reference.how] + 16) / (L + 16)) ** 3 - 1
    linear = lab_to_linear(shade.lab)
    moved = [float(delta_e76(linear_to_lab(linear * (1 + s)), shade.lab)) for s in (step, light)]
    moved.append(_CAST * cast * math.hypot(*shade.lab[1:]) / 50)
    return 2 * math.sqrt(shade.standard_error**2 + CAMERA**2 + sum(m**2 for m in moved))


def _lots(shades: Sequence[Shade]) -> tuple[LotMatch, ...]:
    """The pairs of patches within reach of the grey scale."""
    found = []
    for one, other in combinations(shades, 2):
        uncertainty = 2 * math.hypot(one.standard_error, other.standard_error)
        match = match_lots(one.name, other.name, one.lab, other.lab, uncertainty)
        if match.delta_e <= _ONE_DYE:
            found.append(match)
    return tuple(found)


def _remarks(
    photo: Picture,
    options: PhotoOptions,
    reference: Reference | None,
    boxes: Sequence[Box],
    shades: Sequence[Shade],
) -> tuple[Message, ...]:
    remarks = []
    if not options.patches:
        remarks.append(message("middle-measured"))
    for shade in shades:
        if shade.spread > _MIXED:
            remarks.append(message("patch-of-many-colours", name=shade.name, spread=shade.spread))
    if reference is None:
        remarks.append(message("light-not-corrected"))
        return tuple(remarks)
    remarks.append(reference.words)
    if reference.how == "found":
        remarks.append(message("reference-doubtful", options=("white",)))
        white = mean_light(_pixels(photo, reference.box))[0].mean()
        if any(mean_light(_pixels(photo, box))[0].mean() > 1.05 * white for box in boxes):
            remarks.append(message("yarn-brighter-than-reference"))
    return tuple(remarks)
