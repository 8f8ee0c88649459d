"""Gull, lighthouse, kelp and boat: four sights of the harbour town."""

from __future__ import annotations

import numpy as np
from brush import (
    Field,
    blank,
    blur,
    curve,
    ellipse,
    fill,
    noise,
    paint,
    rgb,
    stroke,
)
from numpy.typing import ArrayLike


def downward(shape: tuple[int, ...], top: float, bottom: float) -> Field:
    """A ramp from 0 at the row `top` to 1 at the row `bottom`."""
    y = np.arange(shape[0], dtype=float)[:, None] * np.ones((1, shape[1]))
    return np.clip((y - top) / (bottom - top), 0, 1)


def layer(picture: Field, outline: ArrayLike, colour: str, smooth: bool = True) -> Field:
    """Paint an outline in one colour and give back its cover."""
    cover = fill(picture.shape, curve(outline) if smooth else outline)
    paint(picture, cover, colour)
    return cover


def cloud(
    picture: Field,
    puffs: list[tuple[float, float, float]],
    soft: float,
    colour: str,
    strength: float,
) -> None:
    """Flat-bottomed puffs (x, y, half width), all blurred together."""
    cover = np.zeros(picture.shape[:2])
    for x, y, half in puffs:
        np.maximum(cover, fill(picture.shape, ellipse(x, y, half, half * 0.36)), out=cover)
    paint(picture, blur(cover, soft), colour, strength)


def gull() -> Field:
    """A gull in profile on a mooring post, [720, 720, 3]."""
    rng = np.random.default_rng(5)
    picture = blank(720, 720, "#2f4b68")
    paint(picture, downward(picture.shape, 0, 600), "#5f8199")
    cloud(
        picture,
        [(560, 150, 110), (650, 130, 90), (470, 178, 70), (700, 170, 80)],
        20,
        "#7d9cb0",
        0.8,
    )
    cloud(
        picture,
        [(40, 420, 100), (120, 440, 80), (-10, 450, 90), (660, 380, 60)],
        18,
        "#7d9cb0",
        0.7,
    )
    paint(picture, downward(picture.shape, 596, 600), "#3c5f70")
    for y in range(612, 720, 17):
        wave = [(x, y + 4 * np.sin(x / 31 + y)) for x in range(-20, 760, 20)]
        paint(picture, stroke(picture.shape, wave, 3 + (y - 600) / 24), "#6d92a0", 0.7)
    post(picture, rng)
    legs(picture)
    gull_body(picture)
    gull_head(picture)
    return picture


def post(picture: Field, rng: np.random.Generator) -> None:
    wood = layer(picture, [(284, 628), (446, 628), (456, 730), (274, 730)], "#6d5745", False)
    grain = np.repeat(noise((12, 720), 5, rng)[:1], 720, axis=0)
    paint(picture, wood * np.clip(grain, 0, 1), "#4c3b30", 0.8)
    paint(picture, wood * downward(picture.shape, 760, 600), "#a78b6c", 0.25)
    layer(picture, ellipse(365, 628, 82, 19), "#9a7e62")
    ring = fill(picture.shape, ellipse(365, 628, 56, 12)) - fill(
        picture.shape, ellipse(365, 628, 50, 10)
    )
    paint(picture, np.clip(ring, 0, 1), "#6d5745", 0.8)


def legs(picture: Field) -> None:
    for x, shade in ((392, "#c98d7c"), (352, "#e0a592")):
        paint(picture, stroke(picture.shape, [(x, 520), (x + 4, 572), (x - 2, 622)], 17), shade)
        foot = [(x - 4, 614), (x - 50, 632), (x - 20, 636), (x + 2, 638), (x + 14, 632)]
        layer(picture, foot, shade, False)


BODY = [
    (176, 214), (206, 262), (196, 312), (190, 366), (214, 440), (276, 506), (356, 534),
    (444, 520), (520, 488), (604, 452), (560, 424), (470, 376), (392, 316), (322, 262),
    (300, 196), (256, 148), (206, 150),
]  # fmt: skip
WING = [
    (284, 330), (262, 372), (280, 424), (346, 458), (430, 468), (520, 468), (622, 486),
    (676, 496), (636, 458), (556, 408), (476, 352), (398, 314), (330, 304),
]  # fmt: skip


def gull_body(picture: Field) -> None:
    body = layer(picture, BODY, "#f4f1e8")
    low = blur(np.clip(body - np.roll(body, (-34, 14), (0, 1)), 0, 1), 12)
    paint(picture, low * body, "#8d9aa6", 0.85)
    tail = [(540, 448), (600, 452), (668, 474), (640, 492), (556, 486)]
    layer(picture, tail, "#e4e2da")
    wing = fill(picture.shape, curve(WING))
    paint(picture, blur(np.roll(wing, 9, axis=0), 6) * body, "#5b6875", 0.5)
    paint(picture, wing, "#8794a1")
    rim = blur(np.clip(wing - np.roll(wing, (10, 4), (0, 1)), 0, 1), 5)
    paint(picture, rim * wing, "#c3ccd4", 0.8)
    for k in range(4):
        y = 384 + 20 * k
        row = curve([(296 + 14 * k, y - 8), (390, y + 22), (500 + 18 * k, y + 34 + 4 * k)], False)
        paint(picture, stroke(picture.shape, row, 4, (0.4, 1)) * wing, "#6a7683", 0.7)
    tips = [(546, 430), (580, 424), (676, 496), (640, 494), (548, 474), (508, 462)]
    paint(picture, fill(picture.shape, curve(tips)) * wing, "#22262e")
    for x, y in ((566, 456), (604, 470), (640, 486)):
        paint(picture, fill(picture.shape, ellipse(x, y, 9, 5, 25)) * wing, "#f4f1e8")


def gull_head(picture: Field) -> None:
    bill = [
        (196, 176),
        (150, 186),
        (104, 198),
        (90, 216),
        (98, 230),
        (112, 218),
        (150, 216),
        (194, 220),
    ]
    layer(picture, bill, "#e3ab3c")
    paint(picture, stroke(picture.shape, [(108, 210), (150, 203), (204, 200)], 3), "#8d6420", 0.8)
    layer(picture, ellipse(122, 214, 9, 7), "#c2452d")
    layer(picture, ellipse(234, 190, 16, 16), "#d9a441")
    layer(picture, ellipse(234, 190, 12, 12), "#efe2b4")
    layer(picture, ellipse(233, 190, 8, 8), "#15161a")
    layer(picture, ellipse(230, 186, 2.6, 2.6), "#ffffff")


def lighthouse() -> Field:
    """A banded tower on its rock at dusk, [840, 640, 3]."""
    rng = np.random.default_rng(11)
    picture = blank(640, 840, "#1f3357")
    paint(picture, downward(picture.shape, 120, 660), "#84495a")
    cloud(picture, [(520, 330, 120), (600, 318, 90), (470, 344, 60)], 9, "#5f4e70", 0.7)
    cloud(picture, [(90, 420, 130), (170, 432, 80), (20, 440, 70)], 9, "#5f4e70", 0.7)
    cloud(picture, [(560, 520, 150), (180, 548, 120)], 8, "#5f4e70", 0.7)
    beam = fill(picture.shape, [(318, 172), (-20, 60), (-20, 220)])
    paint(picture, blur(beam, 5), "#ffe9b0", 0.5)
    paint(picture, downward(picture.shape, 638, 640), "#3d5b70")
    paint(picture, downward(picture.shape, 640, 840), "#243b50")
    for k in range(46):
        y = 648 + 190 * (k / 46) ** 1.4
        x, size = rng.random(2) * (640, 90)
        paint(
            picture, stroke(picture.shape, [(x, y), (x + 20 + size, y)], 2 + k / 18), "#4d6b80", 0.7
        )
    rock(picture, rng)
    tower(picture)
    return picture


def rock(picture: Field, rng: np.random.Generator) -> None:
    outline = [
        (120, 742), (150, 690), (206, 672), (236, 646), (310, 636), (404, 640), (440, 668),
        (496, 680), (548, 730), (600, 760), (560, 800), (330, 812), (150, 796), (70, 770),
    ]  # fmt: skip
    cover = fill(picture.shape, outline)
    paint(picture, cover, "#3b3a3f")
    for _ in range(60):
        x, y, size, light = rng.random(4)
        spot = np.array([90 + 500 * x, 650 + 150 * y])
        slab = spot + (18 + 34 * size) * np.array(
            [(-1, 0.3), (-0.4, -0.5), (0.7, -0.4), (1, 0.2), (0, 0.6)]
        )
        shade = "#77706a" if light > 0.62 else "#4d4a4c" if light > 0.3 else "#26252b"
        paint(picture, fill(picture.shape, slab) * cover, shade, 0.8)
    paint(picture, blur(stroke(picture.shape, [*outline[7:], outline[0]], 12), 3), "#dfe7ea", 0.6)


def tower(picture: Field) -> None:
    sides = [(276, 228), (364, 228), (404, 664), (236, 664)]
    cover = fill(picture.shape, sides)
    stone = blank(640, 840, "#f3ece0")
    for top in (292, 416, 540):
        paint(stone, np.clip(downward(picture.shape, top, top + 1), 0, 1), "#a63f2c")
        paint(stone, np.clip(downward(picture.shape, top + 62, top + 63), 0, 1), "#f3ece0")
    x = np.arange(640, dtype=float)[None, :]
    lit = np.clip(1.06 - 0.62 * np.clip((x - 270) / 130, 0, 1) ** 1.2, 0, 1.1) * np.ones((840, 1))
    paint(picture, cover, np.clip(stone * lit[..., None], 0, 1))
    for y in (346, 476, 602):
        layer(
            picture,
            [(308, y), (332, y), (332, y - 26), (320, y - 36), (308, y - 26)],
            "#26304c",
            False,
        )
    layer(picture, [(262, 212), (378, 212), (370, 234), (270, 234)], "#2b2f3a", False)
    for px in range(266, 379, 14):
        paint(picture, stroke(picture.shape, [(px, 186), (px, 214)], 3), "#2b2f3a")
    paint(picture, stroke(picture.shape, [(262, 186), (378, 186)], 4), "#2b2f3a")
    layer(picture, [(290, 134), (350, 134), (350, 212), (290, 212)], "#ffe9a6", False)
    paint(picture, blur(fill(picture.shape, ellipse(320, 172, 34, 34)), 12), "#fffbe6", 0.9)
    for px in (290, 310, 330, 350):
        paint(picture, stroke(picture.shape, [(px, 134), (px, 212)], 4), "#2b2f3a")
    layer(picture, [(276, 138), (364, 138), (340, 104), (320, 90), (300, 104)], "#8a3324", False)
    paint(picture, stroke(picture.shape, [(320, 92), (320, 62)], 5), "#2b2f3a")
    layer(picture, ellipse(320, 84, 8, 8), "#8a3324")


def kelp() -> Field:
    """Three fronds of bladder kelp on pale paper, [800, 680, 3]."""
    picture = blank(680, 800, "#ece2d0")
    paint(picture, downward(picture.shape, 0, 800), "#dfd6c2", 0.7)
    stems = (
        ([(300, 800), (276, 660), (210, 500), (196, 340), (130, 190)], "#6f7d45", 0.86),
        ([(372, 800), (404, 670), (466, 520), (474, 370), (544, 230)], "#6f7d45", 0.9),
        ([(338, 800), (350, 640), (324, 460), (360, 290), (336, 130)], "#4b5a2d", 1.0),
    )
    for points, colour, size in stems:
        frond(picture, curve(points, False, 14), colour, size)
    layer(picture, [(240, 812), (284, 776), (338, 764), (394, 778), (440, 812)], "#56616b")
    return picture


def frond(picture: Field, stem: Field, colour: str, size: float) -> None:
    """A stem with a leaf and its float at either side in turn, and one leaf at the tip."""
    dark = rgb(colour) * 0.55
    paint(picture, stroke(picture.shape, stem, 15 * size, (1, 0.45)), colour)
    for k, at in enumerate(range(8, len(stem) - 3, 5)):
        way = stem[at + 2] - stem[at - 2]
        angle = np.arctan2(way[1], way[0]) + (0.95 if k % 2 else -0.95)
        leaf(picture, stem[at], angle, size * (150 - 1.1 * at), colour, dark)
    end = stem[-1] - stem[-6]
    leaf(picture, stem[-1], np.arctan2(end[1], end[0]), 90 * size, colour, dark)


def leaf(
    picture: Field, root: Field, angle: float, length: float, colour: str, dark: Field
) -> None:
    """A wavy blade on a round float."""
    along, across = (
        np.array([np.cos(angle), np.sin(angle)]),
        np.array([-np.sin(angle), np.cos(angle)]),
    )
    t = np.linspace(0, 1, 40)[:, None]
    spine = root + along * (12 + length * t) + np.array([0.0, -34.0]) * t**2
    half = (0.17 * length * np.sin(np.pi * t**0.75) + 3 * np.sin(19 * t)) * (1 - t**6)
    blade = np.vstack([spine + across * half, (spine - across * half)[::-1]])
    cover = fill(picture.shape, blade)
    paint(picture, cover, colour)
    paint(
        picture, fill(picture.shape, np.vstack([spine, (spine - across * half)[::-1]])), dark, 0.35
    )
    paint(picture, stroke(picture.shape, spine, 5, (1, 0.2)) * cover, dark, 0.9)
    bulb = ellipse(*(root + along * 14), 13, 10, float(np.degrees(angle)))
    paint(picture, fill(picture.shape, bulb), "#8d9a58")
    paint(
        picture, fill(picture.shape, ellipse(*(root + along * 13 - (2, 3)), 4, 3)), "#dfe0b4", 0.9
    )


def boat() -> Field:
    """A sailing boat in five flat colours, [600, 700, 3]."""
    oat, ink, rust, fog, slate = "#ece2d0", "#26304c", "#a8502f", "#aeb6bd", "#56616b"
    picture = blank(700, 600, fog)
    layer(picture, ellipse(556, 120, 54, 54), oat)
    layer(picture, [(360, 54), (372, 54), (372, 430), (360, 430)], ink, False)
    main = [(384, 70), (440, 190), (510, 290), (590, 372), (480, 384), (384, 386)]
    layer(picture, np.vstack([curve(main[:4], False), main[4:]]), oat, False)
    jib = [(348, 104), (300, 210), (230, 310), (140, 386), (250, 392), (348, 386)]
    layer(picture, np.vstack([curve(jib[:4], False), jib[4:]]), rust, False)
    layer(picture, [(372, 60), (372, 96), (300, 78)], rust, False)
    hull = [(96, 424), (620, 418), (586, 480), (540, 520), (190, 520), (134, 482)]
    layer(picture, hull, ink, False)
    layer(picture, [(102, 434), (616, 428), (606, 448), (114, 452)], oat, False)
    crests = [(x, 504 + 15 * np.sin(x / 36.0)) for x in range(-10, 711, 5)]
    layer(picture, [*crests, (710, 610), (-10, 610)], slate, False)
    for y, shift in ((546, 40), (578, 0)):
        line = [(x, y + 8 * np.sin((x + shift) / 36.0)) for x in range(-10, 711, 5)]
        paint(picture, stroke(picture.shape, line, 7), fog)
    return picture
