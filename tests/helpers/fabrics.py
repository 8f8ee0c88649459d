"""Swatches of known gauge on a table beside a card of ISO/IEC 7810 ID-1 size, to be photographed.

Two independent ways of drawing a knit stitch: the program's own fabric picture, and legs laid here
as shaded ellipses with plies, uneven tension, flecks and a halo.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from pic2chart.model.chart import Chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.fabric.front import fabric_pixels

CARD_MM = (85.60, 53.98)
CORNER_MM = 3.18
"""ISO/IEC 7810, size ID-1: 85.60 × 53.98 mm, corners rounded with a radius of 2.88 to 3.48 mm."""
PER_MM = 6.0
STRUCTURES = ("smooth", "stranded", "stripes", "plied", "fuzzy", "tweed")
COLOURED = ("bands", "small", "checks", "laid bands", "laid small", "laid stripes")
"""Patterns in two yarns or more; `laid` ones are drawn as legs."""
_COLOURS = ("#ece2d0", "#26304c", "#a8502f", "#5d6b3a", "#aeb6bd", "#56616b", "#7a3b46")


@dataclass(frozen=True)
class Shadow:
    """Of the card: how far it falls (right, down) and how soft its border is, mm, and how dark, 0-1."""

    falls: tuple[float, float] = (5 / PER_MM, 5 / PER_MM)
    soft: float = 4 / PER_MM
    dark: float = 0.35


@dataclass(frozen=True)
class Swatch:
    """`gauge`: stitches and rounds in 10 cm; `turn`: degrees against the card; `uneven`: how far
    stitches stray, as a share of a stitch; sizes in mm."""

    gauge: tuple[float, float] = (28.0, 31.0)
    structure: str = "smooth"
    turn: float = 0.0
    uneven: float = 0.03
    size: tuple[float, float] = (130.0, 120.0)
    card: tuple[int, int, int] = (60, 90, 150)
    with_card: bool = True
    shadow: Shadow = Shadow()
    seed: int = 0


def random_swatch(
    rng: np.random.Generator, structures: tuple[str, ...] = STRUCTURES, uneven: float = 0.06
) -> Swatch:
    stitches = float(rng.uniform(14, 36))
    return Swatch(
        gauge=(stitches, stitches * float(rng.uniform(1.0, 1.5))),
        structure=str(rng.choice(structures)),
        turn=float(rng.uniform(-30, 30)),
        uneven=float(rng.uniform(0, uneven)),
        size=(float(rng.uniform(100, 160)), float(rng.uniform(90, 150))),
        card=tuple(int(v) for v in rng.integers(20, 235, 3)),
        seed=int(rng.integers(1 << 30)),
    )


def scene(swatch: Swatch) -> np.ndarray:
    """RGB at PER_MM pixels a millimetre: table, swatch, and the card to the right of it."""
    rng = np.random.default_rng(swatch.seed)
    fabric = _fabric(swatch, rng)
    height, width = fabric.shape[:2]
    turn = np.radians(swatch.turn)
    across = int(abs(width * np.cos(turn)) + abs(height * np.sin(turn)))
    down = int(abs(height * np.cos(turn)) + abs(width * np.sin(turn)))
    margin = int(12 * PER_MM)
    card_w, card_h = (round(side * PER_MM) for side in CARD_MM)
    total = (across + card_w + 3 * margin, max(down, card_h) + 2 * margin)
    table = _table(total, rng)
    middle = (margin + across / 2, total[1] / 2)
    move = cv2.getRotationMatrix2D((width / 2, height / 2), -swatch.turn, 1.0)
    move[:, 2] += np.array(middle) - [width / 2, height / 2]
    laid = cv2.warpAffine(fabric, move, total, flags=cv2.INTER_LINEAR)
    cover = cv2.warpAffine(np.ones(fabric.shape[:2], np.float32), move, total)[..., None]
    out = laid * cover + table * (1 - cover)
    if swatch.with_card:
        corner = (across + 2 * margin, int((total[1] - card_h) * rng.uniform(0.2, 0.8)))
        _lay_card(out, corner, swatch, rng)
    return np.clip(out, 0, 255).astype(np.uint8)


def _table(size: tuple[int, int], rng: np.random.Generator) -> np.ndarray:
    """Wood: long grain with a little noise."""
    base = np.array([(150, 116, 84), (205, 200, 192), (84, 80, 78)][int(rng.integers(3))], float)
    short = (size[0] // 16, size[1])
    grain = cv2.GaussianBlur(
        rng.normal(0, 1, short[::-1]).astype(np.float32), (0, 0), 2.5, sigmaY=1.5
    )
    grain = cv2.resize(grain, size, interpolation=cv2.INTER_LINEAR) * 0.5
    return base + 60 * grain[..., None]


def _lay_card(
    out: np.ndarray, corner: tuple[int, int], swatch: Swatch, rng: np.random.Generator
) -> None:
    """The card with a stripe and some raised print, and its shadow."""
    w, h, r = (round(v * PER_MM) for v in (*CARD_MM, CORNER_MM))
    mask = np.zeros((h, w), np.float32)
    cv2.rectangle(mask, (r, 0), (w - r - 1, h - 1), 1.0, -1)
    cv2.rectangle(mask, (0, r), (w - 1, h - r - 1), 1.0, -1)
    for x, y in ((r, r), (w - r - 1, r), (r, h - r - 1), (w - r - 1, h - r - 1)):
        cv2.circle(mask, (x, y), r, 1.0, -1)
    card = np.empty((h, w, 3), float)
    card[:] = swatch.card
    card[int(0.62 * h) : int(0.7 * h), int(0.1 * w) : int(0.8 * w)] *= 0.7
    card[int(0.2 * h) : int(0.42 * h), int(0.1 * w) : int(0.25 * w)] = (200, 180, 120)
    x, y = corner
    shade = np.zeros(out.shape[:2], np.float32)
    falls = [round(by * PER_MM) for by in swatch.shadow.falls]
    shade[y + falls[1] : y + h + falls[1], x + falls[0] : x + w + falls[0]] = mask
    soft = cv2.GaussianBlur(shade, (0, 0), swatch.shadow.soft * PER_MM)
    out *= 1 - swatch.shadow.dark * soft[..., None]
    part = out[y : y + h, x : x + w]
    part[:] = card * mask[..., None] + part * (1 - mask[..., None])


def _fabric(swatch: Swatch, rng: np.random.Generator) -> np.ndarray:
    """The fabric at PER_MM, float RGB."""
    w, h = (100 / count * PER_MM for count in swatch.gauge)
    columns, rows = (
        round(side * PER_MM / step) for side, step in zip(swatch.size, (w, h), strict=True)
    )
    colours = [Yarn("a", c) for c in rng.permutation(_COLOURS)[:2]]
    stitches = pattern(swatch.structure, rows, columns, rng)
    if swatch.structure in ("smooth", "stranded", "stripes", "bands", "small", "checks"):
        yarns = (Yarn("a", colours[0].colour), Yarn("b", colours[1].colour))
        pixels = fabric_pixels(Chart(stitches, yarns, Gauge(*swatch.gauge)), 24)
    else:
        legs = np.array([yarn.rgb for yarn in colours], float)[stitches[::-1]]
        pixels = _laid(swatch, (w, h), legs, rng)
    size = (round(columns * w), round(rows * h))
    pixels = cv2.resize(pixels.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    return _strayed(pixels, swatch.uneven, (w, h), rng)


def pattern(structure: str, rows: int, columns: int, rng: np.random.Generator) -> np.ndarray:
    """Which of two yarns each stitch is of, uint8 [rounds, stitches]."""
    y, x = np.indices((rows, columns))
    stitches = np.zeros((rows, columns), np.uint8)
    if structure == "stranded":
        noise = cv2.GaussianBlur(rng.normal(size=stitches.shape), (0, 0), 1.3)
        stitches = (noise > 0).astype(np.uint8)
    elif structure.endswith("stripes"):
        stitches[(np.arange(rows) // int(rng.integers(1, 5))) % 2 == 1] = 1
    elif structure.endswith("small"):
        tile = rng.random((int(rng.integers(2, 6)), int(rng.integers(2, 6)))) < 0.45
        stitches = tile[y % tile.shape[0], x % tile.shape[1]].astype(np.uint8)
    elif structure.endswith("checks"):
        side = int(rng.integers(1, 4))
        stitches = ((y // side + x // side) % 2).astype(np.uint8)
    elif structure.endswith("bands"):
        row = 0
        while row < rows:
            high, repeat = int(rng.integers(2, 9)), int(rng.integers(2, 11))
            tile = rng.random((high, repeat)) < 0.45
            part = tile[:, np.arange(columns) % repeat]
            stitches[row : row + high] = part[: rows - row]
            row += high + int(rng.integers(1, 4))
    return stitches


def _laid(
    swatch: Swatch, step: tuple[float, float], legs: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    """Legs as shaded ellipses of colours [rows from the top, columns, 3], from the top round down,
    each round over the one above's feet."""
    w, h = step
    rows, columns = legs.shape[:2]
    colour = (
        legs.mean(axis=(0, 1)) if len(np.unique(legs.reshape(-1, 3), axis=0)) > 1 else legs[0, 0]
    )
    page = np.empty((round(rows * h), round(columns * w), 3), np.float32)
    page[:] = colour * 0.35
    for row in range(-1, rows + 1):
        for column in range(-1, columns + 1):
            tint = 1 + rng.normal(0, 0.03)
            if swatch.structure == "tweed" and rng.random() < 0.08:
                tint = rng.uniform(0.5, 1.5)
            for side in (-1, 1):
                x = (column + 0.5 + side * 0.235) * w
                y = (row + 0.5) * h
                _leg(page, (x, y), (w, h), side, legs[row % rows, column % columns] * tint)
    if swatch.structure == "fuzzy":
        page = cv2.GaussianBlur(page, (0, 0), 0.07 * w)
        hairs = cv2.GaussianBlur(rng.normal(0, 1, page.shape[:2]).astype(np.float32), (0, 0), 2.5)
        page = page * (1 + 0.9 * hairs[..., None]) * 0.85 + 20
    return page


def _leg(
    page: np.ndarray,
    at: tuple[float, float],
    step: tuple[float, float],
    side: int,
    colour: np.ndarray,
) -> None:
    w, h = step
    length, thick = 0.72 * np.hypot(h, 0.5 * w), 0.25 * w
    angle = float(np.degrees(np.arctan2(0.95 * h, -side * 0.42 * w)))
    for grow, light in ((1.0, 0.55), (0.82, 0.85), (0.55, 1.0), (0.25, 1.12)):
        box = (at, (2 * length * (0.55 + 0.45 * grow), 2 * thick * grow), angle)
        cv2.ellipse(
            page, box, tuple(float(v) for v in np.clip(colour * light, 0, 255)), -1, cv2.LINE_AA
        )


def _strayed(
    pixels: np.ndarray, uneven: float, step: tuple[float, float], rng: np.random.Generator
) -> np.ndarray:
    """Uneven tension: every stitch strays a little, neighbours alike; the mean gauge stays."""
    rows, columns = pixels.shape[:2]
    small = (max(3, round(columns / step[0])), max(3, round(rows / step[1])))
    moves = []
    for scale in step:
        noise = cv2.GaussianBlur(rng.normal(0, 1, small[::-1]).astype(np.float32), (0, 0), 1.2)
        noise = noise / noise.std() * uneven * scale
        moves.append(cv2.resize(noise, (columns, rows), interpolation=cv2.INTER_CUBIC))
    x, y = np.meshgrid(np.arange(columns, dtype=np.float32), np.arange(rows, dtype=np.float32))
    return cv2.remap(
        pixels, x + moves[0], y + moves[1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT
    )
