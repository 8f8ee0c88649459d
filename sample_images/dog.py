"""The harbour dog: a three-coloured dog's head before a blurred quay, painted hair by hair."""

from __future__ import annotations

import numpy as np
from brush import (
    Field,
    blank,
    blur,
    both_sides,
    curve,
    ellipse,
    fill,
    hair,
    mirrored,
    noise,
    paint,
    rgb,
    stroke,
)
from numpy.typing import ArrayLike

WIDTH, HEIGHT = 900, 960
SHAPE = (HEIGHT, WIDTH)
AXIS = 450.0
TILT = np.radians(-5.0)

DARK, TAN, WHITE = "#332c2a", "#a8692f", "#efe7da"

SKULL = [
    (415, 190), (350, 205), (290, 262), (262, 350), (258, 450), (276, 545), (318, 620),
    (344, 690), (372, 748), (412, 785),
]  # fmt: skip
EAR = [
    (352, 222), (292, 200), (215, 215), (150, 290), (112, 410), (104, 540), (128, 640),
    (172, 690), (218, 668), (248, 590), (268, 480), (286, 360),
]  # fmt: skip
CHEST = [(300, 560), (262, 690), (240, 790), (168, 872), (70, 1010)]
BLAZE = [
    (440, 200), (428, 300), (420, 400), (404, 480), (366, 545), (338, 612), (348, 690),
    (374, 746), (412, 786),
]  # fmt: skip
MUZZLE = [(420, 520), (370, 560), (340, 625), (352, 700), (400, 748)]
NOSE = [(425, 562), (392, 570), (381, 592), (396, 622), (428, 646)]
EYE = [
    (314, 448), (336, 420), (366, 411), (396, 425), (408, 454), (388, 472), (358, 477), (330, 469),
]  # fmt: skip


def placed(points: ArrayLike) -> Field:
    """The points turned with the tilted head."""
    pivot = np.array([AXIS, 560.0])
    p = np.asarray(points, dtype=float) - pivot
    c, s = np.cos(TILT), np.sin(TILT)
    return pivot + np.stack([p[:, 0] * c - p[:, 1] * s, p[:, 0] * s + p[:, 1] * c], 1)


def lower(points: ArrayLike, down: float) -> Field:
    return np.asarray(points, dtype=float) + np.array([0.0, down])


def area(points: ArrayLike, smooth: bool = True) -> Field:
    outline = curve(points) if smooth else points
    return fill(SHAPE, placed(outline))


def pair(points: ArrayLike) -> Field:
    """The cover of a shape and of its mirror image."""
    return np.maximum(area(points), area(mirrored(points, AXIS)))


def quay(rng: np.random.Generator) -> Field:
    """Evening sky, far shore, water and lamps, all out of focus."""
    picture = blank(WIDTH, HEIGHT, "#aeb6bd")
    y = (np.arange(HEIGHT) / HEIGHT)[:, None] * np.ones((1, WIDTH))
    paint(picture, np.clip(1 - y / 0.6, 0, 1), "#7f9db6")
    paint(picture, np.exp(-(((y - 0.52) / 0.12) ** 2)), "#e6c9a4", 0.8)
    paint(picture, (y > 0.6).astype(float), "#5f7f8c")
    shore = [(-10, 590), (120, 520), (260, 545), (420, 500), (640, 550), (780, 505), (910, 540)]
    paint(picture, fill(SHAPE, [*shore, (910, 620), (-10, 620)]), "#5b6f74")
    for x, top in ((70, 120), (205, 260), (742, 90), (850, 230)):
        paint(picture, stroke(SHAPE, [(x, top), (x, 640)], 13), "#4a5560")
    picture = blur(picture, 16)
    for _ in range(34):
        x, level, size = rng.random(3)
        spot = ellipse(x * WIDTH, 575 + 360 * level**1.3, 9 + 22 * size, 9 + 22 * size)
        paint(picture, blur(fill(SHAPE, spot), 2.5), "#f3dcae", 0.10 + 0.25 * (1 - level))
    return picture


def coat() -> Field:
    """The colours of the fur before light and hairs: dark, tan and white, with soft borders."""
    picture = blank(WIDTH, HEIGHT, DARK)
    brows = pair(curve([(328, 372), (346, 340), (384, 342), (404, 368), (376, 382)]))
    cheeks = pair([(276, 520), (318, 496), (372, 520), (360, 580), (342, 640), (306, 600)])
    paint(picture, blur(np.maximum(brows, cheeks), 9), TAN, 1.0)
    paint(picture, blur(pair(ellipse(268, 900, 60, 70)), 24), TAN, 0.7)
    bib = area(both_sides([(400, 690), (350, 760), (330, 860), (350, 1000)], AXIS))
    paint(picture, blur(bib, 14), WHITE)
    paint(picture, blur(area(both_sides(BLAZE, AXIS)), 5), WHITE)
    return picture


def light(rng: np.random.Generator) -> Field:
    """How bright each place is, from the slopes of the head lit from the upper left."""
    skull, ears = area(both_sides(SKULL, AXIS)), pair(EAR)
    height = 60 * blur(skull, 34) + 50 * blur(area(both_sides(MUZZLE, AXIS)), 18)
    height += 34 * blur(ears, 22) + 16 * blur(pair(ellipse(364, 362, 44, 22)), 10)
    height += 40 * blur(area(both_sides(CHEST, AXIS)), 40)
    height -= 16 * blur(pair(ellipse(400, 470, 30, 52, 14)), 12)
    down, right = np.gradient(height)
    lit = 1 - 0.42 * np.tanh(1.1 * (right + 1.15 * down))
    lit -= 0.38 * blur(np.clip(ears - skull, 0, 1), 14) * blur(skull, 18)
    return np.asarray(lit + 0.07 * noise(SHAPE, 26, rng) + 0.05 * noise(SHAPE, 9, rng))


def lay_of_fur(root: Field) -> Field:
    """Which way the hair lies at a place: away from the nose, and down on ears and chest."""
    away = root - (AXIS, 545)
    away = away / (np.hypot(*away) + 1e-6)
    side = np.clip((abs(root[0] - AXIS) - 70) / 150, 0, 1)
    low = np.clip((root[1] - 690) / 80, 0, 1)
    way = away * (1 - 0.85 * low) + np.array([0.0, 1.3]) * max(side, low)
    return np.asarray(way / (np.hypot(*way) + 1e-6))


def fur(picture: Field, cover: Field, tones: Field, count: int, rng: np.random.Generator,
        length: float) -> None:  # fmt: skip
    """Hairs at random places of the cover, each a little lighter or darker than its ground."""
    clumps = noise(SHAPE, 14, rng)
    for _ in range(count):
        x, y, toss, turn, long, curl = rng.random(6)
        root = np.array([x * WIDTH, y * HEIGHT])
        column, row = int(root[0]), int(root[1])
        if cover[row, column] < 0.5:
            continue
        way = lay_of_fur(root)
        a = (turn - 0.5) * 0.7 + 0.35 * clumps[row, column]
        way = np.array(
            [way[0] * np.cos(a) - way[1] * np.sin(a), way[0] * np.sin(a) + way[1] * np.cos(a)]
        )
        reach = length * (0.6 + 0.8 * long) * (1.5 if abs(root[0] - AXIS) > 205 or row > 690 else 1)
        ink = np.clip(tones[row, column] * (0.74 + 0.56 * toss) + 0.11 * (toss - 0.35), 0, 1)
        bend = np.array([-way[1], way[0]]) * (curl - 0.5) * reach * 0.3
        hair(picture, root, way * reach, bend, 1.4 + 1.4 * long, ink)


def eyes(picture: Field) -> None:
    for side in (EYE, mirrored(EYE, AXIS)):
        centre = np.mean(side, axis=0) - (0, 2)
        rim = np.asarray(side) + (np.asarray(side) - centre) * 0.16
        paint(picture, blur(area(rim), 3), "#15110f", 0.95)
        inside = area(side)
        globe = blank(WIDTH, HEIGHT, "#a89a8c")
        paint(globe, area(ellipse(*centre, 35, 35), False), "#4a2a12")
        paint(globe, blur(area(ellipse(*centre, 31, 31), False), 3), "#b4722f")
        paint(
            globe, blur(area(ellipse(centre[0] + 5, centre[1] + 12, 20, 12), False), 4), "#e6b25e"
        )
        paint(globe, blur(area(ellipse(*centre, 15, 15), False), 1.5), "#0b0807")
        shadow = area(side) - area(lower(side, 8))
        paint(globe, blur(np.clip(shadow, 0, 1), 3), "#120c09", 0.75)
        paint(globe, area(ellipse(centre[0] - 9, centre[1] - 9, 6.5, 5.5), False), "#ffffff")
        paint(globe, area(ellipse(centre[0] + 10, centre[1] + 9, 3, 2.5), False), "#cfe0ea", 0.7)
        paint(picture, inside, globe)


def nose_and_mouth(picture: Field, rng: np.random.Generator) -> None:
    line = curve([(450, 640), (449, 690), (430, 716), (396, 728), (366, 722), (346, 700)], False)
    for side in (line, mirrored(line, AXIS)):
        paint(picture, blur(stroke(SHAPE, placed(side), 15), 5), "#5a4a44", 0.5)
        paint(picture, stroke(SHAPE, placed(side), 6), "#1d1513", 0.9)
    nose = area(both_sides(NOSE, AXIS))
    paint(picture, blur(nose, 5), "#1a1514", 0.8)
    paint(picture, nose, "#231d1d")
    shine = blur(area(ellipse(438, 577, 36, 8), False), 5) * nose
    paint(picture, shine * (1 + 0.4 * noise(SHAPE, 4, rng)), "#aab4bf", 0.8)
    nostril = [(400, 606), (410, 592), (428, 596), (432, 612), (418, 616)]
    paint(picture, blur(pair(nostril), 2), "#050404", 0.95)
    paint(picture, stroke(SHAPE, placed([(450, 612), (450, 642)]), 3), "#080606", 0.9)


def whiskers(picture: Field) -> None:
    for y, out, drop in ((655, 240, 20), (672, 252, 64), (688, 225, 104)):
        line = curve([(385, y), (300, y - 4 + drop * 0.3), (385 - out, y + drop)], False)
        for side in (line, mirrored(line, AXIS)):
            paint(picture, stroke(SHAPE, placed(side), 2.6, (1, 0.2)), "#f4efe6", 0.7)
    for x, y in ((392, 650), (376, 664), (390, 678), (366, 684), (406, 668), (384, 696)):
        paint(picture, blur(pair(ellipse(x, y, 3.2, 3.2)), 1), "#5d4c45", 0.7)


def collar(picture: Field, chest: Field, lit: Field) -> None:
    top = curve([(200, 756), (320, 826), (450, 850), (580, 826), (700, 756)], False)
    band = np.vstack([top, lower(top, 46)[::-1]])
    ink = blank(WIDTH, HEIGHT, "#b5522c") * np.clip(lit, 0.5, 1.3)[..., None]
    cover = area(band, False) * chest
    paint(picture, blur(np.roll(cover, 10, axis=0), 7), "#15100e", 0.5)
    paint(picture, cover, ink)
    for shift in (8, 38):
        seam = stroke(SHAPE, placed(lower(top, shift)), 2.5) * chest
        paint(picture, seam, "#e8b489", 0.7)
    paint(picture, area(ellipse(450, 908, 33, 33), False), "#8a6a2c")
    paint(picture, area(ellipse(448, 906, 28, 28), False), "#d9b45a")
    paint(picture, blur(area(ellipse(440, 896, 12, 9), False), 4), "#fff3cf", 0.9)
    paint(picture, area(ellipse(450, 880, 9, 9), False), "#6f5524")


def harbour_dog() -> Field:
    """The dog's portrait, [960, 900, 3]."""
    rng = np.random.default_rng(17)
    picture, lit = quay(rng), light(rng)
    tones = np.clip(coat() * lit[..., None], 0, 1)
    paint(tones, blur(area(both_sides(SKULL, AXIS)), 6) * np.clip(lit - 1.1, 0, 1), "#8fa3b5", 0.6)
    chest, ears = area(both_sides(CHEST, AXIS)), pair(EAR)
    skull = area(both_sides(SKULL, AXIS))
    head = np.maximum(skull, ears)
    under = 1 - 0.72 * blur(np.roll(head, (34, 6), (0, 1)), 16)
    layers = ((chest, under, 16000, 34.0), (ears, 0.94 + 0 * lit, 16000, 26.0))
    for cover, shade, count, length in (*layers, (skull, 1 + 0 * lit, 26000, 15.0)):
        ground = tones * shade[..., None]
        paint(picture, blur(cover, 2), ground)
        fur(picture, cover, ground, count, rng, length)
        if cover is chest:
            collar(picture, cover, lit)
    eyes(picture)
    nose_and_mouth(picture, rng)
    whiskers(picture)
    paint(picture, np.ones(SHAPE), rgb("#ffe9cc"), 0.03)
    return picture
