"""A folder of mixed pictures, made from scikit-image, scikit-learn and motifs drawn here.

Everything follows from the number of a picture: the same call makes the same bytes.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from functools import cache
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

Pixels = NDArray[np.uint8]
YARNS = ("oat=#ece2d0", "ink=#26304c")
RECIPE = """
stitches = 40
gauge = "28x30"
yarn = ["oat=#ece2d0", "ink=#26304c"]
title = "Harbour motifs"

[[pictures]]
match = "photos/*"
stitches = 56
tags = ["photo"]

[[pictures]]
match = "*-three.*"
yarn = ["oat=#ece2d0", "rust=#a8502f", "ink=#26304c"]
tags = ["three yarns"]

[[pictures]]
match = "signs/*"
stitches = 32
yarn = ["fog=#aeb6bd", "slate=#33404a"]
tags = ["sign", "sea"]
"""


@cache
def photographs() -> dict[str, Pixels]:
    """Colour and grey photographs that install with the packages."""
    from skimage import data
    from sklearn.datasets import load_sample_images

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        named = {
            name: getattr(data, name)()
            for name in ("astronaut", "chelsea", "coffee", "rocket", "camera", "coins", "page")
        }
    named["horse"] = np.where(data.horse(), 255, 0).astype(np.uint8)
    temple, flower = load_sample_images().images
    named |= {"temple": temple, "flower": flower}
    return {name: np.dstack([p] * 3) if p.ndim == 2 else p[..., :3] for name, p in named.items()}


def photograph_parts() -> Iterator[tuple[str, Pixels]]:
    """Windows of the photographs, each about square and at least a third of the picture."""
    for share in (1.0, 0.75, 0.55, 0.4):
        for name, pixels in photographs().items():
            height, width = pixels.shape[:2]
            side = int(min(height, width) * share)
            for place, (y, x) in enumerate(((0.5, 0.5), (0.2, 0.3), (0.4, 0.8))):
                top, left = int((height - side) * y), int((width - side) * x)
                if share < 1 or place == 0:
                    part = pixels[top : top + side, left : left + side]
                    yield f"{name}-{round(100 * share)}-{place + 1}", np.ascontiguousarray(part)


def _star(draw: Any, rng: Any, s: int) -> None:
    points, inner = int(rng.integers(4, 9)), rng.uniform(0.3, 0.6)
    turns = np.arange(2 * points) * np.pi / points - np.pi / 2
    radius = np.where(np.arange(2 * points) % 2, inner, 1.0) * s * 0.42
    draw.polygon(
        [
            (s / 2 + r * np.cos(t), s / 2 + r * np.sin(t))
            for t, r in zip(turns, radius, strict=True)
        ],
        fill="#26304c",
    )


def _fish(draw: Any, rng: Any, s: int) -> None:
    h, x = rng.uniform(0.14, 0.24) * s, rng.uniform(0.58, 0.7) * s
    draw.ellipse((0.1 * s, s / 2 - h, x, s / 2 + h), fill="#26304c")
    draw.polygon(
        [(x - 0.08 * s, s / 2), (0.9 * s, s / 2 - h), (0.9 * s, s / 2 + h)], fill="#26304c"
    )
    draw.ellipse((0.2 * s, s / 2 - 0.09 * s, 0.27 * s, s / 2 - 0.02 * s), fill="#ece2d0")


def _anchor(draw: Any, rng: Any, s: int) -> None:
    w, b = int(rng.uniform(0.06, 0.1) * s), rng.uniform(0.25, 0.4) * s
    draw.line((s / 2, 0.25 * s, s / 2, 0.85 * s), fill="#26304c", width=w)
    draw.line((s / 2 - 0.18 * s, 0.36 * s, s / 2 + 0.18 * s, 0.36 * s), fill="#26304c", width=w)
    draw.arc((s / 2 - b, 0.85 * s - 2 * b, s / 2 + b, 0.86 * s), 20, 160, fill="#26304c", width=w)
    draw.ellipse((0.42 * s, 0.1 * s, 0.58 * s, 0.26 * s), outline="#26304c", width=w)


def _waves(draw: Any, rng: Any, s: int) -> None:
    lines, deep = int(rng.integers(3, 7)), rng.uniform(0.3, 0.8)
    x = np.linspace(0, s, 200)
    for line in range(lines):
        y = (line + 0.5) / lines * s + deep * s / lines / 2 * np.sin(x / s * 4 * np.pi + line)
        draw.line(list(zip(x, y, strict=True)), fill="#26304c", width=int(0.35 * s / lines))


def _tower(draw: Any, rng: Any, s: int) -> None:
    foot, top = rng.uniform(0.16, 0.26) * s, rng.uniform(0.08, 0.13) * s
    draw.polygon(
        [
            (s / 2 - foot, 0.92 * s),
            (s / 2 + foot, 0.92 * s),
            (s / 2 + top, 0.3 * s),
            (s / 2 - top, 0.3 * s),
        ],
        fill="#26304c",
    )
    for band in range(int(rng.integers(1, 4))):
        y = (0.45 + 0.16 * band) * s
        draw.rectangle((0.2 * s, y, 0.8 * s, y + 0.06 * s), fill="#ece2d0")
    draw.polygon(
        [(s / 2 - top, 0.26 * s), (s / 2 + top, 0.26 * s), (s / 2, 0.1 * s)], fill="#a8502f"
    )


def _kelp(draw: Any, rng: Any, s: int) -> None:
    for stem in range(int(rng.integers(2, 5))):
        x0, sway = rng.uniform(0.2, 0.8) * s, rng.uniform(0.03, 0.1) * s
        y = np.linspace(0.05, 1.0, 60) * s
        x = x0 + sway * np.sin(y / s * 9 + stem)
        draw.line(list(zip(x, y, strict=True)), fill="#26304c", width=int(0.03 * s))
        for leaf in range(4, 56, 9):
            side = 1 if leaf % 2 else -1
            px, py = x[leaf], y[leaf]
            draw.ellipse(
                (px + min(0, side * 0.14 * s), py, px + max(0, side * 0.14 * s), py + 0.06 * s),
                fill="#26304c",
            )


DRAWN: tuple[Callable[[Any, Any, int], None], ...] = (_star, _fish, _anchor, _waves, _tower, _kelp)


def drawn(number: int, side: int = 240) -> Pixels:
    """A motif drawn from its number."""
    rng = np.random.default_rng(number)
    big = Image.new("RGB", (2 * side, 2 * side), "#ece2d0")
    DRAWN[number % len(DRAWN)](ImageDraw.Draw(big), rng, 2 * side)
    return np.asarray(big.resize((side, side), Image.Resampling.LANCZOS))


def pixel_chart(number: int) -> Image.Image:
    """A repeat as an indexed PNG of one pixel a stitch: straight, mirrored or half-drop, by number."""
    rng = np.random.default_rng(number)
    width, height = int(rng.integers(2, 6)) * 2, int(rng.integers(2, 6)) * 2
    unit = rng.random((height, width)) < 0.5
    unit[:, 0], unit[0] = True, np.arange(width) % 2 == 0
    if number % 3 == 1:
        unit = unit | unit[:, ::-1]
    tiled = np.tile(unit, (3, 4))
    if number % 3 == 2:
        pair = np.hstack([unit, np.roll(unit, height // 2, axis=0)])
        tiled = np.tile(pair, (3, 2))
    chart = Image.fromarray(tiled.astype(np.uint8))
    chart.putpalette([0xEC, 0xE2, 0xD0, 0x26, 0x30, 0x4C])
    return chart


def write_mixed(folder: Path, count: int) -> list[Path]:
    """`count` files: of eight, three photographs, four drawings, one pixel chart. Returns them."""
    parts = list(photograph_parts())
    files = []
    for sub in ("photos", "signs", "repeats"):
        (folder / sub).mkdir(parents=True, exist_ok=True)
    for i in range(count):
        kind, number = i % 8, i // 8
        if kind < 3:
            at = number * 3 + kind
            name, pixels = parts[at % len(parts)]
            if at >= len(parts):
                pixels, name = pixels[:, ::-1], f"{name}-turned"
            file = folder / "photos" / f"{name}{'-three' if at % 5 == 4 else ''}.jpg"
            Image.fromarray(pixels).save(file, quality=88)
        elif kind < 7:
            at = number * 4 + kind - 3
            what = DRAWN[at % len(DRAWN)].__name__.strip("_")
            ending = (".png", ".webp", ".gif", ".bmp")[kind - 3]
            file = (
                folder
                / "signs"
                / f"{what} {at // len(DRAWN) + 1}{'-three' if at % 7 == 4 else ''}{ending}"
            )
            Image.fromarray(drawn(at)).save(file)
        else:
            file = folder / "repeats" / f"repeat {number + 1}.png"
            pixel_chart(number).save(file)
        files.append(file)
    return files


def photographs_of(folder: Path, count: int, side: int) -> None:
    """`count` JPEG photographs of `side` pixels square, all different."""
    parts = list(islice(photograph_parts(), 60))
    folder.mkdir(parents=True, exist_ok=True)
    for i in range(count):
        name, pixels = parts[i % len(parts)]
        moved = np.roll(pixels, (i // len(parts)) * 7, axis=1)
        picture = Image.fromarray(moved).resize((side, side), Image.Resampling.BICUBIC)
        picture.save(folder / f"{i:05}-{name}.jpg", quality=85)
