"""What a telephone does to light, undone from patches of known colour, with how far that can be trusted.

A phone weighs its channels (white balance), bends them (a tone curve, each channel alike), and spreads
colours from grey (saturation). The curve is taken as ln x = a + g·u + k·u², where u is the natural log of
a channel's light as the file has it, over that of the brightest known patch, and x the light there was.
What phones do on average is known beforehand, as a normal distribution of (g, k); every known patch
(paper, a grey card, a card of greys, yarns of known colour) is one more observation (Bayesian linear
regression: Bishop, *Pattern Recognition and Machine Learning*, 3.3). With white paper alone the curve
stays what phones do on average, and its spread goes into the uncertainty.

The numbers of `PHONES` were fitted on rendered photos; the room's README tells how, and what other
photos gave.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pic2chart.core.colour import (
    delta_e76,
    lab_to_linear,
    linear_to_lab,
    relative_to_white,
    white_balance,
)

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Phones:
    """What phones do, on average and how differently.

    `curve`: mean of (g, k); `curve_sd`: their standard deviations; `misfit`: what the curve leaves over,
    in ln x. `saturation`, `saturation_sd`: true chroma over the file's. `light_sd`: how unevenly patches
    of one photo are lit, and how differently yarn is wound, in ln x. `hue_misfit`: ln x by which a
    coloured patch's luminance is off by the sensor's own colours. `lightness`, `chroma`: variances of L*
    and of (a*, b*) as sums of `Correction.causes`, in its order. `reach`: standard deviations within
    which 19 of 20 lie.
    """

    curve: tuple[float, float]
    curve_sd: tuple[float, float]
    misfit: float
    saturation: float
    saturation_sd: float
    light_sd: float
    hue_misfit: float
    lightness: tuple[float, ...]
    chroma: tuple[float, ...]
    reach: float


PHONES = Phones(
    curve=(0.990, 0.0144),
    curve_sd=(0.045, 0.0151),
    misfit=0.02,
    saturation=0.94,
    saturation_sd=0.07,
    light_sd=0.043,
    hue_misfit=0.06,
    lightness=(0.96, 1.14, 0.11, 0.0, 0.0),
    chroma=(7.9, 0.19, 5.21, 0.0, 13.5),
    reach=2.05,
)

_WEIGHTS = np.array([0.2126, 0.7152, 0.0722])
"""Luminance of linear sRGB."""
_NEUTRAL = 12.0
"""Chroma below which a patch tells of the light alone."""
_REACH_L = 2.2
"""Standard deviations of L* within which 19 of 20 lie: 2.02 on the photos of the fit; wider, since greys
say less of a curve of another shape than they say of the fit's own."""
_NO_NEUTRAL = 2.5
"""How much more the hue varies where no neutral patch says what the light was."""
_DARKEST_U = -4.5
"""ln light beside white below which a file of 8 bits tells nothing more of the curve."""


@dataclass(frozen=True, slots=True)
class Known:
    """A patch of known colour: linear light [3] in the file, its Lab, and one standard deviation of
    its L*. `even`: card or paper, not yarn."""

    light: Floats
    lab: tuple[float, float, float]
    sd_L: float
    even: bool


@dataclass(frozen=True, slots=True)
class Correction:
    """From light in a file to light as under D65, linear sRGB, white 1.

    `white`: luminance in the file that a perfect white would have; `curve`: (a, g, k) and `spread`
    [3, 3], its covariance; `balance` [3, 3] as `white_balance` gives it; `saturation` and its standard
    deviation; `cast`: ΔE*ab of the light beside what it was taken for. `by_neutral`: whether paper or
    grey said so, and not coloured yarn alone.
    """

    white: float
    curve: Floats
    spread: Floats
    balance: Floats
    saturation: float
    saturation_sd: float
    cast: float
    by_neutral: bool

    def light(self, linear: ArrayLike) -> Floats:
        """Light [..., 3] as there was, of linear light in the file [..., 3]."""
        light = self._curved(np.asarray(linear, np.float64)) @ self.balance
        grey = (light @ _WEIGHTS)[..., None]
        return np.asarray(grey + self.saturation * (light - grey))

    def causes(self, lab: ArrayLike, standard_error: float) -> Floats:
        """What makes a colour uncertain, as squares in ΔE [5]: one; the curve and the light; chroma,
        by the saturation that is not known; the cast; the cast on coloured yarn. The patch's own
        `standard_error` is in the first."""
        L, a, b = (float(value) for value in np.asarray(lab))
        y = relative_to_white(L)
        u = (np.log(max(y, 1e-4)) - self.curve[0]) / self.curve[1]
        slope = np.array([1.0, u, u * u])
        in_log = float(slope @ self.spread @ slope) + PHONES.misfit**2 + PHONES.light_sd**2
        step = 116 / 3 * np.cbrt(y)  # L* for one in ln x
        chroma = float(np.hypot(a, b))
        return np.array(
            [
                1 + standard_error**2,
                step**2 * in_log,
                (chroma * self.saturation_sd) ** 2,
                (self.cast / 10) ** 2,
                (self.cast * chroma / 500) ** 2,
            ]
        )

    def within(self, lab: ArrayLike, standard_error: float) -> tuple[float, float]:
        """ΔE*ab, and L* alone, within which a colour lies 19 times in 20."""
        causes = self.causes(lab, standard_error)
        light = float(causes @ np.array(PHONES.lightness))
        hue = float(causes @ np.array(PHONES.chroma)) * (1.0 if self.by_neutral else _NO_NEUTRAL)
        return PHONES.reach * float(np.sqrt(light + hue)), _REACH_L * float(np.sqrt(light))

    def _curved(self, linear: Floats) -> Floats:
        u = np.log(np.maximum(linear, 1e-5) / self.white)
        a, g, k = self.curve
        turned = np.maximum(u, _DARKEST_U)  # beyond, straight on
        return np.asarray(np.exp(a + g * u + k * turned * (2 * u - turned)))


def correction_of(knowns: Sequence[Known]) -> Correction:
    """The correction that known patches of a photo, at least one, ask for."""
    luminances = np.array([_luminance(known.light) for known in knowns])
    first = int(np.argmax(luminances))
    white = float(luminances[first]) / relative_to_white(knowns[first].lab[0])
    curve, spread = _curve(knowns, np.log(luminances / white))
    plain = Correction(white, curve, spread, np.eye(3), 1.0, PHONES.saturation_sd, 0.0, True)
    lights = [plain.light(known.light) for known in knowns]
    aims = [lab_to_linear(known.lab) for known in knowns]
    neutral = [i for i, known in enumerate(knowns) if np.hypot(*known.lab[1:]) < _NEUTRAL]
    chosen = neutral or range(len(knowns))
    if len(knowns) == 1:
        balance = white_balance(lights[0] * _luminance(aims[0]) / _luminance(lights[0]), aims[0])
    else:
        balance = white_balance(
            _off([lights[i] for i in chosen], [aims[i] for i in chosen]), np.ones(3)
        )
    bright = max(chosen, key=lambda i: knowns[i].lab[0])
    cast = _cast(lights[bright], aims[bright])
    balanced = [linear_to_lab(light @ balance) for light in lights]
    saturation, saturation_sd = _saturation(knowns, balanced)
    return Correction(white, curve, spread, balance, saturation, saturation_sd, cast, bool(neutral))


def winding_sd(L: float) -> float:
    """L*, one standard deviation, by which a yarn's winding and light change its colour in one photo."""
    return float(116 / 3 * np.cbrt(relative_to_white(L)) * PHONES.light_sd)


def _curve(knowns: Sequence[Known], u: Floats) -> tuple[Floats, Floats]:
    """Mean [3] and covariance [3, 3] of (a, g, k)."""
    y = np.array([relative_to_white(known.lab[0]) for known in knowns])
    mean = np.array([0.0, *PHONES.curve])
    precision = np.diag([1.0, *(1 / sd**2 for sd in PHONES.curve_sd)])
    rows = np.stack([np.ones_like(u), u, u**2], axis=1)
    known_to = np.array([known.sd_L for known in knowns]) * 3 / 116 / np.cbrt(y)
    own = [_own_error(known) for known in knowns]
    noise = known_to**2 + np.array(own) ** 2
    spread = np.linalg.inv(precision + (rows.T / noise) @ rows)
    return mean + spread @ (rows.T / noise) @ (np.log(y) - rows @ mean), spread


def _own_error(known: Known) -> float:
    """How far a patch's light is off the curve, ln x, one standard deviation."""
    error = np.hypot(PHONES.misfit, PHONES.light_sd / 2 if known.even else PHONES.light_sd)
    coloured = np.hypot(known.lab[1], known.lab[2]) / 50
    return float(np.hypot(error, PHONES.hue_misfit * min(1.0, coloured)))


def _saturation(knowns: Sequence[Known], labs: Sequence[Floats]) -> tuple[float, float]:
    """True chroma over the file's, and its standard deviation, by the coloured patches."""
    mean, precision = PHONES.saturation / PHONES.saturation_sd**2, 1 / PHONES.saturation_sd**2
    for known, lab in zip(knowns, labs, strict=True):
        true, seen = np.hypot(*known.lab[1:]), np.hypot(*lab[1:])
        if true > 15 and seen > 5 and len(knowns) > 1:
            weight = 1 / (0.08**2 + (4 / true) ** 2)
            mean, precision = mean + weight * true / seen, precision + weight
    return float(mean / precision), float(precision**-0.5)


def _luminance(linear: Floats) -> float:
    return max(float(linear @ _WEIGHTS), 1e-5)


def _off(lights: Sequence[Floats], aims: Sequence[Floats]) -> Floats:
    """Each channel over what it should be [3], brightness left out; by least squares of cube roots,
    so that dark channels count as the eye has it."""
    seen = np.cbrt([np.maximum(light / _luminance(light), 0) for light in lights])
    true = np.cbrt([np.maximum(aim / _luminance(aim), 0) for aim in aims])
    ratio = ((seen * true).sum(axis=0) / (true**2).sum(axis=0)) ** 3
    return np.asarray(ratio / _luminance(ratio))


def _cast(light: Floats, aim: Floats) -> float:
    as_bright = light * _luminance(aim) / _luminance(light)
    return float(delta_e76(linear_to_lab(as_bright), linear_to_lab(aim)))
