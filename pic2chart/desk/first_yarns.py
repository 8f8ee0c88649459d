"""The yarns of a picture just dropped: two that read from across the room, whatever its colours are.

A photo's own main colours are often close in lightness, brown on tan; knitted, they would merge. The
first chart therefore has them drawn apart: the darker one darker, the lighter one lighter, each in its
hue. Yarns that read already stay as they are, and so does whatever the knitter names afterwards.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import in_gamut, lab_to_srgb, srgb_to_lab, to_hex
from pic2chart.core.settings import Settings
from pic2chart.design.yarn_choice import yarns_for
from pic2chart.model.yarn import Yarn, yarn_lab
from pic2chart.picture.source import Recall, read_grid
from pic2chart.yarns.classes import colour_words

APART = 55.0
"""Least difference in L* between the two yarns of a first chart; from memory, what reads at 3 m."""
DARK, LIGHT = 27.0, 88.0
"""L* of the two where the picture's own colours are not as far apart (from memory: navy and cream)."""
_CALM = (34.0, 16.0)
"""Most chroma of the dark and of the light one."""


def with_first_yarns(path: Path, settings: Settings, recall: Recall) -> Settings:
    """The settings with two yarns named that read; as they are where they say which to take.

    Raises InputError, SettingError for a picture that cannot be charted.
    """
    if settings.yarn or settings.shelf or settings.yarns:
        return settings
    grid = read_grid(path, settings, recall)[1]
    yarns = drawn_apart(yarns_for(grid, settings)[0])
    return replace(settings, yarn=tuple(f"{yarn.name}={yarn.colour}" for yarn in yarns))


def drawn_apart(yarns: tuple[Yarn, ...]) -> tuple[Yarn, ...]:
    """Two yarns, dark to light, at least APART in L*; named anew where their colour changed."""
    lab = yarn_lab(yarns)
    dark, light = lab[lab[:, 0].argsort()][[0, -1]]
    if light[0] - dark[0] >= APART:
        return yarns
    pair = [
        _toned(dark, min(dark[0], DARK), _CALM[0]),
        _toned(light, max(light[0], LIGHT), _CALM[1]),
    ]
    colours = [to_hex(lab_to_srgb(one)) for one in pair]
    shown = srgb_to_lab([[int(c[i : i + 2], 16) for i in (1, 3, 5)] for c in colours])
    names = colour_words((float(L), float(a), float(b)) for L, a, b in shown)
    return tuple(Yarn(name, colour) for name, colour in zip(names, colours, strict=True))


def _toned(lab: NDArray[np.float64], light: float, most: float) -> NDArray[np.float64]:
    """The colour at another lightness, its chroma at most `most` and what can be shown."""
    chroma = float(np.hypot(lab[1], lab[2]))
    share = min(1.0, most / max(chroma, 1e-9))
    toned = np.array([light, lab[1] * share, lab[2] * share])
    while not in_gamut(toned):
        toned[1:] *= 0.9
    return toned
