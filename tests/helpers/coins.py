"""Coins on a table beside a swatch, drawn to be photographed: rim, inner disc, relief, shadow."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np

from tests.helpers.fabrics import PER_MM, _table
from tests.helpers.loops import Knit, fabric

ONE_EURO_MM = 23.25
"""Diameter of the coin of 1 euro: Council Regulation (EU) No 729/2014, annex I."""
_METALS = ((200, 178, 120), (186, 186, 188), (176, 120, 84))


def coin_scene(knit: Knit, diameter: float, seed: int, coins: int = 1) -> np.ndarray:
    """RGB at PER_MM: a swatch on a table, and coins to the right of it."""
    rng = np.random.default_rng([seed, 5])
    cloth, _ = fabric(replace(knit, turn=0.0))
    height, width = cloth.shape[:2]
    margin = round(10 * PER_MM)
    space = round(diameter * PER_MM * 1.2)
    total = (width + space + 3 * margin, max(height, coins * (space + margin)) + 2 * margin)
    page = _table(total, rng)
    page[margin : margin + height, margin : margin + width] = cloth
    for number in range(coins):
        middle = (width + 2 * margin + space / 2, margin + space / 2 + number * (space + margin))
        _lay_coin(page, middle, diameter, rng)
    return np.clip(page, 0, 255).astype(np.uint8)


def _disc(shape: tuple[int, int], middle: tuple[float, float], radius: float) -> np.ndarray:
    y, x = np.indices(shape)
    away = np.hypot(x - middle[0] + 0.5, y - middle[1] + 0.5)
    return np.clip(radius - away + 0.5, 0, 1)[..., None]


def _lay_coin(
    page: np.ndarray, middle: tuple[float, float], diameter: float, rng: np.random.Generator
) -> None:
    radius, shape = diameter / 2 * PER_MM, page.shape[:2]
    rim, inner = (np.array(_METALS[k], float) for k in rng.permutation(3)[:2])
    fall = rng.uniform(-1, 1, 2) * 1.5 * PER_MM
    shadow = _disc(shape, (middle[0] + fall[0], middle[1] + fall[1]), radius)
    page *= 1 - 0.4 * cv2.GaussianBlur(shadow, (0, 0), rng.uniform(0.3, 1.2) * PER_MM)[..., None]
    relief = cv2.GaussianBlur(rng.normal(size=shape), (0, 0), 0.5 * PER_MM)
    relief = 1 + 0.18 * (relief / relief.std())[..., None]
    face = rim * _disc(shape, middle, radius) + 0 * page
    for share, colour in ((0.93, rim * 0.8), (0.9, rim), (0.7, inner)):
        disc = _disc(shape, middle, radius * share)
        face = face * (1 - disc) + colour * disc
    figure = _disc(shape, middle, radius * 0.88)
    face *= 1 + (relief - 1) * figure
    whole = _disc(shape, middle, radius)
    page[:] = page * (1 - whole) + face * whole
