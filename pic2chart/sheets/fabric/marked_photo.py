"""A photo of yarn with every patch that was measured framed and numbered, and its colour beside it.

So that one sees at once whether a patch holds only the yarn, and whether what was taken for white is.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import astuple, dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from pic2chart.core.files import file_stem
from pic2chart.model.wording import many
from pic2chart.picture.decode import load_picture
from pic2chart.sheets.marks.page import Boxes, Label, Mark, Raster, Rect, Sheet, Style, clean, fit
from pic2chart.yarns.shade import Shade
from pic2chart.yarns.yarn_photo import Measured

_MARGIN, _WIDE, _TALL, _MOST_PX = 10.0, 150.0, 190.0, 1200
_ROW, _CHIP = 11.0, (16.0, 9.0)
_LIGHT, _DARK = Style(stroke="#ffffff", width=0.9), Style(stroke="#1c1c1c", width=0.35)
_PAPER = Style(stroke="#0a7d8c", width=0.35)


@dataclass(frozen=True, slots=True)
class Patch:
    """A patch of a photo: its box (left, top, width, height in pixels), what it is, two lines of facts,
    and the colour that was measured ('#rrggbb'), None for the patch the light was corrected by."""

    box: tuple[int, int, int, int]
    name: str
    facts: tuple[str, str]
    colour: str | None


def marked_photo(pixels: NDArray[np.uint8], patches: Sequence[Patch], title: str) -> Sheet:
    """The sheet. `pixels`: uint8 sRGB [H, W, 3]."""
    high, wide = pixels.shape[:2]
    scale = min(_WIDE / wide, _TALL / high)
    photo = (_MARGIN, _MARGIN + 9.0, wide * scale, high * scale)
    foot = photo[1] + photo[3] + 5
    marks: list[Mark] = [
        Label(
            (_MARGIN, _MARGIN + 5),
            fit(clean(title), 5.2, _WIDE, bold=True),
            5.2,
            bold=True,
            name="title",
        ),
        Raster(photo, _png(pixels), clean(title), "photo"),
    ]
    for number, patch in enumerate(patches, 1):
        marks += _frame(patch, number, photo, scale)
        marks += _row(patch, number, foot + (number - 1) * _ROW)
    height = foot + len(patches) * _ROW + _MARGIN
    words = f"{many(len(patches), 'patch')} marked on the photo, with the colours measured."
    return Sheet(_WIDE + 2 * _MARGIN, height, title, words, tuple(marks))


def _png(pixels: NDArray[np.uint8]) -> bytes:
    image = Image.fromarray(np.ascontiguousarray(pixels))
    image.thumbnail((_MOST_PX, _MOST_PX))
    data = io.BytesIO()
    image.save(data, "PNG")
    return data.getvalue()


def _frame(patch: Patch, number: int, photo: Rect, scale: float) -> Iterator[Mark]:
    """A dark line in a light one, which shows on any yarn, and the number in the patch's corner."""
    x, y, w, h = patch.box
    box = (photo[0] + x * scale, photo[1] + y * scale, w * scale, h * scale)
    yield Boxes((box,), _LIGHT, "ground")
    yield Boxes((box,), _PAPER if patch.colour is None else _DARK, "patch")
    width = 2.4 + 1.9 * len(str(number))
    tag = (box[0], box[1], width, 4.4)
    yield Boxes((tag,), Style(fill="#ffffff", stroke="#1c1c1c", width=0.2), "tag")
    at = (box[0] + width / 2, box[1] + 3.4)
    yield Label(at, str(number), 3.2, "middle", bold=True, name="number")


def _row(patch: Patch, number: int, top: float) -> Iterator[Mark]:
    left = _MARGIN + 7
    yield Label((_MARGIN, top + 6.2), str(number), 3.6, bold=True, name="number")
    fill = patch.colour or "#ffffff"
    yield Boxes(((left, top, *_CHIP),), Style(fill=fill, stroke="#1c1c1c", width=0.15), "shade")
    left += _CHIP[0] + 4
    room = _WIDE + _MARGIN - left
    yield Label(
        (left, top + 3.4), fit(clean(patch.name), 3.6, room, bold=True), 3.6, bold=True, name="name"
    )
    for line, text in enumerate(patch.facts):
        at = (left + 58 * line, top + 8.2)
        yield Label(
            at, fit(clean(text), 2.9, room - 58 * line), 2.9, colour="#5a5a5a", name="facts"
        )


def shade_files(path: Path, measured: Measured) -> dict[str, bytes]:
    """The photo with every patch marked and its colour beside it, by file name. Raises InputError."""
    from pic2chart.sheets.writers.png import sheet_png

    patches = [
        Patch(astuple(box), shade.name, _facts(shade, uncertainty), shade.colour)
        for shade, box, uncertainty in zip(
            measured.shades, measured.boxes, measured.uncertainties, strict=True
        )
    ]
    for reference in measured.references:
        name = {"card": "grey card", "given": "known colour"}.get(reference.how, "white paper")
        words = f"taken as L* {reference.lab[0]:.0f}", "the light was corrected by it"
        patches.append(Patch(astuple(reference.box), name, words, None))
    sheet = marked_photo(load_picture(path).rgb, patches, f"Shades in {measured.photo}")
    return {f"{file_stem(path.stem)}-shades.png": sheet_png(sheet, 8.0)}


def _facts(shade: Shade, uncertainty: float | None) -> tuple[str, str]:
    L, a, b = shade.lab
    sure = (
        "doubt not known: light not corrected"
        if uncertainty is None
        else f"within {uncertainty:.0f} ΔE"
    )
    return (
        f"{shade.colour}, L* {L:.0f}, a* {a:.0f}, b* {b:.0f}",
        f"{sure}, spread {shade.spread:.0f} ΔE",
    )
