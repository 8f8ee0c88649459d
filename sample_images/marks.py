"""Lettering, a repeat and a cat's face: the small and the graphic pictures."""

from __future__ import annotations

import numpy as np
from brush import Field, blank, blur, curve, ellipse, fill, mirrored, paint, rgb, stroke

OAT, INK, RUST = "#ece2d0", "#26304c", "#a8502f"

Point = tuple[float, float]


def bend(x: float, y: float, rx: float, ry: float, start: float, stop: float) -> list[Point]:
    """Part of an ellipse round (x, y), from `start` to `stop` degrees, 0 to the right, 90 down."""
    turns = np.radians(np.linspace(start, stop, 17))
    return [(float(x + rx * np.cos(a)), float(y + ry * np.sin(a))) for a in turns]


STEM = [(0.0, 0.0), (0.0, 1.0)]
BOWL = [(0.0, 0.0), *bend(0.34, 0.24, 0.26, 0.24, -90, 90), (0.0, 0.48)]
LETTERS: dict[str, list[list[Point]]] = {
    "H": [STEM, [(0.62, 0), (0.62, 1)], [(0, 0.48), (0.62, 0.48)]],
    "A": [[(0, 1), (0.36, 0), (0.72, 1)], [(0.14, 0.66), (0.58, 0.66)]],
    "R": [STEM, BOWL, [(0.3, 0.48), (0.62, 1)]],
    "B": [STEM, BOWL, [*bend(0.36, 0.74, 0.28, 0.26, -90, 90), (0, 1)]],
    "O": [[*bend(0.37, 0.5, 0.37, 0.5, 0, 180), *bend(0.37, 0.5, 0.37, 0.5, 180, 360)]],
    "U": [[(0, 0), *bend(0.31, 0.69, 0.31, 0.31, 180, 0), (0.62, 0)]],
}
"""Strokes of our own, in letter heights; x to the right, y downwards."""

WAVE = (
    "............",
    "....####..#.",
    "#..##..##...",
    "...#....##..",
    "...##.#..##.",
    "....###...##",
    "#....#....##",
    "##..#.#..###",
    ".###...###.#",
    "############",
    "#.##.##.##.#",
    "############",
)
"""One pixel a stitch; # is ink."""


def word() -> Field:
    """The word HARBOUR over a wave, [280, 900, 3]."""
    picture = blank(900, 280, OAT)
    x, tall, pen = 62.0, 132.0, 24.0
    for letter in "HARBOUR":
        strokes = LETTERS[letter]
        for line in strokes:
            points = [(x + u * tall, 48 + v * tall) for u, v in line]
            paint(picture, stroke(picture.shape, points, pen), INK)
        x += tall * max(u for line in strokes for u, _ in line) + 32
    wave = [(u, 234 + 11 * np.sin(u / 22.0)) for u in range(50, 851, 4)]
    paint(picture, stroke(picture.shape, wave, 12), RUST)
    return picture


def wave_repeat() -> Field:
    """A wave that repeats, one pixel a stitch, [12, 12, 3]."""
    is_ink = np.array([[mark == "#" for mark in line] for line in WAVE])
    return np.where(is_ink[..., None], rgb(INK), rgb(OAT))


AXIS = 320.0
FACE = [
    (320, 150), (250, 158), (190, 190), (140, 250), (112, 330), (104, 400), (76, 440), (120, 452),
    (112, 492), (160, 498), (214, 548), (270, 574), (320, 580),
]  # fmt: skip
EAR = [(136, 300), (112, 190), (108, 84), (116, 66), (134, 70), (212, 132), (262, 176)]
STRIPES = (
    [(320, 166), (320, 256)],
    [(286, 168), (288, 214), (296, 250)],
    [(250, 178), (254, 220), (268, 256)],
    [(214, 196), (224, 232), (242, 262)],
    [(118, 352), (164, 352), (196, 372)],
    [(104, 402), (156, 392), (192, 400)],
    [(112, 452), (160, 434), (200, 426)],
    [(150, 500), (186, 474), (216, 458)],
)


def twice(shape: tuple[int, ...], points: Field | list[Point]) -> Field:
    """An outline and its mirror image."""
    left = fill(shape, points)
    return np.maximum(left, fill(shape, mirrored(points, AXIS)))


def tabby() -> tuple[Field, Field]:
    """A striped cat's face [640, 640, 3] and its alpha [640, 640]."""
    picture = blank(640, 640, "#b98a55")
    shape = picture.shape
    half = curve(FACE, closed=False)
    face = fill(shape, np.vstack([half, mirrored(half, AXIS)]))
    ears = twice(shape, EAR)
    alpha = np.maximum(face, ears)
    inner = twice(shape, [(146, 250), (130, 124), (208, 172)])
    paint(picture, blur(inner, 3), "#e3b7a0")
    x = np.arange(640, dtype=float)[None, :]
    paint(picture, np.clip((x - 250) / 420, 0, 1) * face, "#6b4a2c", 0.55)
    paint(picture, blur(twice(shape, ellipse(262, 350, 74, 56)), 14) * face, "#d9b684", 0.9)
    for line in STRIPES:
        for side in (np.array(line, dtype=float), mirrored(line, AXIS)):
            ends = (1, 0.25) if side[0, 0] <= AXIS else (0.25, 1)
            mark = stroke(shape, curve(side, closed=False), 22, ends)
            paint(picture, blur(mark, 1.2) * face, "#3d2a1d")
    cat_muzzle(picture)
    cat_eyes(picture)
    edge = blur(np.clip(alpha - blur(alpha, 7), 0, 1), 2)
    paint(picture, np.clip(edge * 1.4, 0, 1), "#3d2a1d", 0.6)
    return picture, alpha


def cat_muzzle(picture: Field) -> None:
    shape = picture.shape
    pads = np.maximum(
        twice(shape, ellipse(276, 478, 58, 46)), fill(shape, ellipse(320, 540, 46, 34))
    )
    paint(picture, blur(pads, 5), "#f4eadb")
    bridge = [(298, 300), (342, 300), (352, 436), (288, 436)]
    paint(picture, blur(fill(shape, bridge), 8), "#cfa571", 0.8)
    nose = curve([(320, 462), (286, 438), (294, 424), (320, 422), (346, 424), (354, 438)])
    paint(picture, fill(shape, nose), "#c0705c")
    paint(picture, blur(fill(shape, ellipse(312, 431, 12, 4)), 2), "#f0c3b4", 0.8)
    smile = curve([(320, 458), (318, 492), (290, 510), (256, 498)], closed=False)
    for side in (smile, mirrored(smile, AXIS)):
        paint(picture, stroke(shape, side, 6), "#3d2a1d")
    for y, drop in ((472, -16), (488, 10), (502, 36)):
        line = curve([(252, y), (180, y + drop * 0.3), (104, y + drop)], closed=False)
        paint(picture, stroke(shape, line, 3.6, (1, 0.5)), "#fbf6ee")
        paint(picture, stroke(shape, mirrored(line, AXIS), 3.6, (0.5, 1)), "#fbf6ee")


def cat_eyes(picture: Field) -> None:
    shape = picture.shape
    lids = curve([(188, 336), (216, 306), (254, 312), (282, 352), (250, 372), (212, 366)])
    for outline, middle in ((lids, 236.0), (mirrored(lids, AXIS), 404.0)):
        rim = outline + (outline - outline.mean(axis=0)) * 0.14
        paint(picture, fill(shape, rim), "#22160f")
        globe = fill(shape, outline)
        paint(picture, globe, "#7f9a3f")
        glow = blur(fill(shape, ellipse(middle, 356, 34, 16)), 6)
        paint(picture, globe * glow, "#d3d77a", 0.9)
        paint(picture, globe * fill(shape, ellipse(middle, 340, 11, 30)), "#120d0a")
        paint(picture, globe * fill(shape, ellipse(middle - 10, 326, 8, 8)), "#ffffff")
