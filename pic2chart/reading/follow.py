"""The stitches and rounds of an upright view followed over the cloth, by the phase of their waves.

What is left of a signal at a wave turns slowly, and the slope of its phase over a patch says how far
the count there differs. The gaps between legs have the rounds' wave and its sums with whole numbers of
the stitches'; how much of each is the shape of a stitch, which is learnt from all of the cloth, and
their weighted sum is the rounds' phase (a matched filter).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats
from pic2chart.reading.stitch_view import STITCH, Judged, StitchView, gaps, lean
from pic2chart.reading.waves import (
    PER_MM,
    SLOW,
    Floats32,
    Periods,
    Waves,
    blurred,
    followed_patches,
    largest,
    mixed,
    slope,
)

HALVED = 2
"""Pixels of the view that are averaged into one of its maps of phase."""
_SOFT = (1.4, 2.2)
"""Blur of the maps in stitches: of the stitches' phase, and of the rounds'."""
_SUMS = (-3, -2, -1, 0, 1, 2, 3)
_ROUGH = 0.1
_STEADY = 0.3
"""Share of the usual strength of both waves under which there is no cloth."""
_LAPS = 3
_PATCHES, _ENOUGH = (8, 6, 5), 6
"""Stitches along the side of a patch, the most that gives enough patches."""


@dataclass(frozen=True, slots=True, eq=False)
class Followed:
    """Maps of phase of an upright view, a pixel for HALVED by HALVED of it. `columns`, `rounds`:
    complex, what is left of the two waves; `across`, `up`: those waves a stitch (x, y) in the view's frame;
    `firm`: where both are strong; `sides`: the rounds' by the sums on either side alone. `legs`, `bars`: share of the gaps'
    strength that leans as long legs do, and that lies along rounds; `paired`: share that leans to one
    side and as much to the other, 0-1."""

    view: StitchView
    columns: Waves
    rounds: Waves
    across: Floats
    up: Floats
    firm: NDArray[np.bool_]
    sides: tuple[Waves, Waves]
    legs: float
    bars: float
    paired: float

    @property
    def waves(self) -> Floats:
        """The waves of stitches and rounds (x, y) a mm in the picture, rows [2, 2]."""
        ways = self.view.place[:, :2] * STITCH / PER_MM
        return np.stack([self.across, self.up]) @ np.linalg.inv(ways)

    @property
    def slant(self) -> float:
        """How far rounds are off a right angle with the columns, degrees."""
        across, up = (wave / np.linalg.norm(wave) for wave in (self.across, self.up))
        return float(np.degrees(np.arcsin(min(1.0, float(abs(across @ up))))))


def follow(judged: Judged) -> Followed:
    """The phase of stitches and rounds over the view that was judged."""
    view, signal = judged.view, gaps(judged.view)
    across, columns = _settled(lean(view, _ROUGH).imag, view)
    cover = _cover(view, columns)
    turned = np.exp(1j * np.angle(columns)).astype(np.complex64)
    up = judged.up
    for _ in range(_LAPS):
        sums = np.stack([_left(signal, up + k * across, turned, k) for k in _SUMS])
        rounds, weights = _joined(sums, cover)
        drift = _drift(rounds, cover)
        up = up + drift
    up = up - drift
    left, right = (
        np.asarray(np.tensordot(np.where(part, weights, 0), sums, 1), dtype=np.complex64)
        for part in (np.array(_SUMS) < 0, np.array(_SUMS) > 0)
    )
    strong = [np.abs(part) > _STEADY * _usual(part, cover) for part in (columns, rounds)]
    firm = largest(cover & strong[0] & strong[1], STITCH // HALVED)
    shares = _shares(signal, (columns, rounds), (across, up), firm)
    legs = float(np.linalg.norm(shares[np.abs(_SUMS) == 2]))
    bars = float(shares[_SUMS.index(0)])
    half = len(_SUMS) // 2
    paired = float(np.linalg.norm(np.minimum(shares, shares[::-1])[:half]) * np.sqrt(2))
    return Followed(view, columns, rounds, across, up, firm, (left, right), legs, bars, paired)


def _settled(values: Floats32, view: StitchView) -> tuple[Floats, Waves]:
    """The stitches' wave (x, y) a stitch, and what is left of it in the lean of the yarn.

    Noise draws the slope of what is left to none, so the wave is moved until there is none.
    """
    across = np.array([1.0, 0.0])
    for _ in range(_LAPS):
        columns = blurred(_mixed(values, across), _SOFT[0] * STITCH / HALVED)
        drift = _drift(columns, _cover(view, columns))
        across = across + drift
    return across - drift, columns


def _cover(view: StitchView, part: Waves) -> NDArray[np.bool_]:
    rows, columns = part.shape
    return view.seen[: rows * HALVED : HALVED, : columns * HALVED : HALVED]


def _drift(part: Waves, cover: NDArray[np.bool_]) -> Floats:
    """Mean slope of the phase over the cloth, waves a stitch (x, y)."""
    kept = np.where(cover, part, 0)
    return np.asarray(slope(np.asarray(kept)) * STITCH / HALVED * SLOW / PER_MM)


def _shares(
    signal: Floats32,
    parts: tuple[Waves, Waves],
    waves: tuple[Floats, Floats],
    firm: NDArray[np.bool_],
) -> Floats:
    """How the gaps' strength is shared among the rounds' wave and its sums, where both are firm."""
    if not firm.any():
        return np.zeros(len(_SUMS))
    turned, phase = (np.exp(-1j * np.angle(part[firm])) for part in parts)
    across, up = waves
    found = [
        np.abs((_mixed(signal, up + k * across)[firm] * phase * turned**k).mean()) for k in _SUMS
    ]
    return np.asarray(np.array(found) / (np.linalg.norm(found) + 1e-12))


def _usual(part: Waves, cover: NDArray[np.bool_]) -> float:
    return float(np.percentile(np.abs(part[cover]), 75)) if cover.any() else np.inf


def _left(signal: Floats32, wave: Floats, turned: Waves, k: int) -> Waves:
    """What is left of the rounds' wave plus k of the stitches', the stitches' phase taken out."""
    left = _mixed(signal, wave) * np.conj(turned) ** k
    return blurred(np.asarray(left, dtype=np.complex64), _SOFT[1] * STITCH / HALVED)


def _mixed(signal: Floats32, wave: Floats) -> Waves:
    """The signal times the wave (x, y) a stitch, backwards, averaged over HALVED by HALVED pixels."""
    return mixed(signal, wave / STITCH, HALVED)


def _joined(sums: NDArray[np.complex64], cover: NDArray[np.bool_]) -> tuple[Waves, Waves]:
    """The rounds' wave of all sums, and the weight of each."""
    strength = (np.abs(sums) ** 2)[:, cover].mean(axis=1)
    rounds = sums[int(np.argmax(strength))]
    for _ in range(2):
        unit = np.exp(1j * np.angle(rounds))
        weights = np.conj((sums * np.conj(unit))[:, cover].mean(axis=1))
        rounds = np.asarray(np.tensordot(weights, sums, 1), dtype=np.complex64)
    return rounds, weights


def periods_of(followed: Followed, shape: tuple[int, ...]) -> Periods:
    """Counts patch by patch in the picture at PER_MM of `shape` that the view was taken from."""
    view = followed.view
    ways = view.place[:, :2] * STITCH / PER_MM
    across, up = (np.linalg.inv(ways).T @ wave for wave in (followed.across, followed.up))
    size = (shape[1] // SLOW, shape[0] // SLOW)
    phase = tuple(
        _in_picture(part, wave, view, size)
        for part, wave in ((followed.columns, across), (followed.rounds, up))
    )
    cloth = _moved(followed.firm.astype(np.float32), view, size) > 0.5
    stitch = 1 / float(np.hypot(*across))
    # A small swatch of thick yarn has few patches of eight stitches.
    tried = (followed_patches(cloth, stitch, side) for side in _PATCHES)
    patches = next((found for found in tried if len(found) >= _ENOUGH), [])
    local = [
        [w + slope(p[part]) for w, p in zip((across, up), phase, strict=True)] for part in patches
    ]
    across_all, up_all = np.array(local).reshape(-1, 2, 2).swapaxes(0, 1)
    rates = [
        np.array([slope(side[part]) for part in patches]).reshape(-1, 2) @ up / (up @ up)
        for side in (_in_picture(part, up, view, size) for part in followed.sides)
    ]
    apart = float(abs(np.median(rates[0]) - np.median(rates[1]))) if patches else 0.0
    return Periods(across_all, up_all, (across, up), (phase[0], phase[1]), cloth, apart)


def _in_picture(part: Waves, wave: Floats, view: StitchView, size: tuple[int, int]) -> Waves:
    """A map of phase brought to the picture at PER_MM / SLOW, against the same wave there."""
    turn = np.exp(-2j * np.pi * float(wave @ view.place[:, 2]) / PER_MM)
    real, imaginary = (_moved(np.ascontiguousarray(p), view, size) for p in (part.real, part.imag))
    return np.asarray((real + 1j * imaginary) * turn, dtype=np.complex64)


def _moved(values: Floats32, view: StitchView, size: tuple[int, int]) -> Floats32:
    import cv2

    small = np.array([[HALVED, 0, (HALVED - 1) / 2], [0, HALVED, (HALVED - 1) / 2], [0, 0, 1]])
    slow = np.array([[SLOW, 0, (SLOW - 1) / 2], [0, SLOW, (SLOW - 1) / 2], [0, 0, 1]])
    place = np.linalg.inv(slow) @ np.vstack([view.place, [0, 0, 1]]) @ small
    return np.asarray(
        cv2.warpAffine(values, place[:2], size, flags=cv2.INTER_LINEAR), dtype=np.float32
    )
