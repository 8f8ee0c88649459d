"""Rulers and tape measures on a table beside a swatch, drawn to be photographed.

Ticks every millimetre, longer every 5 and longest every 10 (common practice); wood, steel, plastic,
cloth tape, clear plastic, and dark rulers with light ticks; numbers beside them; the other edge bare,
in millimetres or in sixteenths of an inch.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from tests.helpers.fabrics import PER_MM, _table
from tests.helpers.loops import Knit, fabric

MATERIALS = ("wood", "steel", "white", "tape", "clear", "dark")
_FINE = 4
_COLOURS = {
    "wood": (214, 178, 122),
    "steel": (176, 178, 182),
    "white": (238, 238, 234),
    "tape": (236, 204, 70),
    "clear": (232, 236, 238),
    "dark": (46, 44, 48),
}


@dataclass(frozen=True)
class Ruler:
    """`ticks`: lengths of those of 1, 5 and 10 units, mm; `line`: their width, mm; `gap`: how far they
    begin off the edge, mm; `other`: the other edge, `bare`, `mm` or `inch`; `unit`: mm a tick."""

    material: str = "white"
    length: float = 200.0
    width: float = 30.0
    ticks: tuple[float, float, float] = (3.0, 4.5, 6.0)
    line: float = 0.2
    gap: float = 0.0
    ink: float = 0.9
    numbers: float = 3.0
    other: str = "bare"
    unit: float = 1.0
    inch: bool = False
    seed: int = 0


def random_ruler(rng: np.random.Generator) -> Ruler:
    material = str(rng.choice(MATERIALS))
    short = float(rng.uniform(2.0, 4.0))
    mid = short + float(rng.uniform(1.0, 2.0))
    tape = material == "tape"
    return Ruler(
        material,
        float(rng.uniform(130, 320)),
        float(rng.uniform(15, 21) if tape else rng.uniform(24, 40)),
        (short, mid, mid + float(rng.uniform(1.0, 2.5))),
        float(rng.uniform(0.13, 0.3)),
        float(rng.choice([0.0, 0.0, rng.uniform(0.2, 0.9)])),
        float(rng.uniform(0.65, 1.0)),
        float(rng.uniform(2.2, 4.5)),
        str(rng.choice(["mm", "inch"] if tape else ["bare", "bare", "mm", "inch"])),
        seed=int(rng.integers(1 << 30)),
    )


def ruler_scene(knit: Knit, ruler: Ruler | None, turn: float = 0.0) -> np.ndarray:
    """RGB at PER_MM: a swatch on a table, and below it a ruler turned by some degrees, cut where the
    table ends."""
    rng = np.random.default_rng([knit.seed, 7])
    cloth, _ = fabric(replace(knit, turn=0.0))
    height, width = cloth.shape[:2]
    margin = round(9 * PER_MM)
    space = round((ruler.width if ruler else 30) * PER_MM + width * abs(np.sin(np.radians(turn))))
    total = (width + 4 * margin, height + space + 3 * margin)
    page = _table(total, rng)
    page[margin : margin + height, 2 * margin : 2 * margin + width] = cloth
    if ruler is not None:
        middle = (total[0] / 2, height + 2 * margin + space / 2)
        _lay_ruler(page, middle, turn, ruler)
    return np.clip(page, 0, 255).astype(np.uint8)


def _lay_ruler(page: np.ndarray, middle: tuple[float, float], turn: float, ruler: Ruler) -> None:
    rng = np.random.default_rng([ruler.seed, 8])
    face, cover = _face(ruler, rng)
    scale = 1 / _FINE
    cos, sin = np.cos(np.radians(turn)) * scale, np.sin(np.radians(turn)) * scale
    tall, long = face.shape[:2]
    move = np.array([[cos, -sin, 0.0], [sin, cos, 0.0]])
    along = rng.uniform(-0.15, 0.15) * long
    move[:, 2] = np.array(middle) - move[:, :2] @ [long / 2 + along, tall / 2]
    size = (page.shape[1], page.shape[0])
    soft = [cv2.GaussianBlur(part, (0, 0), _FINE / 2.2) for part in (face * cover, cover)]
    laid, alpha = (cv2.warpAffine(part, move, size) for part in soft)
    body = cv2.warpAffine(np.ones(face.shape[:2], np.float32), move, size)
    fall = np.float32([[1, 0, rng.uniform(-4, 4)], [0, 1, rng.uniform(-4, 4)]])
    shade = cv2.GaussianBlur(cv2.warpAffine(body, fall, size), (0, 0), rng.uniform(2, 6))
    dark = 0.08 if ruler.material == "clear" else 0.35
    page *= 1 - dark * (shade * (1 - body))[..., None]
    page[:] = page * (1 - alpha) + laid


def _face(ruler: Ruler, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Its colour and how far it covers [rows, columns, 3], at PER_MM * _FINE."""
    k = PER_MM * _FINE
    shape = (round(ruler.width * k), round(ruler.length * k))
    face = np.empty((*shape, 3), np.float32)
    face[:] = _COLOURS[ruler.material]
    if ruler.material in ("wood", "steel"):
        grain = rng.normal(0, 1, (shape[0] // 6, shape[1] // 60)).astype(np.float32)
        face *= 1 + 0.06 * cv2.resize(grain, shape[::-1], interpolation=cv2.INTER_CUBIC)[..., None]
    if ruler.material == "tape":
        weave = np.sin(np.arange(shape[1]) * 2 * np.pi / (0.55 * k))[None, :, None]
        face *= 1 + 0.03 * weave.astype(np.float32)
    cover = np.full_like(face, 0.18 if ruler.material == "clear" else 1.0)
    inked = Image.new("L", shape[::-1], 0)
    draw = ImageDraw.Draw(inked)
    _comb(draw, ruler, shape, k, flip=False, unit=ruler.unit, inch=ruler.inch)
    if ruler.other != "bare":
        inch = ruler.other == "inch"
        _comb(draw, ruler, shape, k, flip=True, unit=25.4 / 16 if inch else 1.0, inch=inch)
    ink = ruler.ink * np.asarray(inked, np.float32)[..., None] / 255
    colour = np.float32(230 if ruler.material == "dark" else 25)
    return face * (1 - ink) + colour * ink, np.maximum(cover, ink)


def _comb(
    draw: ImageDraw.ImageDraw,
    ruler: Ruler,
    shape: tuple[int, int],
    k: float,
    *,
    flip: bool,
    unit: float,
    inch: bool,
) -> None:
    tall = shape[0] - 1
    font = ImageFont.load_default(size=ruler.numbers * k)
    for number in range(int((ruler.length - 8) / unit)):
        if inch:
            half = sum(number % step == 0 for step in (2, 4, 8, 16))
            length = ruler.ticks[0] * (0.8 + 0.35 * half)
        else:
            length = ruler.ticks[(number % 5 == 0) + (number % 10 == 0)]
        x, half_line = (4 + number * unit) * k, ruler.line * k / 2
        ends = sorted(abs((tall if flip else 0) - y * k) for y in (ruler.gap, ruler.gap + length))
        draw.rectangle([x - half_line, ends[0], x + half_line, ends[1]], fill=255)
        if number % (16 if inch else 10) == 0:
            y = abs((tall if flip else 0) - (ruler.gap + length + 0.6 + ruler.numbers / 2) * k)
            draw.text((x, y), str(number // (16 if inch else 10)), 255, font, "mm")
