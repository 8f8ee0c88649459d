"""Whether independent signs of stitches and rounds agree, or their waves are but noise.

What is left of a signal at a wave that is truly there keeps its phase over many stitches, so a wider
blur hardly weakens it; noise loses as much as the blur is wider. The lean of the yarn has the
stitches' wave, the rounds' wave, and their sum and difference; each is a sign that can disagree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats

PER_MM = 4.0
"""Pixels a millimetre of the pictures in which fabric is looked at."""
SLOW = 4
"""Pixels that are averaged into one pixel of the maps of phase and of the cloth."""

Waves = NDArray[np.complex64]
Patch = tuple[slice, slice]

_WIDER = 2.2
"""How much wider the blur is; noise keeps about the inverse of it, 0.45."""
_COHERENT = 0.72
"""Share that a wave must keep: true ones keep 0.8 to 0.95, false ones up to 0.6 (measured)."""
_HALF = 0.35
"""Strength of a coherent wave of half the frequency, over the stitches', that is a doubt."""


@dataclass(frozen=True, slots=True, eq=False)
class Signs:
    """Maps of what is left at each wave: of the stitches, of the rounds, of their sum, of their
    difference, and of half the stitches' wave; all complex and of one shape."""

    columns: Waves
    plain: Waves
    total: Waves
    difference: Waves
    half: Waves

    @property
    def by_total(self) -> Waves:
        """The rounds' wave from the sum."""
        return np.asarray(self.total * np.conj(self.columns))

    @property
    def by_difference(self) -> Waves:
        """The rounds' wave from the difference."""
        return np.asarray(self.columns * np.conj(self.difference))


def disagreement(
    signs: Signs,
    waves: tuple[Floats, Floats],
    cloth: NDArray[np.bool_],
    patches: Sequence[Patch],
    sigma: float,
) -> tuple[float, float] | None:
    """How far the signs of stitches and of rounds are apart, relative; None when too few are coherent.

    `sigma`: the blur of the maps in their pixels. The place of the spectrum's peak is a sign too,
    but a coarse one: counts that lie half of their distance from it are as far apart.
    """
    names = ("columns", "plain", "total", "difference", "half")
    kept = {name: coherence(getattr(signs, name), cloth, sigma) for name in names}
    firm = {name for name in names if kept[name] > _COHERENT}
    if "columns" not in firm or len(firm & {"plain", "total", "difference"}) < 2:
        return None
    if "half" in firm and _strength(signs.half, cloth) > _HALF * _strength(signs.columns, cloth):
        return None
    rounds = [
        part
        for name, part in (
            ("plain", signs.plain),
            ("total", signs.by_total),
            ("difference", signs.by_difference),
        )
        if name in firm
    ]
    stitches = [_rate(signs.columns, waves[0], patches)]
    if {"total", "difference"} <= firm:
        stitches.append(_rate(signs.total * signs.difference, waves[0], patches) / 2)
    return _apart(stitches), _apart([_rate(part, waves[1], patches) for part in rounds])


def coherence(wave: Waves, cloth: NDArray[np.bool_], sigma: float) -> float:
    """Share of a map's strength on the cloth that a blur _WIDER times as wide leaves, 0 to 1."""
    weight = cloth.astype(np.float32)
    reach = sigma * float(np.sqrt(_WIDER**2 - 1))
    cover = _soft(weight, reach) + 1e-6
    wide = _soft(wave.real * weight, reach) / cover + 1j * _soft(wave.imag * weight, reach) / cover
    return _strength(wide, cloth) / (_strength(wave, cloth) + 1e-12)


def _soft(values: NDArray[np.float32], sigma: float) -> NDArray[np.float32]:
    import cv2

    return np.asarray(cv2.GaussianBlur(np.ascontiguousarray(values), (0, 0), sigma))


def _strength(wave: NDArray[np.complexfloating], cloth: NDArray[np.bool_]) -> float:
    return float(np.sqrt((np.abs(wave[cloth]) ** 2).mean()))


def _rate(wave: Waves, base: Floats, patches: Sequence[Patch]) -> float:
    """Middle over the patches of how far the local wave differs from its base along it, relative."""
    slopes = np.array([slope(wave[part]) for part in patches])
    return float(np.median(slopes @ base) / (base @ base))


def _apart(rates: list[float]) -> float:
    return max(max(rates) - min(rates), max(map(abs, rates)) / 2)


def slope(wave: Waves) -> Floats:
    """Mean slope of the phase, waves a mm (x, y), from its steps between neighbouring pixels."""
    steps = (wave[:, 1:] * np.conj(wave[:, :-1]), wave[1:] * np.conj(wave[:-1]))
    return np.array([np.angle(step.sum()) / (2 * np.pi) * PER_MM / SLOW for step in steps])
